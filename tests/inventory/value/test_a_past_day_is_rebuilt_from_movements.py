"""The value of a past day is what the books said at the end of that day, whatever happened since."""

from __future__ import annotations

import random
from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Location, Lot, Material, Posting
from inventory.selectors import stock_lines
from inventory.services.transfers import move
from inventory.services.verify import check_ledger
from inventory.value import NO_PLACE, rounding, stock_value
from tests.inventory.ledger.counter import Counter, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]

D = Decimal
Kept = dict[int, tuple[Decimal, str]]  # by lot: quantity and place


def kept_now() -> Kept:
    """What the lots themselves say at this moment: no movement and no record of a move is read."""
    lots = Lot.objects.filter(on_hand__gt=0).select_related("location")
    return {lot.pk: (lot.on_hand, lot.place or NO_PLACE) for lot in lots}


def kept_then(on: date) -> Kept:
    return {line.pk: (line.quantity, line.place) for line in stock_value(on).lines}


def shift(
    counter: Counter, places: list[Location], materials: list[Material], chance: random.Random, on: date, posted: list[Posting]
) -> None:
    """One thing that happens on a day: a delivery, an issue, a return, a write-off, a move, a reversal."""
    lots = list(Lot.objects.filter(on_hand__gt=0).order_by("pk"))
    kind = chance.choice(["receive", "receive", "issue", "issue", "back", "off", "move", "part", "undo"])
    if kind == "receive" or not lots:
        place = chance.choice([None, *places])
        cost = chance.choice(["10", "12.345678", "0.000001"])
        counter.receive(chance.choice(materials), "8", cost=cost, number=f"N{Lot.objects.count()}", on=on, location=place)
        return
    lot = chance.choice(lots)
    if kind == "issue":
        posted.append(counter.issue(lot.material, min(lot.on_hand, D("1.5")), lot=lot, on=on))
    elif kind == "off":
        counter.write_off(lot, min(lot.on_hand, D("0.25")), on=on)
    elif kind in ("move", "part"):
        quantity = lot.on_hand if kind == "move" else lot.on_hand / 2
        there = [place for place in places if place.pk != lot.location_id]
        move(key=uuid4(), by=counter.by, on=on, lot=lot, quantity=quantity, to_location=chance.choice(there))
    elif posted:
        issued = posted.pop()
        taken = issued.movements.get()
        if kind == "back":
            counter.give_back(taken.lot, -taken.quantity / 3, on=on)
        else:
            counter.reverse(issued, on=on)


@pytest.mark.parametrize("seed", range(4))
def test_every_past_day_gives_back_what_its_evening_said(counter: Counter, clear: Material, thinner: Material, seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311 - the same doings in every run
    places = [Location.objects.create(name=name) for name in ("Booth", "Cabinet", "Shelf")]
    evenings: dict[date, tuple[Kept, Decimal]] = {}
    posted: list[Posting] = []
    for ago in range(-30, 1):
        for _ in range(chance.randrange(4)):
            shift(counter, places, [clear, thinner], chance, today(ago), posted)
        evenings[today(ago)] = (kept_now(), check_ledger().value)
    assert len({place for kept, _ in evenings.values() for _, place in kept.values()}) >= 3
    for on, (kept, value) in evenings.items():
        assert kept_then(on) == kept
        assert stock_value(on).total == value


def test_today_is_worth_what_the_ledger_and_the_desk_say(counter: Counter, clear: Material, thinner: Material) -> None:
    lot = counter.receive(clear, "7", cost="12.345", on=today(-9))
    counter.receive(thinner, "3.333333", cost="0.777777", on=today(-3))
    counter.issue(clear, "2.5", lot=lot, on=today(-1))
    found = stock_value(today())
    assert found.total == D("4.5") * D("12.345") + D("3.333333") * D("0.777777")
    assert found.total == check_ledger().value == sum(line.value for line in stock_lines(today()).values())
    for groups in (found.by_kind, found.by_place):
        assert sum(group.value for group in groups) == found.total
        assert sum(group.lots for group in groups) == 2
    assert [group.words for group in found.by_kind] == ["Coating", "Thinner"]


def test_a_reversal_counts_on_its_own_day(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "10", cost="4", on=today(-9))
    wrong = counter.issue(clear, "6", lot=lot, on=today(-6))
    counter.reverse(wrong, on=today(-2))
    assert [stock_value(today(day)).total for day in (-10, -9, -7, -6, -3, -2, 0)] == [0, 40, 40, 16, 16, 40, 40]


def test_a_late_entry_that_leaves_less_than_nothing_in_between_is_named(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "10", number="L-9", on=today(-9))
    counter.issue(clear, "8", lot=lot, on=today(-6))
    counter.give_back(lot, "8", on=today(-3))
    counter.issue(clear, "9", lot=lot, on=today(-8))  # entered today, for a day before
    found = stock_value(today(-5))
    assert [(line.number, line.quantity) for line in found.below_nothing] == [("L-9", D(-7))]
    assert found.total == D(-70)
    assert stock_value(today()).below_nothing == ()


def test_three_queries_whatever_the_size(counter: Counter, clear: Material) -> None:
    place = Location.objects.create(name="Booth")

    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            stock_value(today(-1))
        return len(captured)

    counter.receive(clear, "5", on=today(-5))
    before = queries()
    for number in range(8):
        lot = counter.receive(clear, "5", number=f"N{number}", on=today(-5))
        counter.issue(clear, "1", lot=lot, on=today(-2))
        move(key=uuid4(), by=counter.by, on=today(), lot=lot, quantity=D(4), to_location=place)
    assert queries() == before == 3


def test_rounded_rows_and_their_rounding_give_the_rounded_total() -> None:
    values = [D("0.335"), D("0.335"), D("1.004")]
    assert rounding(values, places=2) == D("-0.01")  # 0.34 + 0.34 + 1.00 are 1.68; 1.674 is 1.67
    assert rounding([D("0.5")], places=0) == 0
