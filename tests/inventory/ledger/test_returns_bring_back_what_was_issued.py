"""Returning: to the lot it came from, and never more than is out."""

from __future__ import annotations

from decimal import Decimal

import pytest

from inventory.choices import PostingKind
from inventory.errors import DayError, QuantityError, ReturnTooLargeError, WrongMaterialError
from inventory.models import Booking, Material
from inventory.services.bookings import book
from tests.inventory.ledger.counter import Counter, on_hand, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]


def test_it_goes_back_to_its_lot_at_its_cost(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5", cost="8.5")
    counter.issue(clear, "3")
    posting = counter.give_back(lot, "1.25")
    move = posting.movements.get()
    assert (posting.kind, move.quantity, move.unit_cost) == (PostingKind.RETURN, Decimal("1.25"), Decimal("8.5"))
    assert on_hand(lot) == Decimal("3.25")


def test_all_that_is_out_can_come_back_and_no_drop_more(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    counter.issue(clear, "3")
    counter.give_back(lot, "2")
    with pytest.raises(ReturnTooLargeError, match=r"Only 1 L of lot A1 is out; 1\.000001 L can’t come back") as refused:
        counter.give_back(lot, "1.000001")
    assert (refused.value.issued, refused.value.field) == (1, "quantity")
    counter.give_back(lot, "1")
    assert on_hand(lot) == 5


def test_a_lot_that_was_only_received_gets_nothing_back(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    with pytest.raises(ReturnTooLargeError):
        counter.give_back(lot, "0.000001")


def test_what_was_written_off_is_not_out(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    counter.write_off(lot, "3")
    with pytest.raises(ReturnTooLargeError):
        counter.give_back(lot, "1")


def test_what_another_lot_gave_does_not_come_back_to_this_one(counter: Counter, clear: Material) -> None:
    counter.receive(clear, "5", expires_on=today(5))
    other = counter.receive(clear, "5", expires_on=today(50))
    counter.issue(clear, "3")
    with pytest.raises(ReturnTooLargeError):
        counter.give_back(other, "1")


def test_a_reversed_issue_is_no_longer_out(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    counter.reverse(counter.issue(clear, "3"))
    with pytest.raises(ReturnTooLargeError):
        counter.give_back(lot, "1")


def test_a_reversed_return_is_out_again(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    counter.issue(clear, "3")
    counter.reverse(counter.give_back(lot, "3"))
    counter.give_back(lot, "3")
    assert on_hand(lot) == 5


def test_for_a_booking_no_more_comes_back_than_it_drew(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    booking = book(material=clear, quantity=Decimal(4), needed_on=today(), holder="J-1")
    counter.issue(clear, "1", booking=booking)
    counter.issue(clear, "3")
    with pytest.raises(ReturnTooLargeError) as refused:
        counter.give_back(lot, "2", booking=booking)
    assert refused.value.issued == 1
    counter.give_back(lot, "0.25", booking=booking)
    assert Booking.objects.with_remaining().get().drawn == Decimal("0.75")


def test_a_booking_of_another_material_is_refused(counter: Counter, clear: Material, thinner: Material) -> None:
    lot = counter.receive(clear, "5")
    counter.issue(clear, "1")
    booking = book(material=thinner, quantity=Decimal(4), needed_on=today(), holder="J-1")
    with pytest.raises(WrongMaterialError):
        counter.give_back(lot, "1", booking=booking)


@pytest.mark.parametrize(("days", "words"), [(1, "still to come"), (-4, "too early")])
def test_a_day_that_can_not_be_is_refused(counter: Counter, clear: Material, days: int, words: str) -> None:
    lot = counter.receive(clear, "5", on=today(-3))
    counter.issue(clear, "1")
    with pytest.raises(DayError, match=words):
        counter.give_back(lot, "1", on=today(days))


def test_nothing_can_not_come_back(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    with pytest.raises(QuantityError):
        counter.give_back(lot, "0")
