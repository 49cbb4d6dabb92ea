"""Reversing: a counter-movement for each movement, once, with a reason, while it can still be undone."""

from __future__ import annotations

from decimal import Decimal
from uuid import uuid4

import pytest

from inventory.choices import PostingKind
from inventory.errors import AlreadyReversedError, DayError, NotReversibleError, TextError
from inventory.models import Booking, Lot, Material, Posting
from inventory.services import ledger
from inventory.services.bookings import book
from inventory.services.ledger import ReceiptLine
from tests.inventory.ledger.counter import Counter, moved, on_hand, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]


def receipt_of(lot: Lot) -> Posting:
    """The posting that brought a lot."""
    return Posting.objects.get(kind=PostingKind.RECEIPT, movements__lot=lot)


def test_a_reversed_issue_goes_back_to_its_lots(counter: Counter, clear: Material) -> None:
    soon = counter.receive(clear, "2", number="soon", expires_on=today(9))
    late = counter.receive(clear, "5", number="late", expires_on=today(90))
    posting = counter.issue(clear, "3")
    counter_posting = counter.reverse(posting, reason="wrong job")
    assert moved(counter_posting) == [("soon", 2), ("late", 1)]
    assert (counter_posting.kind, counter_posting.reason) == (PostingKind.REVERSAL, "wrong job")
    assert [move.reverses for move in counter_posting.movements.order_by("pk")] == list(posting.movements.order_by("pk"))
    assert (on_hand(soon), on_hand(late)) == (2, 5)


def test_it_names_the_same_cost_and_booking(counter: Counter, clear: Material) -> None:
    counter.receive(clear, "2", cost="7.5")
    booking = book(material=clear, quantity=Decimal(2), needed_on=today(), holder="J-1")
    move = counter.reverse(counter.issue(clear, "1", booking=booking)).movements.get()
    assert (move.unit_cost, move.booking) == (Decimal("7.5"), booking)
    assert Booking.objects.with_remaining().get().drawn == 0


def test_a_reversed_receipt_leaves_an_empty_lot(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "2")
    counter.reverse(receipt_of(lot))
    assert on_hand(lot) == 0


def test_a_receipt_whose_stock_is_gone_stays(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "2")
    counter.issue(clear, "0.5")
    with pytest.raises(NotReversibleError) as refused:
        counter.reverse(receipt_of(lot))
    assert str(refused.value).endswith("can’t be reversed: lot A1 holds only 1.5 of the 2 that would go.")
    assert on_hand(lot) == Decimal("1.5")


def test_a_delivery_of_several_lots_is_reversed_whole_or_not_at_all(counter: Counter, clear: Material, thinner: Material) -> None:
    lines = [
        ReceiptLine(material=material, quantity=Decimal(2), unit_cost=Decimal(1), lot_number="N") for material in (clear, thinner)
    ]
    posting = ledger.receive(key=uuid4(), by=counter.by, on=today(), supplier=None, reference="", lines=lines)
    issued = counter.issue(thinner, "1")
    with pytest.raises(NotReversibleError):
        counter.reverse(posting)
    assert [lot.on_hand for lot in Lot.objects.order_by("pk")] == [2, 1]
    counter.reverse(issued)
    counter.reverse(posting)
    assert [lot.on_hand for lot in Lot.objects.order_by("pk")] == [0, 0]


def test_a_reversed_write_off_comes_back(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "2")
    counter.reverse(counter.write_off(lot, "2"))
    assert on_hand(lot) == 2


def test_a_reversed_return_is_gone_again_unless_it_was_used(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "2")
    counter.issue(clear, "2")
    back = counter.give_back(lot, "2")
    used = counter.issue(clear, "1")
    with pytest.raises(NotReversibleError, match="holds only 1 of the 2"):
        counter.reverse(back)
    counter.reverse(used)
    counter.reverse(back)
    assert on_hand(lot) == 0


def test_an_issue_of_which_part_came_back_is_not_reversed_before_the_return(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    issued = counter.issue(clear, "3")
    back = counter.give_back(lot, "1")
    with pytest.raises(NotReversibleError, match="part of what it took from lot A1 has come back; reverse the return first"):
        counter.reverse(issued)
    assert on_hand(lot) == 3
    counter.reverse(back)
    counter.reverse(issued)
    assert on_hand(lot) == 5


def test_what_a_booking_gave_back_keeps_its_issue_from_being_reversed(counter: Counter, clear: Material) -> None:
    """Another issue from the lot is still out, but not for this booking."""
    lot = counter.receive(clear, "9")
    booking = book(material=clear, quantity=Decimal(3), needed_on=today(), holder="J-1")
    issued = counter.issue(clear, "3", booking=booking)
    counter.issue(clear, "5")
    counter.give_back(lot, "1", booking=booking)
    with pytest.raises(NotReversibleError, match="reverse the return first"):
        counter.reverse(issued)


def test_once_only(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "2")
    issued = counter.issue(clear, "1")
    counter.reverse(issued)
    with pytest.raises(AlreadyReversedError, match=f"^{issued} has been reversed already.$"):
        counter.reverse(issued)
    assert on_hand(lot) == 2


def test_a_reversal_is_not_reversed(counter: Counter, clear: Material) -> None:
    counter.receive(clear, "2")
    undone = counter.reverse(counter.issue(clear, "1"))
    with pytest.raises(NotReversibleError, match="book what is right anew"):
        counter.reverse(undone)


@pytest.mark.parametrize("reason", ["", "  "])
def test_a_reason_is_needed(counter: Counter, clear: Material, reason: str) -> None:
    counter.receive(clear, "2")
    with pytest.raises(TextError, match="Say why it is reversed") as refused:
        counter.reverse(counter.issue(clear, "1"), reason=reason)
    assert refused.value.field == "reason"


@pytest.mark.parametrize(("days", "words"), [(1, "still to come"), (-2, "too early")])
def test_a_day_that_can_not_be_is_refused(counter: Counter, clear: Material, days: int, words: str) -> None:
    counter.receive(clear, "2", on=today(-9))
    issued = counter.issue(clear, "1", on=today(-1))
    with pytest.raises(DayError, match=words):
        counter.reverse(issued, on=today(days))
