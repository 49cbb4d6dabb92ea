"""Cycle counting: classes by share of a year's use, intervals, and what has not moved."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inventory.core.counting import INTERVAL_DAYS, CountClass, Stocked, classify, count_plan
from inventory.counts_due import accuracy, counting_plan, due_materials
from inventory.models import Lot, Material, StockCount
from inventory.services import ledger
from tests.inventory.counting.counted import D, Round
from tests.inventory.pages.shop import Shelf, words

A, B, C = CountClass.A, CountClass.B, CountClass.C
ON = date(2030, 6, 1)


@pytest.mark.parametrize(
    ("values", "classes"),
    [
        ([80, 15, 5], [A, B, C]),
        ([79, 16, 5], [A, A, C]),  # the second begins below 80 %, the third at 95 %
        ([5, 80, 15], [C, A, B]),  # whatever the order
        ([100], [A]),
        ([10, 0, -3], [A, C, C]),  # nothing used, or more came back than went
        ([0, 0], [C, C]),
        ([], []),
    ],
)
def test_classes_follow_the_share_of_a_years_use(values: list[int], classes: list[CountClass]) -> None:
    found = classify({at: Decimal(value) for at, value in enumerate(values)})
    assert [found[at] for at in range(len(values))] == classes


def used(shelf: Shelf, material: Material, quantity: str) -> None:
    """Issued yesterday: a year of use ends with the day before."""
    line = ledger.IssueLine(material=material, quantity=D(quantity))
    ledger.issue(key=uuid4(), by=shelf.by, on=shelf.today - timedelta(days=1), lines=[line], reference="Job 1")


def stocked(number: int, value: int, looked: int, moved: int | None = None) -> Stocked:
    """A material that was looked at, and moved, so many days ago."""
    moved_on = None if moved is None else ON - timedelta(days=moved)
    return Stocked(material_id=number, yearly_value=Decimal(value), looked_on=ON - timedelta(days=looked), moved_on=moved_on)


def test_what_moved_is_due_by_its_class_and_what_did_not_waits_longest() -> None:
    plan = count_plan([stocked(1, 80, 40, 5), stocked(2, 15, 40, 5), stocked(3, 5, 40, 5), stocked(4, 79, 40, 40)])
    due = {one.material_id: (one.due_on - one.looked_on).days for one in plan}
    assert due == {1: INTERVAL_DAYS[A], 2: INTERVAL_DAYS[B], 3: INTERVAL_DAYS[C], 4: INTERVAL_DAYS[C]}
    assert [one.material_id for one in plan] == [1, 4, 2, 3], "A before B before C, then the longest overdue"


@pytest.mark.django_db
@pytest.mark.database
def test_a_posted_count_puts_a_material_off_and_an_open_one_takes_it_on(
    shelf: Shelf, clear: Material, gloves: Material, round_: Round
) -> None:
    lot = shelf.lot(clear, "10", came=60)
    shelf.lot(gloves, "40", came=60)
    used(shelf, clear, "2")
    today = shelf.today
    assert [one.material.code for one in due_materials(on=today)] == ["CLEAR"]
    (first,) = [one for one in counting_plan(on=today) if one.material == clear]
    assert (first.due.count_class, first.due.yearly_value, first.due.has_moved) == (A, 40, True)
    count = round_.open(materials=[clear])
    assert due_materials(on=today) == []
    assert [one.being_counted for one in counting_plan(on=today)] == [count, None]
    round_.enter(count, lot, "7.9")
    round_.post(count)
    (again,) = [one for one in counting_plan(on=today) if one.material == clear]
    assert (again.due.looked_on, again.due.has_moved, again.being_counted) == (today, False, None)


@pytest.mark.django_db
@pytest.mark.database
def test_posting_a_day_after_counting_is_no_movement_on_the_shelf(shelf: Shelf, clear: Material, round_: Round) -> None:
    lot = shelf.lot(clear, "10", came=60)
    used(shelf, clear, "2")
    count = round_.open()
    round_.enter(count, lot, "7.5")
    yesterday = timezone.now() - timedelta(days=1)
    count.lines.update(counted_at=yesterday)
    round_.post(count)
    (one,) = counting_plan(on=shelf.today)
    assert (one.due.looked_on, one.due.has_moved) == (timezone.localdate(yesterday), False)


@pytest.mark.django_db
def test_the_books_agree_as_often_as_the_counts_say(lot: Lot, shelf: Shelf, gloves: Material, round_: Round) -> None:
    other = shelf.lot(gloves, "40", number="G-7")
    count = round_.open()
    round_.enter(count, lot, "9.8")  # 2 % off is within tolerance
    round_.enter(count, other, "39")
    round_.post(count)
    found = accuracy(since=timezone.now() - timedelta(days=1))
    assert (found.counts, found.lines, found.accurate, found.share) == (1, 2, 1, D("0.5"))


@pytest.mark.django_db
def test_ticked_materials_are_counted(tablet: Client, shelf: Shelf, clear: Material, gloves: Material) -> None:
    shelf.lot(clear, "10", came=60)
    shelf.lot(gloves, "40", came=60)
    used(shelf, clear, "2")
    page = tablet.get(reverse("counts_due"))
    assert "30 days late" in words(page)
    assert "Gloves" not in words(page)
    assert "Gloves" in words(tablet.get(reverse("counts_due") + "?all"))
    assert "Tick at least one material." in tablet.post(reverse("counts_due"), {"key": str(uuid4())}).text
    tablet.post(reverse("counts_due"), {"key": str(uuid4()), "materials": [clear.pk], "note": ""})
    count = StockCount.objects.get()
    assert (count.scope, count.is_blind, count.lines.get().lot.material) == ("Chosen materials", False, clear)


@pytest.mark.django_db
def test_the_buying_desk_points_to_what_is_due_and_open(desk: Client, shelf: Shelf, clear: Material, round_: Round) -> None:
    shelf.lot(clear, "10", came=60)
    used(shelf, clear, "2")
    tile = reverse("counts_due_tile")
    assert f'hx-get="{tile}"' in desk.get(reverse("desk_buying")).text
    assert "Due for counting 1 material" in words(desk.get(tile))
    round_.open()
    assert "Counts open 1 What is due" in words(desk.get(reverse("desk_buying"))), "without script"
    assert "Counts open 1 nothing else is due" in words(desk.get(tile))
