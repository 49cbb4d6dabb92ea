"""The path of usable stock, followed another way: stock as a pile of crumbs, each with its own days, taken one by one."""

from __future__ import annotations

from collections import Counter
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.core.projection import Arrival, Need, StockLot, daily_demand, project
from tests.inventory.core.advising import TODAY, day, need

D = Decimal
DAYS = 30
SEVENTH = 7  # a unit is seven crumbs, so that a weekly rate in whole units takes whole crumbs a day
ends = st.one_of(st.none(), st.integers(-3, 40).map(day))
lots = st.lists(st.builds(StockLot, on_hand=st.integers(0, 9).map(D), usable_until=ends, key=st.integers(0, 10**6)), max_size=4)
arrivals = st.lists(
    st.builds(
        Arrival,
        quantity=st.integers(1, 9).map(D),
        on=st.integers(-3, 35).map(day),
        usable_until=ends,
        key=st.integers(10**6, 10**7),
    ),
    max_size=3,
)
needs = st.lists(st.builds(Need, quantity=st.integers(1, 9).map(D), on=st.integers(-5, 40).map(day)), max_size=4)


@settings(max_examples=150, deadline=None)
@given(lots, arrivals, needs, st.integers(0, 14))
def test_day_by_day(lots: list[StockLot], arrivals: list[Arrival], needs: list[Need], weekly: int) -> None:
    seen = project(lots, needs, weekly=weekly, today=TODAY, days=DAYS, arrivals=arrivals)
    crumbs = [(TODAY, lot.usable_until, lot.key) for lot in lots for _ in range(int(lot.on_hand) * SEVENTH)]
    crumbs += [(max(one.on, TODAY), one.usable_until, one.key) for one in arrivals for _ in range(int(one.quantity) * SEVENTH)]
    crumbs = [crumb for crumb in crumbs if crumb[1] is None or crumb[1] >= crumb[0]]
    wasted: Counter[tuple[int | None, date]] = Counter()
    owed, short = 0, None
    for offset in range(DAYS):
        today = day(offset)
        for crumb in [crumb for crumb in crumbs if crumb[1] is not None and crumb[1] < today]:
            crumbs.remove(crumb)
            wasted[crumb[2], crumb[1] or today] += 1
        owed += wanted_on(offset, needs, weekly)
        here = sorted((crumb for crumb in crumbs if crumb[0] <= today), key=lambda crumb: crumb[1] or date.max)
        for crumb in here[:owed]:
            crumbs.remove(crumb)
        left = max(len(here) - owed, 0)
        owed = max(owed - len(here), 0)
        short = today if owed and short is None else short
        assert seen.path[offset].usable == pytest.approx((left - owed) / SEVENTH)
    assert seen.short_on == short
    unused: Counter[tuple[int | None, date]] = Counter()
    for one in seen.unused:
        unused[one.lot, one.last_day] += round(float(one.quantity) * SEVENTH)
    assert +unused == +wasted


def wanted_on(offset: int, needs: list[Need], weekly: int) -> int:
    """Crumbs wanted on a day: bookings on their day, and a seventh of what the week's rate asks beyond them."""
    week = offset // 7
    booked = [need for need in needs if max((need.on - TODAY).days, 0) // 7 == week]
    today = sum(int(need.quantity) for need in booked if max((need.on - TODAY).days, 0) == offset)
    return today * SEVENTH + max(weekly - sum(int(need.quantity) for need in booked), 0)


def test_bookings_consume_the_forecast_and_do_not_add_to_it() -> None:
    assert sum(daily_demand([need(1, 2)], weekly=2, today=TODAY, days=7)) == pytest.approx(2)
    assert sum(daily_demand([need(5, 2)], weekly=2, today=TODAY, days=7)) == pytest.approx(5)


def test_each_day_says_what_came_and_what_went() -> None:
    lot = StockLot(on_hand=D(10), usable_until=day(2), key=7)
    seen = project([lot], [need(4, 1)], weekly=0, today=TODAY, days=5, arrivals=[Arrival(quantity=D(3), on=day(3))])
    told = [(one.usable, one.arrived, one.expired, one.booked) for one in seen.path]
    assert told == [(10, 0, 0, 0), (6, 0, 0, 4), (6, 0, 0, 0), (3, 3, 6, 0), (3, 0, 0, 0)]
    assert [(one.lot, one.quantity, one.last_day) for one in seen.unused] == [(7, 6, day(2))]
    assert seen.usable_on(day(3)) == 3
    assert seen.expires_unused(until=day(2)) == 0
    assert seen.expires_unused(until=day(3)) == 6


@pytest.mark.parametrize("days", [0, -1])
def test_a_projection_of_no_days_is_refused(days: int) -> None:
    with pytest.raises(ValueError, match="at least one day"):
        project([], [], weekly=1, today=TODAY, days=days)
