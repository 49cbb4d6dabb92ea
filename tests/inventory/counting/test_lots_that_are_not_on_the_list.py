"""Found while counting: in the books elsewhere, used up by the books, standing nowhere, or not known at all."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from inventory.errors_counts import LotBusyError, LotNotAddableError
from inventory.models import CountFind, Location, Lot, Material, StockCount
from inventory.services.counting import add_lot
from tests.inventory.counting.counted import Round, on_hand
from tests.inventory.pages.shop import Shelf, words

pytestmark = pytest.mark.django_db


@pytest.fixture
def count(lot: Lot, round_: Round) -> StockCount:
    """Of the rack, on which lot A-1 stands."""
    return round_.open(location=lot.location)


def look_up(browser: Client, count: StockCount, number: str) -> str:
    return words(browser.get(reverse("count_found", args=[count.pk]), {"number": number}))


def test_a_lot_that_is_used_up_by_the_books_is_added_and_counted(
    tablet: Client, count: StockCount, shelf: Shelf, clear: Material, round_: Round
) -> None:
    gone = shelf.lot(clear, "2", number="U-1", location=count.location)
    shelf.take(clear, "2", lot=gone)
    assert "used up by the books" in look_up(tablet, count, "u-1")
    answer = tablet.post(reverse("count_found", args=[count.pk]) + "?number=U-1", {"lot": gone.pk})
    line = round_.line(count, gone)
    assert answer.url.endswith(f"?line={line.pk}#line-{line.pk}")
    round_.enter(count, gone, "0.5")
    round_.post(count)
    assert on_hand(gone) == 0.5


def test_a_lot_of_another_place_is_moved_first(
    tablet: Client, count: StockCount, shelf: Shelf, clear: Material, cabinet: Location, round_: Round
) -> None:
    away = shelf.lot(clear, "2", number="W-1", location=cabinet)
    with pytest.raises(LotNotAddableError, match=r"stands in Cabinet with 2 L\. Note first that it was moved here"):
        add_lot(count=count, lot=away)
    page = tablet.get(reverse("count_found", args=[count.pk]), {"number": "W-1"}).text
    assert reverse("lot_place", args=[away.pk], query={"to": count.location_id}) in page
    Lot.objects.filter(pk=away.pk).update(location=count.location)
    assert add_lot(count=count, lot=away) == add_lot(count=count, lot=away) == round_.line(count, away)


def test_a_lot_that_stands_nowhere_is_added_and_can_be_placed(
    tablet: Client, count: StockCount, shelf: Shelf, clear: Material
) -> None:
    nowhere = shelf.lot(clear, "2", number="N-1")
    page = tablet.get(reverse("count_found", args=[count.pk]), {"number": "N-1"}).text
    assert reverse("lot_place", args=[nowhere.pk], query={"to": count.location_id}) in page
    assert "Add it to the count" in page
    assert add_lot(count=count, lot=nowhere).book == 2


def test_a_lot_on_another_open_count_is_not_added(count: StockCount, shelf: Shelf, gloves: Material, round_: Round) -> None:
    nowhere = shelf.lot(gloves, "2", number="N-1")
    other = round_.open(materials=[gloves])
    with pytest.raises(LotBusyError, match=other.label):
        add_lot(count=count, lot=nowhere)


def test_a_lot_that_the_books_do_not_know_is_noted_until_it_is_booked(
    tablet: Client, desk: Client, count: StockCount, shelf: Shelf, clear: Material, round_: Round, lot: Lot
) -> None:
    assert "The books know no lot F-77" in look_up(tablet, count, "F-77")
    address = reverse("count_found", args=[count.pk])
    assert "Write how much there is" in tablet.post(address, {"number": "F-77", "amount": ""}).text
    tablet.post(address, {"number": "F-77", "amount": "1 can of 5 L", "material": clear.pk, "note": "no label"})
    round_.enter(count, lot, "10")
    assert "F-77 (1 can of 5 L)" in words(desk.get(reverse("count_differences", args=[count.pk])))
    found = shelf.lot(clear, "5", number="F-77", location=count.location)
    add_lot(count=count, lot=found)
    assert "on the count" in words(desk.get(count.get_absolute_url()))
    assert "F-77 (" not in words(desk.get(reverse("count_differences", args=[count.pk])))


def test_a_note_is_taken_back(tablet: Client, count: StockCount) -> None:
    tablet.post(reverse("count_found", args=[count.pk]), {"number": "F-1", "amount": "1 can"})
    find = CountFind.objects.get()
    tablet.post(reverse("count_find_remove", args=[count.pk, find.pk]))
    assert not CountFind.objects.exists()
