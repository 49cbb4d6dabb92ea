"""What is ordered, when, and why: scenarios worked by hand."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.packs import PackOffer
from inventory.core.reorder import Advice, Demand, Need, Policy, StockLot, Supply, advise, daily_demand, project

D = Decimal
TODAY = date(2030, 3, 4)
CANS = (PackOffer(key=1, supplier=1, content=D(5), price=D(225)),)


def day(offset: int) -> date:
    return TODAY + timedelta(days=offset)


def reckon(
    *lots: StockLot,
    needs: tuple[Need, ...] = (),
    weekly: float = 2.0,
    deviation: float = 0.0,
    lead: float = 7.0,
    shelf: int | None = None,
    packs: tuple[PackOffer, ...] = CANS,
    charge: str = "0",
) -> Advice:
    return advise(
        lots=lots,
        needs=needs,
        demand=Demand(mean=weekly, deviation=deviation),
        supply=Supply(lead_days=lead, lead_deviation=0, delivery_charge=D(charge)),
        policy=Policy(service_level=0.95, review_days=7),
        packs=packs,
        usual_price=D(45),
        shelf_days=shelf,
        today=TODAY,
    )


def test_enough_stock_is_left_alone() -> None:
    advice = reckon(StockLot(on_hand=D(30)))
    assert not advice.must_order
    assert advice.choice is None
    assert advice.point.quantity == 4  # 2 a week over 2 weeks of protection, no spread


def test_below_the_reorder_point_whole_packs_are_bought() -> None:
    advice = reckon(StockLot(on_hand=D(3)))
    assert advice.must_order
    assert advice.order_up_to == 6  # 4 + a week's demand
    assert advice.wanted == 3
    assert advice.choice is not None
    assert [(line.pack.key, line.count) for line in advice.choice.lines] == [(1, 1)]


def test_it_runs_short_on_the_day_the_stock_is_gone_and_is_ordered_a_lead_time_before() -> None:
    advice = reckon(StockLot(on_hand=D(6)), lead=7)
    assert advice.short_on == day(21)  # 6 L at 2 a week: the 22nd day asks for more
    assert advice.order_by == day(14)


def test_a_booking_takes_stock_away_from_what_is_available() -> None:
    advice = reckon(StockLot(on_hand=D(10)), needs=(Need(quantity=D(8), on=day(3)),))
    assert (advice.booked, advice.available) == (8, 2)
    assert advice.must_order


def test_a_booking_after_the_protection_time_does_not_count_yet() -> None:
    advice = reckon(StockLot(on_hand=D(10)), needs=(Need(quantity=D(2), on=day(15)),))
    assert advice.booked == 0


def test_an_overdue_booking_counts_today() -> None:
    advice = reckon(StockLot(on_hand=D(1)), needs=(Need(quantity=D(2), on=day(-9)),))
    assert advice.short_on == TODAY


def test_bookings_consume_the_forecast_and_do_not_add_to_it() -> None:
    assert sum(daily_demand([Need(quantity=D(1), on=day(2))], weekly=2, today=TODAY, days=7)) == pytest.approx(2)
    assert sum(daily_demand([Need(quantity=D(5), on=day(2))], weekly=2, today=TODAY, days=7)) == pytest.approx(5)


def test_a_lot_that_expires_before_it_is_used_is_not_counted_on() -> None:
    fresh_for_a_week = StockLot(on_hand=D(10), usable_until=day(6))
    advice = reckon(fresh_for_a_week)
    assert advice.usable == 10
    assert advice.expires_unused == 8  # seven days at 2 a week use 2 L
    assert advice.available == 2
    assert advice.must_order


def test_an_expired_lot_is_not_usable() -> None:
    assert reckon(StockLot(on_hand=D(10), usable_until=day(-1))).usable == 0
    assert reckon(StockLot(on_hand=D(10), usable_until=TODAY)).usable == 10


def test_no_more_is_bought_than_can_be_used_while_fresh() -> None:
    advice = reckon(lead=28, shelf=35, charge="50")
    assert advice.cap == pytest.approx(2 * 5 * 0.8)
    assert advice.wanted == 8
    assert advice.above_cap  # two cans of 5 L hold 10 L
    assert advice.choice is not None
    assert advice.choice.quantity == 10


def test_a_delivery_charge_makes_orders_larger() -> None:
    assert reckon(charge="40").economic == pytest.approx((2 * 40 * 2 * 365 / 7 / (0.2 * 45)) ** 0.5)
    assert reckon(charge="40").order_up_to > reckon().order_up_to


def test_a_material_that_nobody_sells_is_still_reported() -> None:
    advice = reckon(packs=())
    assert advice.must_order
    assert advice.choice is None


def test_no_demand_and_no_booking_orders_nothing() -> None:
    advice = reckon(weekly=0)
    assert not advice.must_order
    assert advice.short_on is None


@pytest.mark.parametrize("value", [-1.0, float("nan"), float("inf")])
def test_nonsense_demand_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match="numbers of 0 or more"):
        Demand(mean=value, deviation=0)


def test_a_negative_lead_time_is_refused() -> None:
    with pytest.raises(ValueError, match="lead time"):
        Supply(lead_days=-1, lead_deviation=0)


lots = st.lists(
    st.builds(
        StockLot,
        on_hand=st.integers(1, 20).map(D),
        usable_until=st.one_of(st.none(), st.integers(-3, 40).map(day)),
    ),
    max_size=5,
)
needs = st.lists(st.builds(Need, quantity=st.integers(1, 9).map(D), on=st.integers(-5, 40).map(day)), max_size=4)


@given(lots, needs, st.integers(0, 14))
def test_projection_agrees_with_taking_tenths_one_by_one(lots: list[StockLot], needs: list[Need], weekly: int) -> None:
    """Another way to the same answer: the lots as a pile of crumbs, the oldest taken first."""
    seen = project(lots, needs, weekly=weekly, today=TODAY, days=30, protect_days=29)
    crumbs = sorted((lot.usable_until or date.max for lot in lots for _ in range(int(lot.on_hand) * 7)), reverse=True)
    crumbs = [until for until in crumbs if until >= TODAY]
    unused, short = 0, None
    for offset, demand in enumerate(daily_demand(needs, weekly=weekly, today=TODAY, days=30)):
        wanted = round(demand * 7)
        while crumbs and crumbs[-1] < day(offset):
            crumbs.pop()
            unused += 1
        for _ in range(wanted):
            if crumbs:
                crumbs.pop()
            elif short is None:
                short = day(offset)
    assert seen.short_on == short
    assert float(seen.expires_unused) == pytest.approx(unused / 7, abs=1e-6)


@given(lots, needs, st.integers(1, 14))
def test_what_is_bought_lifts_the_stock_to_the_level_aimed_at(lots: list[StockLot], needs: list[Need], weekly: int) -> None:
    advice = reckon(*lots, needs=tuple(needs), weekly=weekly)
    if advice.choice is not None:
        assert float(advice.available + advice.choice.quantity) >= advice.order_up_to - 1e-5
