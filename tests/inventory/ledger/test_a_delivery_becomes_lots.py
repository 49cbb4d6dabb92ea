"""Receiving: each line of a delivery is a lot with its own dates and cost."""

from __future__ import annotations

from decimal import Decimal
from uuid import uuid4

import pytest

from finishing.models import User
from inventory.choices import PostingKind
from inventory.errors import DayError, LotNotUsableError, QuantityError, StockError, TextError
from inventory.models import Location, Lot, Material, Posting, Supplier
from inventory.services import ledger
from inventory.services.ledger import ReceiptLine
from tests.inventory.ledger.counter import Counter, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]


def test_each_line_is_a_lot_and_a_movement(finisher: User, clear: Material, thinner: Material) -> None:
    supplier, cabinet = Supplier.objects.create(name="Invented Coatings"), Location.objects.create(name="Cabinet 3")
    posting = ledger.receive(
        key=uuid4(),
        by=finisher,
        on=today(),
        supplier=supplier,
        reference="DN 17",
        lines=[
            ReceiptLine(
                material=clear, quantity=Decimal(5), unit_cost=Decimal("12.345678"), lot_number=" L-1 ", made_on=today(-10)
            ),
            ReceiptLine(material=thinner, quantity=Decimal("2.5"), unit_cost=Decimal(0), lot_number="L-2", location=cabinet),
        ],
    )
    posting.refresh_from_db()
    assert (posting.kind, posting.by, posting.on, posting.reference) == (PostingKind.RECEIPT, finisher, today(), "DN 17")
    first, second = Lot.objects.order_by("pk")
    assert (first.number, first.on_hand, first.unit_cost, first.supplier) == ("L-1", 5, Decimal("12.345678"), supplier)
    assert (second.number, second.on_hand, second.unit_cost, second.place) == ("L-2", Decimal("2.5"), 0, "Cabinet 3")
    assert [(move.lot, move.quantity, move.unit_cost) for move in posting.movements.order_by("pk")] == [
        (first, 5, Decimal("12.345678")),
        (second, Decimal("2.5"), 0),
    ]


def test_the_expiry_follows_from_the_day_it_was_made_and_the_shelf_life(counter: Counter, clear: Material) -> None:
    assert counter.receive(clear, "1", made_on=today(-10)).expires_on == today(355)


def test_a_printed_expiry_wins_over_the_shelf_life(counter: Counter, clear: Material) -> None:
    assert counter.receive(clear, "1", made_on=today(-10), expires_on=today(40)).expires_on == today(40)


def test_no_expiry_is_made_up_without_a_day_of_making_or_a_shelf_life(
    counter: Counter, clear: Material, thinner: Material
) -> None:
    assert counter.receive(clear, "1").expires_on is None
    assert counter.receive(thinner, "1", made_on=today(-10)).expires_on is None


def test_what_expires_today_is_taken_in(counter: Counter, clear: Material) -> None:
    assert counter.receive(clear, "1", expires_on=today()).is_usable(today())


def test_what_is_out_of_date_on_arrival_is_refused(counter: Counter, clear: Material) -> None:
    with pytest.raises(LotNotUsableError, match=r"Lot A1 expired on .*, before it came in") as refused:
        counter.receive(clear, "1", expires_on=today(-1))
    assert (refused.value.field, refused.value.line) == ("expires_on", 0)
    assert not Lot.objects.exists()
    assert not Posting.objects.exists()


def test_it_is_taken_in_with_a_reason_that_stays_on_the_movement(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "1", expires_on=today(-1), accept_expired_reason="for test panels")
    assert lot.movements.get().override_reason == "for test panels"
    assert not lot.is_usable(today())


def test_the_reason_is_kept_only_where_it_was_needed(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "1", expires_on=today(1), accept_expired_reason="for test panels")
    assert lot.movements.get().override_reason == ""


@pytest.mark.parametrize(
    ("line", "error", "field", "words"),
    [
        ({"quantity": Decimal(0)}, QuantityError, "quantity", "A quantity is above 0"),
        ({"unit_cost": Decimal(-1)}, QuantityError, "unit_cost", "A cost can’t be below 0"),
        ({"unit_cost": Decimal("Infinity")}, QuantityError, "unit_cost", "must be an exact number"),
        ({"unit_cost": Decimal("1e10")}, QuantityError, "unit_cost", "can’t be right"),
        ({"lot_number": "  "}, TextError, "lot_number", "Give the lot number on the label"),
        ({"lot_number": "x" * 41}, TextError, "lot_number", "Keep this to 40 characters; it has 41"),
        ({"lot_number": "a\0b"}, TextError, "lot_number", "can’t be stored"),
        ({"made_on": today(1)}, DayError, "made_on", "after it came in"),
        ({"made_on": today(-5), "expires_on": today(-6)}, DayError, "expires_on", "can’t expire before it was made"),
    ],
)
def test_a_line_that_can_not_be_is_refused_whole_and_named(
    finisher: User, clear: Material, line: dict[str, object], error: type[StockError], field: str, words: str
) -> None:
    good = {"material": clear, "quantity": Decimal(1), "unit_cost": Decimal(1), "lot_number": "A"}
    with pytest.raises(error, match=words) as refused:
        ledger.receive(
            key=uuid4(),
            by=finisher,
            on=today(),
            supplier=None,
            reference="",
            lines=[ReceiptLine(**good), ReceiptLine(**{**good, **line})],  # type: ignore[arg-type]
        )
    assert (refused.value.field, refused.value.line) == (field, 1)
    assert not Lot.objects.exists()
    assert not Posting.objects.exists()


def test_a_delivery_of_nothing_is_refused(finisher: User) -> None:
    with pytest.raises(StockError, match="no line"):
        ledger.receive(key=uuid4(), by=finisher, on=today(), supplier=None, reference="", lines=[])


def test_the_same_lot_number_twice_gives_two_lots_with_their_own_costs(counter: Counter, clear: Material) -> None:
    assert counter.receive(clear, "1", cost="10") != counter.receive(clear, "1", cost="11")
    assert sorted(lot.value for lot in Lot.objects.all()) == [10, 11]
