"""``write_off_expired``: several lots in one action, with reason and disposal, all or none, once a form."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from uuid import UUID, uuid4

import pytest
from django.db import transaction

from finishing.models import User
from inventory.choices import PostingKind, WriteOffCause
from inventory.errors import KeyUsedError, LotStateError, StockError, TextError
from inventory.models import Lot, LotEvent, Material, Posting
from inventory.selectors import expiry_allowances, expiry_shares
from inventory.services import expiry
from inventory.services.expiry import write_off_expired
from inventory.services.lots import open_lot, quarantine_lot
from inventory.services.opening import open_container
from tests.inventory.ledger.counter import Counter, on_hand
from tests.inventory.ledger.test_two_people_take_the_last_litre import at_once, tally

pytestmark = [pytest.mark.django_db, pytest.mark.database]
D = Decimal


@pytest.fixture
def old(counter: Counter, clear: Material, today: date) -> list[Lot]:
    """Two lots that went out of date: one by its expiry date, one by its open life."""
    first = counter.receive(clear, "4", cost="20", on=today - timedelta(days=90), expires_on=today - timedelta(days=1))
    second = counter.receive(clear, "2.5", cost="30", number="A2", on=today - timedelta(days=90))
    open_lot(lot=second, on=today - timedelta(days=31), by=counter.by)
    return [first, second]


def send(
    lots: Sequence[Lot], *, by: User, on: date, key: UUID | None = None, reason: str = "Too old", disposal: str = "Collection 12"
) -> list[Posting]:
    return write_off_expired(key=key or uuid4(), by=by, on=on, lots=lots, reason=reason, disposal=disposal)


def test_each_lot_gets_its_posting_with_cause_reason_and_disposal(old: list[Lot], by: User, today: date) -> None:
    postings = send(old, by=by, on=today, reason=" Too old ", disposal=" Collection 12 ")
    assert [on_hand(lot) for lot in old] == [0, 0]
    assert [posting.movements.get().lot for posting in postings] == old
    assert [posting.movements.get().quantity for posting in postings] == [D(-4), D("-2.5")]
    for posting in postings:
        assert (posting.kind, posting.cause, posting.on, posting.by) == (PostingKind.WRITE_OFF, WriteOffCause.EXPIRED, today, by)
        assert posting.reason == "Too old. Disposal: Collection 12"


def test_lots_in_quarantine_can_be_written_off(old: list[Lot], by: User, today: date) -> None:
    quarantine_lot(lot=old[0], reason="old", by=by)
    send(old, by=by, on=today)
    assert on_hand(old[0]) == 0


def test_a_lot_that_is_still_good_stops_all_of_them(
    old: list[Lot], counter: Counter, clear: Material, by: User, today: date
) -> None:
    last_day = counter.receive(clear, "3", number="A3", on=today - timedelta(days=9), expires_on=today)
    with pytest.raises(LotStateError, match="Lot A3 is not out of date"):
        send([*old, last_day], by=by, on=today)
    assert [on_hand(lot) for lot in [*old, last_day]] == [4, D("2.5"), 3]
    counter.issue(clear, "3", lot=last_day)
    assert not Posting.objects.filter(kind=PostingKind.WRITE_OFF).exists()


def test_a_lot_that_was_used_up_meanwhile_is_told(old: list[Lot], counter: Counter, by: User, today: date) -> None:
    counter.write_off(old[1], "2.5")
    with pytest.raises(LotStateError, match="Lot A2 is used up by now"):
        send(old, by=by, on=today)
    assert on_hand(old[0]) == 4


@pytest.mark.parametrize(
    ("reason", "disposal", "field", "words"),
    [
        (" ", "x", "reason", "Say why"),
        ("x", " ", "disposal", "Say how it leaves"),
        ("x" * 200, "y" * 100, "disposal", "12 characters too long"),
        ("x" * 301, "y", "reason", "Keep this to 300"),
    ],
)
def test_reason_and_disposal_are_asked_for(
    old: list[Lot], by: User, today: date, reason: str, disposal: str, field: str, words: str
) -> None:
    with pytest.raises(TextError, match=words) as refused:
        send(old, by=by, on=today, reason=reason, disposal=disposal)
    assert refused.value.field == field
    assert on_hand(old[0]) == 4


def test_none_and_far_too_many_are_refused(old: list[Lot], by: User, today: date, monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(StockError, match="at least one lot"):
        send([], by=by, on=today)
    monkeypatch.setattr(expiry, "MOST", 1)
    with pytest.raises(StockError, match="at most 1 lots"):
        send(old, by=by, on=today)


def test_the_same_form_writes_off_once(old: list[Lot], by: User, today: date) -> None:
    key = uuid4()
    first = send(old, by=by, on=today, key=key)
    assert send(old, by=by, on=today, key=key) == first
    with pytest.raises(KeyUsedError, match="with other figures"):
        send(old, by=by, on=today, key=key, reason="Otherwise")
    assert Posting.objects.filter(kind=PostingKind.WRITE_OFF).count() == 2


@pytest.mark.django_db(transaction=True)
def test_the_same_form_sent_twice_at_once_writes_off_once(old: list[Lot], by: User, today: date) -> None:
    """The second arrival waits for the lots and then answers with what the first has booked."""
    key = uuid4()
    outcomes = at_once([lambda: send(old, by=by, on=today, key=key)[0]] * 4)
    assert tally(outcomes) == {"Posting": 4}
    assert Posting.objects.filter(kind=PostingKind.WRITE_OFF).count() == 2


def test_the_expiry_allowance_is_what_was_written_off_over_what_was_used_and_written_off(
    old: list[Lot], counter: Counter, clear: Material, by: User, today: date
) -> None:
    """Costing model, section 5: 155 lost beside 45 used, so x = 155/200; taken back, it counts no more."""
    good = counter.receive(clear, "10", cost="15", number="A4")
    counter.issue(clear, "3", lot=good)
    assert expiry_allowances(today) == {}
    postings = send(old, by=by, on=today)
    share = expiry_shares(today)[clear.pk]
    assert (share.lost, share.used) == (155, 45)
    assert share.lost == sum(-move.value for posting in postings for move in posting.movements.all())
    assert expiry_allowances(today) == {clear.pk: D("0.775")}
    counter.reverse(postings[0])
    assert expiry_allowances(today) == {clear.pk: D(75) / D(120)}


def test_parting_a_lot_first_changes_nothing_for_the_allowance(counter: Counter, clear: Material, by: User, today: date) -> None:
    lot = counter.receive(clear, "20", cost="10", containers=4, on=today - timedelta(days=60))
    opened = open_container(key=uuid4(), by=by, on=today - timedelta(days=40), lot=lot, quantity=D(5))
    counter.issue(clear, "15", lot=lot)
    send([opened], by=by, on=today)
    assert expiry_allowances(today) == {clear.pk: D("0.25")}
    assert LotEvent.objects.get().lot == opened


def test_nothing_is_left_half_written_off_when_a_posting_fails(
    old: list[Lot], by: User, today: date, monkeypatch: pytest.MonkeyPatch
) -> None:
    done = expiry.ledger.write_off

    def fail_at_the_second(**given: object) -> Posting:
        if given["lot"] == old[1]:
            raise RuntimeError("power cut")
        return done(**given)  # type: ignore[arg-type]

    monkeypatch.setattr(expiry.ledger, "write_off", fail_at_the_second)
    with pytest.raises(RuntimeError), transaction.atomic():
        send(old, by=by, on=today)
    assert [on_hand(lot) for lot in old] == [4, D("2.5")]
