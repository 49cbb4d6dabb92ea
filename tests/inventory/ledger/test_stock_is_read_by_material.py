"""``stock_lines``: what is on hand, usable, expired, set aside and booked, in the same number of queries at any size."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Material
from inventory.selectors import StockLine, expiry_allowances, stock_lines, weekly_demand
from inventory.services.bookings import book, close_bookings
from inventory.services.lots import open_lot, quarantine_lot
from tests.inventory.ledger.counter import Counter, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]


def test_lots_are_sorted_by_what_they_are_fit_for(counter: Counter, clear: Material) -> None:
    counter.receive(clear, "1", cost="10", expires_on=today(40))
    counter.receive(clear, "2", cost="11", expires_on=today(20))
    counter.receive(clear, "4", cost="12", on=today(-9), expires_on=today(-1))
    lot = counter.receive(clear, "8", cost="13", on=today(-9), expires_on=today(-1))
    quarantine_lot(lot=lot, reason="lumps", by=counter.by)
    assert stock_lines(today()) == {
        clear.pk: StockLine(
            material_id=clear.pk,
            on_hand=Decimal(15),
            usable=Decimal(3),
            expired=Decimal(4),
            quarantined=Decimal(8),
            booked=Decimal(0),
            value=Decimal(10 + 22 + 48 + 104),
            next_expiry=today(20),
        )
    }


def test_usable_is_asked_for_a_day(counter: Counter, clear: Material) -> None:
    counter.receive(clear, "1", expires_on=today(20))
    counter.receive(clear, "2", expires_on=today(40))
    line = stock_lines(today(21))[clear.pk]
    assert (line.usable, line.expired, line.next_expiry) == (2, 1, today(40))


def test_an_opened_container_ends_with_its_open_life(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "1", on=today(-40), expires_on=today(200))
    open_lot(lot=lot, on=today(-29), by=counter.by)
    assert stock_lines(today())[clear.pk].next_expiry == today(1)
    assert stock_lines(today(2))[clear.pk].expired == 1


def test_what_never_expires_has_no_next_expiry(counter: Counter, thinner: Material) -> None:
    counter.receive(thinner, "1")
    line = stock_lines(today())[thinner.pk]
    assert (line.usable, line.next_expiry) == (1, None)


def test_open_bookings_count_with_what_they_still_need(counter: Counter, clear: Material, thinner: Material) -> None:
    counter.receive(clear, "10")
    half = book(material=clear, quantity=Decimal(4), needed_on=today(), holder="J-1")
    book(material=clear, quantity=Decimal(1), needed_on=today(), holder="J-2")
    book(material=thinner, quantity=Decimal(3), needed_on=today(), holder="J-2")
    counter.issue(clear, "1.5", booking=half)
    lines = stock_lines(today())
    assert (lines[clear.pk].booked, lines[clear.pk].on_hand) == (Decimal("3.5"), Decimal("8.5"))
    assert (lines[thinner.pk].booked, lines[thinner.pk].on_hand) == (3, 0)
    close_bookings(holder="J-2")
    assert stock_lines(today())[clear.pk].booked == Decimal("2.5")
    assert thinner.pk not in stock_lines(today())


def test_a_booking_that_drew_too_much_needs_nothing_and_lends_nothing(counter: Counter, clear: Material) -> None:
    counter.receive(clear, "10")
    eager = book(material=clear, quantity=Decimal(1), needed_on=today(), holder="J-1")
    book(material=clear, quantity=Decimal(2), needed_on=today(), holder="J-2")
    counter.issue(clear, "5", booking=eager)
    assert stock_lines(today())[clear.pk].booked == 2


def test_what_is_used_up_has_no_line(counter: Counter, clear: Material) -> None:
    counter.receive(clear, "1")
    counter.issue(clear, "1")
    assert stock_lines(today()) == {}


@pytest.mark.parametrize(
    ("read", "queries"), [(stock_lines, 2), (expiry_allowances, 2), (weekly_demand, 2)], ids=["lines", "allowances", "demand"]
)
def test_the_number_of_queries_does_not_grow(
    counter: Counter, clear: Material, read: Callable[..., object], queries: int
) -> None:
    def count() -> int:
        with CaptureQueriesContext(connection) as captured:
            read(on=today())
        return len(captured)

    counter.receive(clear, "5", on=today(-30), expires_on=today(-3))
    assert count() == queries
    for number in range(6):
        material = Material.objects.create(code=f"M{number}", name=f"Material {number}", kind="coating", open_life_days=9)
        lot = counter.receive(material, "5", on=today(-30), expires_on=today(number - 3))
        booking = book(material=material, quantity=Decimal(1), needed_on=today(), holder="J-1")
        counter.reverse(counter.issue(material, "1", lot=lot, booking=booking, on=today(-20)))
        counter.issue(material, "2", lot=lot, on=today(-20))
        counter.write_off(lot, "1", cause="expired")  # type: ignore[arg-type]
    assert count() == queries
