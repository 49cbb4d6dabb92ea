"""What is ordered, when, and why: scenarios worked by hand."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.draws import Draws
from inventory.core.facts import PackFacts, Policy, Supply
from inventory.core.packs import PriceBreak
from inventory.core.points import PointMethod
from inventory.core.projection import Need, StockLot
from tests.inventory.core.advising import CANS, TODAY, day, lot, need, reckon

D = Decimal


def test_enough_stock_is_left_alone() -> None:
    advice = reckon(lot(30))
    assert not advice.must_order
    assert advice.choice is None
    assert advice.point.quantity == 4  # 2 a week over 2 weeks of protection, no spread


def test_below_the_reorder_point_whole_packs_are_bought() -> None:
    advice = reckon(lot(3))
    assert advice.must_order
    assert advice.order_up_to == 4  # the protection time holds the days until the next look at the list
    assert advice.wanted == 1
    assert advice.choice is not None
    assert [(line.pack.key, line.count) for line in advice.choice.lines] == [(1, 1)]


def test_it_runs_short_on_the_day_the_stock_is_gone_and_is_ordered_a_lead_time_before() -> None:
    advice = reckon(lot(6), lead=7)
    assert advice.short_on == day(21)  # 6 L at 2 a week: the 22nd day asks for more
    assert advice.order_by == day(14)


def test_a_booking_takes_stock_away_from_what_is_available() -> None:
    advice = reckon(lot(10), needs=(need(8, 3),))
    assert (advice.booked, advice.available) == (8, 2)
    assert advice.must_order


def test_a_booking_after_the_protection_time_does_not_count_yet() -> None:
    assert reckon(lot(10), needs=(need(2, 15),)).booked == 0


def test_an_overdue_booking_counts_today() -> None:
    assert reckon(lot(1), needs=(need(2, -9),)).short_on == TODAY


def test_a_lot_that_expires_before_it_is_used_is_not_counted_on() -> None:
    advice = reckon(lot(10, until=6))
    assert advice.usable == 10
    assert advice.expires_unused == 8  # seven days at 2 a week use 2 L
    assert advice.available == 2
    assert advice.must_order


def test_an_expired_lot_is_not_usable() -> None:
    assert reckon(lot(10, until=-1)).usable == 0
    assert reckon(lot(10, until=0)).usable == 10


def test_beyond_the_reorder_point_no_more_is_bought_than_can_be_used_while_fresh() -> None:
    advice = reckon(lot(6), lead=7, shelf=70, charges={1: D(400)})  # the economic quantity alone is 96
    assert advice.cap == pytest.approx(2 * 10 * 0.8 - 6)
    assert not advice.must_order
    advice = reckon(lot(3), lead=7, shelf=70, charges={1: D(400)})
    assert advice.wanted == 13  # 16 fresh, less the 3
    assert not advice.beyond_fresh
    assert advice.above_cap  # three cans of 5 L hold 15 L
    assert advice.choice is not None
    assert advice.choice.quantity == 15


def test_up_to_the_reorder_point_not_running_short_goes_before_freshness() -> None:
    advice = reckon(lot(3), lead=28, shelf=42, deviation=2)
    assert advice.cap == pytest.approx(2 * 6 * 0.8 - 3)
    assert float(advice.wanted) == pytest.approx(advice.point.quantity - 3, abs=1e-6)
    assert advice.beyond_fresh


def test_stock_for_days_after_its_shelf_life_helps_nobody() -> None:
    advice = reckon(lead=28, shelf=7)  # the reorder point of 10 covers 35 days; 7 of them can be covered
    assert advice.wanted == 2


def test_the_suppliers_usual_age_shortens_the_shelf_life() -> None:
    assert reckon(lead=28, shelf=35, age=14).cap == pytest.approx(2 * 3 * 0.8)


def test_a_booking_lifts_the_cap_since_it_is_sure_to_be_used() -> None:
    assert reckon(shelf=28, needs=(need(40, 5),)).cap == pytest.approx(40)


def test_stock_that_spoils_anyway_does_not_keep_fresh_stock_out() -> None:
    advice = reckon(lot(50, until=6), shelf=70)
    assert advice.cap == pytest.approx(2 * 10 * 0.8 - 2)  # 48 of the 50 go out of date within the protection time
    assert advice.must_order


def test_where_no_more_can_be_used_while_fresh_it_says_so() -> None:
    advice = reckon(lot(7), lead=60, shelf=21, weekly=2)  # point: 2 × 67/7 = 19, of which 21 days can be covered: 6
    assert (advice.must_order, advice.held_by_cap) == (False, True)
    assert not reckon(lot(30), shelf=21).held_by_cap


def test_a_delivery_charge_makes_orders_larger() -> None:
    assert reckon(charges={1: D(40)}).economic == pytest.approx((2 * 40 * 2 * 365 / 7 / (0.2 * 45)) ** 0.5)
    assert reckon(charges={1: D(40)}).order_up_to > reckon().order_up_to


def test_a_price_break_is_taken_where_more_costs_less() -> None:
    cans = PackFacts(key=1, supplier=1, content=D(5), price=D(225), breaks=(PriceBreak(packs=3, price=D(140)),))
    choice = reckon(packs=(cans,), weekly=3).choice  # 6 L: two cans at 225 cost 450, three at 140 cost 420
    assert choice is not None
    assert [(line.count, line.cost) for line in choice.lines] == [(3, 420)]


def test_a_delivery_charge_can_make_the_dearer_packs_the_cheaper_purchase() -> None:
    here, far = PackFacts(key=1, supplier=1, content=D(5), price=D(225)), PackFacts(key=2, supplier=2, content=D(5), price=D(200))
    advice = reckon(packs=(here, far), charges={1: D(0), 2: D(90)})
    assert [choice.supplier for choice in advice.choices] == [1, 2]
    assert [choice.delivery for choice in advice.choices] == [0, 90]


def test_a_material_that_nobody_sells_is_still_reported() -> None:
    advice = reckon(packs=())
    assert advice.must_order
    assert advice.choice is None


def test_no_demand_and_no_booking_orders_nothing() -> None:
    advice = reckon(weekly=0)
    assert not advice.must_order
    assert advice.short_on is None


def test_what_is_only_ever_booked_is_bought_for_its_bookings() -> None:
    advice = reckon(weekly=None, needs=(need(12, 10),), shelf=365)
    assert advice.wanted == 12
    assert advice.choice is not None
    assert advice.choice.quantity == 15
    assert not advice.knows_nothing


def test_a_protection_time_beyond_the_horizon_is_projected_whole() -> None:
    advice = reckon(lot(5), lead=150)
    assert len(advice.projection.path) == 158
    assert len(reckon(lot(5)).projection.path) == 90


def test_the_log_is_drawn_from_where_it_is_thick_enough() -> None:
    draws = Draws(seed=1)
    weeks = (1.0, 0.0, 4.0, 2.0, 0.0, 3.0, 1.0, 2.0)
    drawn = reckon(weeks=weeks, draws=draws)
    assert (drawn.point.method, drawn.point.draws) == (PointMethod.DRAWN, 2_000)
    assert 0 < drawn.point.quantity <= 8  # two weeks of at most 4
    assert reckon(weeks=weeks, draws=draws, target=0.999).point.quantity == 8
    assert reckon(weeks=weeks, draws=draws, target=0.5).point.quantity < drawn.point.quantity
    assert reckon(weeks=weeks, draws=draws) == drawn
    thin = reckon(weeks=(0.0, 3.0, 0.0), draws=draws)
    assert thin.point.method is PointMethod.NORMAL
    assert thin.demand.rate == 1  # the mean: few weeks with use are still a history


def test_observed_lead_times_count_from_three_on() -> None:
    assert Supply(lead_days=7, observed=(20, 20)).days == 7
    assert Supply(lead_days=7, observed=(20, 22, 24)).days == 22
    assert Supply(lead_days=7, observed=(20, 22, 24)).deviation == 2
    assert reckon(observed=(20, 22, 24)).point.protection_days == 29


def test_stated_lead_times_are_drawn_with_their_mean_and_spread() -> None:
    days = Supply(lead_days=10, lead_deviation=2).drawn_days
    assert sum(days) / 3 == pytest.approx(10)
    assert sum((one - 10) ** 2 for one in days) / 3 == pytest.approx(4)


def test_nonsense_lead_times_and_policies_are_refused() -> None:
    with pytest.raises(ValueError, match="lead time"):
        Supply(lead_days=-1)
    with pytest.raises(ValueError, match="observed"):
        Supply(lead_days=1, observed=(-1,))
    with pytest.raises(ValueError, match="freshness"):
        Policy(freshness=0)


lots = st.lists(
    st.builds(StockLot, on_hand=st.integers(1, 20).map(D), usable_until=st.one_of(st.none(), st.integers(-3, 40).map(day))),
    max_size=5,
)
needs = st.lists(st.builds(Need, quantity=st.integers(1, 9).map(D), on=st.integers(-5, 40).map(day)), max_size=4)


@given(lots, needs, st.integers(1, 14))
def test_what_is_bought_lifts_the_stock_to_the_level_aimed_at(lots: list[StockLot], needs: list[Need], weekly: int) -> None:
    advice = reckon(*lots, needs=tuple(needs), weekly=weekly)
    if advice.choice is not None:
        assert float(advice.available + advice.choice.quantity) >= advice.order_up_to - 1e-5
    else:
        assert float(advice.available) >= advice.point.quantity - 1e-5


def test_the_packs_considered_stand_beside_the_choice() -> None:
    pail = PackFacts(key=2, supplier=1, content=D(20), price=D(760))
    advice = reckon(packs=(*CANS, pail), weekly=6)
    assert {choice.lines[0].pack.key for choice in advice.considered} == {1, 2}
    assert advice.choice is not None
    assert advice.choice.total == min(choice.total for choice in advice.considered)
