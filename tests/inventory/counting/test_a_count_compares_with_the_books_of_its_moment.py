"""What moves while a count is open: before the counting, after it, booked late, taken back, moved elsewhere."""

from __future__ import annotations

from datetime import timedelta
from time import sleep
from uuid import uuid4

import pytest
from django.utils import timezone

from inventory.errors_counts import LinesError, LotBusyError, MomentError, StaleCountError
from inventory.models import Location, Lot, Material, Movement
from inventory.services import ledger
from inventory.services.transfers import move
from tests.inventory.counting.counted import D, Round, on_hand
from tests.inventory.pages.shop import Shelf

pytestmark = [pytest.mark.django_db, pytest.mark.database]


def test_what_moved_before_the_counting_is_in_the_books_already(lot: Lot, shelf: Shelf, round_: Round) -> None:
    count = round_.open()
    shelf.take(lot.material, "2")
    round_.enter(count, lot, "8")
    posted = round_.post(count).count
    assert (posted.posting, on_hand(lot)) == (None, 8)
    assert round_.line(count, lot).book == 10, "the sheet keeps what it said when it was opened"


def test_what_moves_after_the_counting_stays_moved(lot: Lot, shelf: Shelf, round_: Round) -> None:
    count = round_.open()
    round_.enter(count, lot, "9")
    shelf.take(lot.material, "2")
    posted = round_.post(count).count
    assert on_hand(lot) == 7
    assert [m.quantity for m in Movement.objects.filter(posting=posted.posting)] == [-1]
    assert round_.line(count, lot).book_when_counted == 10
    assert posted.difference_value == -20


def test_what_is_booked_late_for_an_earlier_day_had_left_the_shelf(lot: Lot, shelf: Shelf, round_: Round) -> None:
    count = round_.open()
    round_.enter(count, lot, "8")
    line = ledger.IssueLine(material=lot.material, quantity=D(2))
    yesterday = shelf.today - timedelta(days=1)
    ledger.issue(key=uuid4(), by=shelf.by, on=yesterday, lines=[line], reference="forgotten")
    assert round_.post(count).count.posting is None
    assert on_hand(lot) == 8


def test_a_mistake_that_is_taken_back_never_happened(lot: Lot, shelf: Shelf, round_: Round) -> None:
    wrong = shelf.take(lot.material, "2")
    count = round_.open()
    round_.enter(count, lot, "10")  # nothing had left the shelf
    ledger.reverse(key=uuid4(), by=shelf.by, on=shelf.today, posting=wrong, reason="not taken")
    assert round_.post(count).count.posting is None
    assert on_hand(lot) == 10


def test_a_part_that_is_moved_away_after_the_counting_is_not_missing(
    lot: Lot, shelf: Shelf, round_: Round, cabinet: Location
) -> None:
    count = round_.open(location=lot.location)
    round_.enter(count, lot, "9.5")
    part = move(key=uuid4(), by=shelf.by, on=shelf.today, lot=lot, quantity=D(4), to_location=cabinet).lot
    round_.post(count)
    assert (on_hand(lot), on_hand(part)) == (D("5.5"), 4)


def test_a_whole_lot_that_is_moved_away_keeps_its_difference(lot: Lot, shelf: Shelf, round_: Round, cabinet: Location) -> None:
    count = round_.open(location=lot.location)
    round_.enter(count, lot, "9.5")
    move(key=uuid4(), by=shelf.by, on=shelf.today, lot=lot, quantity=D(10), to_location=cabinet)
    round_.post(count)
    moved = Lot.objects.select_related("location").get(pk=lot.pk)
    assert (moved.place, moved.on_hand) == ("Cabinet", D("9.5"))


def test_a_filled_sheet_is_compared_with_the_books_of_its_own_moment(lot: Lot, shelf: Shelf, round_: Round) -> None:
    count = round_.open()
    shelf.take(lot.material, "1")
    sleep(0.02)
    counted_at = timezone.now()
    sleep(0.02)
    shelf.take(lot.material, "3")
    round_.enter(count, lot, "9", at=counted_at)
    assert round_.line(count, lot).book_when_counted == 9
    assert round_.post(count).count.posting is None
    assert on_hand(lot) == 6


def test_a_moment_before_the_opening_or_to_come_is_refused(lot: Lot, round_: Round) -> None:
    count = round_.open()
    with pytest.raises(MomentError, match="still to come"):
        round_.enter(count, lot, "9", at=timezone.now() + timedelta(minutes=5))
    with pytest.raises(MomentError, match="nothing was counted on it before"):
        round_.enter(count, lot, "9", at=timezone.now() - timedelta(hours=1))
    assert round_.line(count, lot).counted is None


def test_a_lot_of_which_more_left_than_was_found_is_counted_again(lot: Lot, shelf: Shelf, round_: Round) -> None:
    count = round_.open()
    round_.enter(count, lot, "3")
    shelf.take(lot.material, "4")
    with pytest.raises(LinesError, match=r"Count this lot again: 4 L went out since .* only 3 L was found then"):
        round_.post(count)
    assert on_hand(lot) == 6
    round_.enter(count, lot, None)
    round_.enter(count, lot, "5")
    round_.post(count)
    assert on_hand(lot) == 5


def test_figures_that_changed_since_they_were_looked_at_are_not_posted(lot: Lot, round_: Round) -> None:
    count = round_.open()
    round_.enter(count, lot, "9")
    looked_at = round_.seen(count)
    round_.enter(count, lot, None)
    round_.enter(count, lot, "8")
    with pytest.raises(StaleCountError):
        round_.post(count, seen=looked_at)
    assert on_hand(lot) == 10


def test_a_lot_is_on_one_open_count_at_a_time(lot: Lot, round_: Round) -> None:
    first = round_.open()
    with pytest.raises(LotBusyError, match=f"is being counted on {first.label}"):
        round_.open(location=lot.location)


@pytest.mark.parametrize(("found", "left"), [("2.346", "2.345678"), ("2.35", "2.35"), ("0", "0")])
def test_a_figure_that_reads_the_same_moves_no_crumbs(
    shelf: Shelf, clear: Material, round_: Round, found: str, left: str
) -> None:
    """Pages show three decimals; nobody is booked a difference that no page can show. An empty shelf is exact."""
    lot = shelf.lot(clear, "2.345678", number="B-1")
    count = round_.open()
    round_.enter(count, lot, found)
    round_.post(count)
    assert on_hand(lot) == D(left)
