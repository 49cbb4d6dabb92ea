"""Bookings: what was promised, less what was drawn, until the job is done."""

from __future__ import annotations

from decimal import Decimal

import pytest

from inventory.errors import QuantityError, TextError
from inventory.models import Booking, Material
from inventory.services.bookings import book, close_bookings
from tests.inventory.ledger.counter import Counter, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]


def remaining(booking: Booking) -> tuple[Decimal, Decimal]:
    """Drawn and left."""
    found = Booking.objects.with_remaining().get(pk=booking.pk)
    return found.drawn, found.remaining


def test_a_new_booking_is_all_left(clear: Material) -> None:
    booking = book(material=clear, quantity=Decimal("2.5"), needed_on=today(7), holder=" J-1 ")
    booking.refresh_from_db()
    assert (booking.holder, booking.planned, booking.needed_on, booking.is_open) == ("J-1", Decimal("2.5"), today(7), True)
    assert remaining(booking) == (0, Decimal("2.5"))


def test_issues_returns_and_reversals_with_the_booking_count(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "10")
    booking = book(material=clear, quantity=Decimal(5), needed_on=today(), holder="J-1")
    counter.issue(clear, "2", booking=booking)
    undone = counter.issue(clear, "1", booking=booking)
    counter.give_back(lot, "0.5", booking=booking)
    assert remaining(booking) == (Decimal("2.5"), Decimal("2.5"))
    counter.reverse(undone)
    assert remaining(booking) == (Decimal("1.5"), Decimal("3.5"))


def test_what_others_draw_does_not_count(counter: Counter, clear: Material) -> None:
    counter.receive(clear, "10")
    booking = book(material=clear, quantity=Decimal(5), needed_on=today(), holder="J-1")
    other = book(material=clear, quantity=Decimal(5), needed_on=today(), holder="J-2")
    counter.issue(clear, "2", booking=other)
    counter.issue(clear, "1")
    assert remaining(booking) == (0, 5)


def test_a_job_that_takes_more_than_was_booked_leaves_nothing(counter: Counter, clear: Material) -> None:
    counter.receive(clear, "10")
    booking = book(material=clear, quantity=Decimal(5), needed_on=today(), holder="J-1")
    counter.issue(clear, "6", booking=booking)
    assert remaining(booking) == (6, 0)


def test_closing_frees_the_bookings_of_one_holder(clear: Material, thinner: Material) -> None:
    for material in (clear, thinner):
        book(material=material, quantity=Decimal(1), needed_on=today(), holder="J-1")
    other = book(material=clear, quantity=Decimal(1), needed_on=today(), holder="J-10")
    assert close_bookings(holder="J-1") == 2
    assert list(Booking.objects.open()) == [other]
    assert close_bookings(holder="J-1") == 0


@pytest.mark.parametrize("quantity", ["0", "-1", "NaN"])
def test_a_booking_is_for_something(clear: Material, quantity: str) -> None:
    with pytest.raises(QuantityError):
        book(material=clear, quantity=Decimal(quantity), needed_on=today(), holder="J-1")


def test_a_booking_names_its_job(clear: Material) -> None:
    with pytest.raises(TextError, match="for which job") as refused:
        book(material=clear, quantity=Decimal(1), needed_on=today(), holder="")
    assert refused.value.field == "holder"
