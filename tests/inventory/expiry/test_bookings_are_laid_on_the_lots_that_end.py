"""``outlooks``: which bookings can use up a lot before its last day, what usual use takes, and what is likely left over."""

from __future__ import annotations

from collections import defaultdict
from datetime import date, timedelta
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from inventory.core.expiry_board import BookedNeed, Outlook, horizon, outlooks
from inventory.core.lots import LotView
from inventory.core.projection import Need, StockLot, project
from tests.strategies import quantities

D = Decimal
TODAY = date(2030, 1, 3)  # a Thursday
NOTHING = D(0)


def ends(days: int | None, on_hand: str | Decimal = "10", *, lot: int = 1, quarantined: bool = False) -> LotView:
    """A lot with its last day so many days from today."""
    last = None if days is None else TODAY + timedelta(days=days)
    return LotView(lot_id=lot, on_hand=D(on_hand), received_on=date(2029, 1, 1), expires_on=last, quarantined=quarantined)


def need(days: int, quantity: str | Decimal, *, key: int = 1) -> BookedNeed:
    return BookedNeed(key=key, quantity=D(quantity), on=TODAY + timedelta(days=days))


def look(lots: list[LotView], needs: list[BookedNeed], *, weekly: str = "0", weeks: int = 12) -> list[Outlook]:
    return list(outlooks(lots, needs, weekly=D(weekly), today=TODAY, weeks=weeks))


def used(outlook: Outlook) -> list[tuple[int, Decimal, int]]:
    return [(use.need, use.quantity, (use.on - TODAY).days) for use in outlook.uses]


def test_a_booking_takes_from_the_lot_that_ends_first_and_then_from_the_next() -> None:
    first, second = look([ends(20, "4", lot=7), ends(30, "6", lot=8)], [need(5, "5")])
    assert (first.lot_id, used(first), first.unused) == (7, [(1, D(4), 5)], 0)
    assert (second.lot_id, used(second), second.unused) == (8, [(1, D(1), 5)], 5)


def test_no_booking_is_served_twice() -> None:
    lots = look([ends(20, "10", lot=7), ends(30, "10", lot=8)], [need(5, "12"), need(6, "3", key=2)])
    assert used(lots[0]) == [(1, D(10), 5)]
    assert used(lots[1]) == [(1, D(2), 5), (2, D(3), 6)]


def test_a_lot_serves_on_its_last_day_and_not_after() -> None:
    (lot,) = look([ends(10)], [need(10, "2"), need(11, "3", key=2)])
    assert used(lot) == [(1, D(2), 10)]
    assert lot.unused == 8


def test_an_overdue_booking_is_served_today_and_earlier_days_first() -> None:
    (lot,) = look([ends(10, "5")], [need(4, "9", key=1), need(-8, "2", key=2)])
    assert used(lot) == [(2, D(2), 0), (1, D(3), 4)]


def test_a_lot_that_is_out_of_date_or_set_aside_serves_nobody() -> None:
    over, apart, good = look([ends(-1, lot=1), ends(5, lot=2, quarantined=True), ends(9, lot=3)], [need(1, "4")])
    assert (used(over), over.unused, over.is_overdue(TODAY)) == ([], 10, True)
    assert (used(apart), apart.unused, apart.is_overdue(TODAY)) == ([], 10, False)
    assert used(good) == [(1, D(4), 1)]


def test_lots_without_an_end_or_beyond_the_board_are_left_out_and_take_no_booking() -> None:
    shown = look([ends(None, lot=1), ends(11, lot=2), ends(10, "3", lot=3)], [need(1, "8")], weeks=2)
    assert horizon(TODAY, 2) == TODAY + timedelta(days=10)
    assert [(lot.lot_id, used(lot)) for lot in shown] == [(3, [(1, D(3), 1)])]


def test_usual_use_takes_what_the_bookings_of_its_week_leave() -> None:
    """7 a week are 1 a day; a booking of 3 leaves 4 for the other use of the week."""
    (lot,) = look([ends(6, "20")], [need(2, "3")], weekly="7")
    assert (lot.booked, lot.usual, lot.unused) == (3, 4, 13)


def test_a_week_booked_beyond_usual_use_adds_nothing() -> None:
    (lot,) = look([ends(13, "30")], [need(2, "9")], weekly="7")
    assert (lot.booked, lot.usual, lot.unused) == (9, 7, 14)


@pytest.mark.parametrize("weekly", ["-1", "NaN", "Infinity"])
def test_a_use_that_cannot_be_is_refused(weekly: str) -> None:
    with pytest.raises(ValueError, match="usual use"):
        look([ends(5)], [], weekly=weekly)


@pytest.mark.parametrize("quantity", ["-1", "NaN"])
def test_a_booking_that_cannot_be_is_refused(quantity: str) -> None:
    with pytest.raises(ValueError, match="booking"):
        need(1, quantity)


# ---------------------------------------------------------------- whatever comes

LOTS = st.lists(
    st.tuples(st.integers(-10, 100), quantities(most=20_000_000), st.integers(0, 5).map(lambda n: n == 0)), max_size=6
).map(lambda rows: [ends(days, on_hand, lot=place, quarantined=apart) for place, (days, on_hand, apart) in enumerate(rows)])
NEEDS = st.lists(st.tuples(st.integers(-5, 110), quantities(most=15_000_000)), max_size=6).map(
    lambda rows: [need(days, quantity, key=place) for place, (days, quantity) in enumerate(rows)]
)


@settings(deadline=None)
@given(lots=LOTS, needs=NEEDS, weekly=st.integers(0, 9))
def test_what_is_used_and_left_is_what_there_is(lots: list[LotView], needs: list[BookedNeed], weekly: int) -> None:
    shown = look(lots, needs, weekly=str(weekly))
    served: dict[int, Decimal] = defaultdict(Decimal)
    by_key = {one.key: one for one in needs}
    for lot in shown:
        assert min(lot.usual, lot.unused, lot.on_hand) >= 0
        assert abs(lot.booked + lot.usual + lot.unused - lot.on_hand) <= D("0.000001")
        for use in lot.uses:
            served[use.need] += use.quantity
            assert use.quantity > 0
            assert max(by_key[use.need].on, TODAY) == use.on <= lot.last_day
    assert all(quantity <= by_key[key].quantity for key, quantity in served.items())


@settings(max_examples=40, deadline=None)
@given(lots=LOTS, needs=NEEDS)
def test_no_other_way_would_use_up_more(lots: list[LotView], needs: list[BookedNeed]) -> None:
    """Second opinion: scipy's linear programming (HiGHS), which may serve any booking from any lot that is good on its day."""
    shown = look(lots, needs)
    fit = {lot.lot_id: lot for lot in lots if lot.expires_on and not lot.quarantined and lot.expires_on <= horizon(TODAY)}
    pairs = [(pk, one) for pk, lot in fit.items() for one in needs if lot.usable(max(one.on, TODAY))]
    best = 0.0
    if pairs:
        rows = [[float(pk == lot) for lot, _ in pairs] for pk in fit] + [[float(one is n) for _, n in pairs] for one in needs]
        most = [float(lot.on_hand) for lot in fit.values()] + [float(one.quantity) for one in needs]
        best = -linprog(-np.ones(len(pairs)), A_ub=np.array(rows), b_ub=np.array(most), method="highs").fun
    assert float(sum((lot.booked for lot in shown), NOTHING)) == pytest.approx(best, abs=1e-5)


@settings(max_examples=40, deadline=None)
@given(lots=LOTS, needs=NEEDS, weekly=st.integers(0, 9))
def test_the_projection_of_the_reorder_list_expects_the_same_to_expire(
    lots: list[LotView], needs: list[BookedNeed], weekly: int
) -> None:
    shown = look(lots, needs, weekly=str(weekly))
    good = [StockLot(on_hand=lot.on_hand, usable_until=lot.usable_until, key=lot.lot_id) for lot in lots if lot.usable(TODAY)]
    path = project(
        good,
        [Need(quantity=one.quantity, on=one.on) for one in needs],
        weekly=float(weekly),
        today=TODAY,
        days=(horizon(TODAY) - TODAY).days + 2,
    )
    there = {one.lot: float(one.quantity) for one in path.unused}
    here = {lot.lot_id: float(lot.unused) for lot in shown if lot.lot_id in {one.key for one in good}}
    assert {pk: here[pk] for pk in here if here[pk] > 1e-5} == pytest.approx(
        {pk: there[pk] for pk in there if there[pk] > 1e-5}, abs=1e-5
    )
