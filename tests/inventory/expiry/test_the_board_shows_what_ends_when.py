"""The expiry board: its weeks, its money, its jobs, and what it asks of the database."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.expiry import Board, BoardLine, expiry_board
from inventory.models import Booking, Lot, Material
from inventory.services.bookings import book
from inventory.services.lots import open_lot, quarantine_lot
from tests.inventory.ledger.counter import Counter, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]
D = Decimal
THURSDAY = date(2030, 1, 3)


def on_board(board: Board) -> dict[str, list[str]]:
    """Lot numbers by where they stand: overdue, or the Monday of the week."""
    found = {"overdue": [line.lot.number for line in board.overdue.lines]}
    return {**found, **{week.starts.isoformat(): [line.lot.number for line in week.lines] for week in board.weeks if week.lines}}


def line_of(board: Board, number: str) -> BoardLine:
    return next(line for line in (*board.overdue.lines, *board.ahead.lines) if line.lot.number == number)


def lot(counter: Counter, material: Material, number: str, *, ends: date | None, quantity: str = "10", cost: str = "2") -> Lot:
    return counter.receive(
        material,
        quantity,
        number=number,
        cost=cost,
        on=today(-100),
        expires_on=ends,
        accept_expired_reason="for a test",
    )


def test_lots_stand_in_the_week_of_their_last_day(counter: Counter, clear: Material) -> None:
    """A week goes from Monday to Sunday; this week shows only what is still good; the board ends with a Sunday."""
    for number, ends in {
        "wed": THURSDAY - timedelta(days=1),
        "thu": THURSDAY,
        "sun": date(2030, 1, 6),
        "mon": date(2030, 1, 7),
        "last": date(2030, 3, 24),
        "beyond": date(2030, 3, 25),
    }.items():
        lot(counter, clear, number, ends=ends)
    board = expiry_board(THURSDAY)
    assert on_board(board) == {
        "overdue": ["wed"],
        "2029-12-31": ["thu", "sun"],
        "2030-01-07": ["mon"],
        "2030-03-18": ["last"],
    }
    assert len(board.weeks) == 12
    assert not board.is_empty


def test_an_opened_lot_stands_where_its_open_life_ends(counter: Counter, clear: Material) -> None:
    opened = lot(counter, clear, "opened", ends=today(300))
    lot(counter, clear, "closed", ends=today(300))
    open_lot(lot=opened, on=today(-20), by=counter.by)
    board = expiry_board(today())
    assert [line.lot.number for line in board.ahead.lines] == ["opened"]
    assert line_of(board, "opened").outlook.last_day == today(10)


def test_a_used_up_lot_is_not_on_it(counter: Counter, clear: Material) -> None:
    gone = lot(counter, clear, "gone", ends=today(5))
    counter.issue(clear, "10", lot=gone)
    assert expiry_board(today()).is_empty


def test_money_is_each_lot_at_its_own_cost(counter: Counter, clear: Material) -> None:
    lot(counter, clear, "old", ends=today(-1), quantity="3", cost="7")
    lot(counter, clear, "first", ends=today(3), quantity="4", cost="5.5")
    lot(counter, clear, "second", ends=today(30), quantity="2", cost="11")
    book(material=clear, quantity=D(3), needed_on=today(1), holder="Job 1")
    board = expiry_board(today())
    assert (board.overdue.value, board.ahead.value) == (21, 44)
    assert line_of(board, "first").unused_value == D("5.5")
    assert board.ahead.unused_value == D("27.5")
    assert sum(week.value for week in board.weeks) == board.ahead.value


def test_open_bookings_say_which_job_can_use_up_what(counter: Counter, clear: Material) -> None:
    lot(counter, clear, "first", ends=today(3), quantity="4")
    lot(counter, clear, "second", ends=today(30), quantity="9")
    soon = book(material=clear, quantity=D(6), needed_on=today(2), holder="Soon")
    counter.issue(clear, "1", booking=soon)  # what it still needs is 5, and the first lot holds 3
    after = book(material=clear, quantity=D(2), needed_on=today(20), holder="Later")
    closed = book(material=clear, quantity=D(9), needed_on=today(2), holder="Closed")
    Booking.objects.filter(pk=closed.pk).update(is_open=False)
    board = expiry_board(today())
    assert [(use.booking, use.quantity) for use in line_of(board, "first").jobs] == [(soon, 3)]
    assert [(use.booking, use.quantity) for use in line_of(board, "second").jobs] == [(soon, 2), (after, 2)]
    assert line_of(board, "second").outlook.unused == 5


def test_jobs_after_the_last_day_are_named_where_something_is_left(counter: Counter, clear: Material) -> None:
    lot(counter, clear, "left", ends=today(3), quantity="4")
    bookings = [book(material=clear, quantity=D(1), needed_on=today(days), holder=f"Job {days}") for days in (9, 4, 30)]
    assert line_of(expiry_board(today()), "left").later == (bookings[1], bookings[0])
    book(material=clear, quantity=D(4), needed_on=today(2), holder="All of it")
    assert line_of(expiry_board(today()), "left").later == ()


def test_a_lot_in_quarantine_is_shown_and_serves_no_job(counter: Counter, clear: Material) -> None:
    apart = lot(counter, clear, "apart", ends=today(3))
    quarantine_lot(lot=apart, reason="lumps", by=counter.by)
    book(material=clear, quantity=D(4), needed_on=today(1), holder="Job")
    book(material=clear, quantity=D(4), needed_on=today(9), holder="Later")
    line = line_of(expiry_board(today()), "apart")
    assert (line.jobs, line.later, line.outlook.unused) == ((), (), 10)


def test_usual_use_is_what_was_entered_until_the_log_teaches_it(counter: Counter, clear: Material) -> None:
    Material.objects.update(weekly_use="7")
    lot(counter, clear, "used", ends=today(6), quantity="10")
    assert line_of(expiry_board(today()), "used").outlook.usual == 7
    bulk = counter.receive(clear, "100", number="bulk", on=today(-100), expires_on=today(400))
    for week in range(1, 6):
        counter.issue(clear, "14", lot=bulk, on=today(-7 * week))
    assert line_of(expiry_board(today()), "used").outlook.usual not in (0, 7)


def test_bookings_of_one_material_do_not_touch_another(counter: Counter, clear: Material) -> None:
    other = Material.objects.create(code="X", name="Other", kind="coating")
    lot(counter, clear, "clear", ends=today(3))
    lot(counter, other, "other", ends=today(3))
    book(material=other, quantity=D(4), needed_on=today(1), holder="Job")
    board = expiry_board(today())
    assert line_of(board, "clear").jobs == ()
    assert [use.quantity for use in line_of(board, "other").jobs] == [4]


def test_it_asks_as_often_for_many_lots_as_for_few(counter: Counter) -> None:
    def fill(first: int, last: int) -> None:
        for number in range(first, last):
            material = Material.objects.create(code=f"M{number}", name=f"M{number}", kind="coating", open_life_days=number + 1)
            for days in (-2, 3, 40):
                lot(counter, material, f"{number}/{days}", ends=today(days))
            counter.issue(material, "1", on=today(-20))
            book(material=material, quantity=D(4), needed_on=today(1), holder="Job")

    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            board = expiry_board(today())
            assert board.ahead.lines
            _ = [(line.lot.place, line.lot.value, line.unused_value, line.jobs, line.later) for line in board.ahead.lines]
        return len(captured)

    fill(0, 3)
    few = queries()
    fill(3, 20)
    assert queries() == few <= 5
