"""``transfers.move``: all that is left moves the lot, less of it makes a lot of its own; nothing is gained or lost."""

from __future__ import annotations

from decimal import Decimal
from uuid import UUID, uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from finishing.models import User
from inventory.choices import LotEventKind, PostingKind
from inventory.errors import DayError, KeyUsedError, NotEnoughStockError, PlaceError, QuantityError, StockError, TextError
from inventory.models import Location, Lot, LotEvent, Material, Movement, Posting
from inventory.services.lots import open_lot, quarantine_lot
from inventory.services.transfers import Moved, move
from inventory.services.verify import check_ledger
from tests.inventory.ledger.counter import Counter, today
from tests.inventory.pages.shop import person
from tests.strategies import quantities

pytestmark = [pytest.mark.django_db, pytest.mark.database]
D = Decimal


@pytest.fixture
def lot(counter: Counter, clear: Material, shelf_a: Location) -> Lot:
    """20 L in four containers, at 10 a litre, on shelf A for ten days."""
    return counter.receive(clear, "20", on=today(-10), location=shelf_a, containers=4)


def send(lot: Lot, quantity: str, to: Location, *, by: User, key: UUID | None = None, days: int = 0, reason: str = "") -> Moved:
    return move(key=key or uuid4(), by=by, on=today(days), lot=lot, quantity=D(quantity), to_location=to, reason=reason)


def test_all_that_is_left_moves_the_lot_itself(lot: Lot, shelf_a: Location, booth: Location, by: User, counter: Counter) -> None:
    counter.issue(lot.material, "8")
    moved = send(lot, "12", booth, by=by, days=0, reason=" for the week ")
    lot.refresh_from_db()
    assert (moved.lot, moved.posting, moved.again) == (lot, None, False)
    assert (lot.location, lot.on_hand, lot.received_on) == (booth, 12, today(-10))
    event = LotEvent.objects.get()
    assert (event.kind, event.by, event.on, event.reason) == (LotEventKind.MOVED, by, today(), "for the week")
    assert (event.from_location, event.to_location) == (shelf_a, booth)
    assert not Posting.objects.filter(kind=PostingKind.TRANSFER).exists()


def test_a_part_becomes_a_lot_of_its_own_with_everything_that_was_known(lot: Lot, booth: Location, by: User) -> None:
    open_lot(lot=lot, on=today(-3), by=by)
    quarantine_lot(lot=lot, reason="lumps", by=by)
    moved = send(lot, "5", booth, by=by)
    lot.refresh_from_db()
    part = Lot.objects.exclude(pk=lot.pk).get()
    assert moved.lot == part
    assert (lot.on_hand, part.on_hand, part.location, part.split_from) == (15, 5, booth, lot)
    for same in ("number", "material", "supplier", "received_on", "made_on", "expires_on", "opened_on", "unit_cost", "pack"):
        assert getattr(part, same) == getattr(lot, same), same
    assert (part.is_quarantined, part.quarantine_reason) == (True, "lumps")
    assert (lot.containers, part.containers) == (4, 1)
    assert {(row.lot_id, row.quantity, row.unit_cost) for row in Movement.objects.filter(posting=moved.posting)} == {
        (lot.pk, D(-5), D(10)),
        (part.pk, D(5), D(10)),
    }


def test_a_part_can_be_moved_on_and_be_parted_again(lot: Lot, booth: Location, cabinet: Location, by: User) -> None:
    part = send(lot, "10", booth, by=by).lot
    again = send(part, "5", cabinet, by=by).lot
    assert (again.split_from, again.location, again.on_hand, again.containers) == (part, cabinet, 5, 1)
    assert send(part, "5", cabinet, by=by).lot == part
    assert check_ledger().disagreements == ()


def test_reversing_the_transfer_brings_the_part_back(lot: Lot, booth: Location, by: User, counter: Counter) -> None:
    moved = send(lot, "5", booth, by=by)
    assert moved.posting
    counter.reverse(moved.posting)
    lot.refresh_from_db()
    assert (lot.on_hand, Lot.objects.get(pk=moved.lot.pk).on_hand) == (20, 0)


@pytest.mark.parametrize(
    ("quantity", "days", "error", "field"),
    [
        ("25", 0, NotEnoughStockError, "quantity"),
        ("0", 0, QuantityError, "quantity"),
        ("-1", 0, QuantityError, "quantity"),
        ("5", 1, DayError, "on"),
        ("5", -11, DayError, "on"),
        ("20", -11, DayError, "on"),
    ],
)
def test_what_cannot_be_moved_is_refused_and_nothing_is_written(
    lot: Lot, booth: Location, by: User, quantity: str, days: int, error: type[StockError], field: str
) -> None:
    with pytest.raises(error) as refused:
        send(lot, quantity, booth, by=by, days=days)
    assert refused.value.field == field
    assert (Lot.objects.count(), LotEvent.objects.count(), Posting.objects.count()) == (1, 0, 1)


@pytest.mark.parametrize("quantity", ["5", "20"])
def test_a_place_out_of_use_and_the_place_itself_are_refused(lot: Lot, shelf_a: Location, by: User, quantity: str) -> None:
    with pytest.raises(PlaceError, match="Lot A1 stands in Shelf A already"):
        send(lot, quantity, shelf_a, by=by)
    attic = Location.objects.create(name="Attic", is_active=False)
    with pytest.raises(PlaceError, match="Attic is out of use") as refused:
        send(lot, quantity, attic, by=by)
    assert refused.value.field == "to_location"


def test_a_lot_is_not_moved_on_a_day_before_its_last_move(lot: Lot, booth: Location, cabinet: Location, by: User) -> None:
    send(lot, "20", booth, by=by, days=-2)
    with pytest.raises(DayError, match="lot A1 was moved last"):
        send(lot, "20", cabinet, by=by, days=-3)
    send(lot, "20", cabinet, by=by, days=-2)
    lot.refresh_from_db()
    assert lot.location == cabinet


def test_a_remark_that_is_too_long_is_refused(lot: Lot, booth: Location, by: User) -> None:
    with pytest.raises(TextError, match="Keep this to 200"):
        send(lot, "20", booth, by=by, reason="x" * 201)


def test_an_empty_lot_is_not_moved(lot: Lot, booth: Location, by: User, counter: Counter) -> None:
    counter.issue(lot.material, "20")
    with pytest.raises(PlaceError, match="nothing to move"):
        send(lot, "0", booth, by=by)


@pytest.mark.parametrize("quantity", ["5", "10", "20"])
def test_the_same_form_moves_once(lot: Lot, booth: Location, by: User, quantity: str) -> None:
    """10 of 20 is the trap: what stays behind equals what the form asks for."""
    key = uuid4()
    first = send(lot, quantity, booth, by=by, key=key)
    second = send(lot, quantity, booth, by=by, key=key)
    assert (second.lot, second.posting, second.again) == (first.lot, first.posting, True)
    assert Lot.objects.filter(location=booth).count() == 1
    assert LotEvent.objects.count() == (1 if quantity == "20" else 0)


def test_a_late_copy_of_a_form_does_not_fetch_the_lot_back(lot: Lot, booth: Location, cabinet: Location, by: User) -> None:
    key = uuid4()
    send(lot, "20", booth, by=by, key=key)
    send(lot, "20", cabinet, by=by)
    assert send(lot, "20", booth, by=by, key=key).again
    lot.refresh_from_db()
    assert lot.location == cabinet


def test_a_key_serves_one_person_and_one_move(lot: Lot, booth: Location, cabinet: Location, by: User) -> None:
    key = uuid4()
    send(lot, "20", booth, by=by, key=key)
    with pytest.raises(KeyUsedError, match="Somebody else"):
        send(lot, "20", booth, by=person("owner"), key=key)
    with pytest.raises(KeyUsedError, match="moved something already"):
        send(lot, "20", cabinet, by=by, key=key)


def test_nobody_takes_from_a_quarantine_place_until_it_is_moved_on(
    lot: Lot, apart: Location, booth: Location, by: User, counter: Counter
) -> None:
    send(lot, "20", apart, by=by)
    with pytest.raises(NotEnoughStockError):
        counter.issue(lot.material, "1")
    with pytest.raises(StockError, match="is in quarantine"):
        counter.issue(lot.material, "1", lot=lot)
    assert not Lot.objects.with_state().get().is_usable(today())
    send(lot, "20", booth, by=by)
    counter.issue(lot.material, "1")


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(parts=st.lists(st.tuples(quantities(most=30_000_000), st.booleans()), max_size=5))
def test_any_moves_keep_quantity_and_value(
    clear: Material, shelf_a: Location, booth: Location, by: User, counter: Counter, parts: list[tuple[Decimal, bool]]
) -> None:
    lot = counter.receive(clear, "20", cost="7.77", location=shelf_a)
    family = [lot]
    for wanted, to_booth in parts:
        source = family[-1]
        source.refresh_from_db()
        try:
            moved = move(key=uuid4(), by=by, on=today(), lot=source, quantity=wanted, to_location=booth if to_booth else shelf_a)
        except StockError:
            continue
        if moved.posting:
            family.append(moved.lot)
    standing = Lot.objects.filter(pk__in=[one.pk for one in family])
    assert sum(one.on_hand for one in standing) == 20
    assert sum(one.value for one in standing) == D("155.40")
