"""A comparison answers what estimates of every size answer, and finds where one system overtakes another."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing.core.compare import Candidate, compare, price_of, round_sizes, sized, spread
from costing.core.errors import CostingError
from costing.core.facts import LabourClass, Rates
from costing.core.system import Driver, Operation, OperationKind, System, TimeLine
from costing.core.takeoff import GivenArea, Row, Takeoff, Zone
from tests.costing.core.workshop import EXAMPLE_DOORS, RATES, SHELF, SYSTEM, TEN_SQUARE_METRES

D = Decimal
HOURLY = Rates(labour={"hand": LabourClass(key="hand", name="Hand", wage=D(60))})  # a minute costs 1
CLEAR = Candidate(key="clear", system=SYSTEM, materials=SHELF, rates=RATES, packs={"base": D(5), "hardener": D(1)})


def by_hand(key: str, *, fixed: float, per_m2: float) -> Candidate:
    """A system of nothing but labour: so much for the job, so much for each m²."""
    lines = (TimeLine(minutes=fixed), TimeLine(minutes=per_m2, driver=Driver.M2))
    work = Operation(name="Work", kind=OperationKind.OTHER, labour_class="hand", time_lines=lines)
    return Candidate(key=key, system=System(name=key, operations=(work,)), materials={}, rates=HOURLY, packs={})


DEAR_START = by_hand("dear start", fixed=100, per_m2=1)
CHEAP_START = by_hand("cheap start", fixed=0, per_m2=10)
MIDDLE = by_hand("middle", fixed=30, per_m2=4)
SIZES = spread(1, 100, 30)


def test_a_point_costs_what_the_estimate_of_the_same_job_costs():
    found = compare([CLEAR], pattern=TEN_SQUARE_METRES, sizes=[10, 25], hours_a_day=D(8)).at(10)["clear"]
    same = price_of(CLEAR, TEN_SQUARE_METRES)
    assert found.cost == same.true_cost == D("190.41")
    assert found.groups == same.groups
    assert found.labour_minutes == same.labour_minutes
    assert found.voc_per_m2 == pytest.approx(100 * same.voc_kg)


def test_another_size_is_priced_like_a_takeoff_of_that_size():
    job = Takeoff(rows=(Row(shape=GivenArea(area=25), pieces=25),))
    point = compare([CLEAR], pattern=TEN_SQUARE_METRES, sizes=[10, 25], hours_a_day=D(8)).at(25)["clear"]
    assert point.cost == price_of(CLEAR, job).true_cost


def test_litres_are_bought_in_whole_packs():
    point = compare([CLEAR], pattern=TEN_SQUARE_METRES, sizes=[10, 20], hours_a_day=D(8)).at(10)["clear"]
    # 2.08 L of base at a yield of 0.8 are 2.6 L: one pack of 5. 0.52 L of hardener: one pack of 1.
    assert point.drawn_litres == pytest.approx(3.12)
    assert point.bought_litres == pytest.approx(6)
    # 1 L of it is on the work.
    assert point.waste_share == pytest.approx(1 - 1 / 3.12)


def test_one_overtakes_the_other_where_their_lines_cross():
    # 100 + a = 10 a at a = 100/9.
    found = compare([DEAR_START, CHEAP_START], pattern=TEN_SQUARE_METRES, sizes=SIZES, hours_a_day=D(8)).overtakings
    assert [(one.ahead.key, one.behind.key) for one in found] == [("dear start", "cheap start")]
    assert found[0].area == pytest.approx(100 / 9, rel=0.006)
    assert found[0].area >= 100 / 9


def test_the_lead_goes_from_one_to_the_next():
    # 30 + 4 a = 10 a at 5; 100 + a = 30 + 4 a at 70/3.
    candidates = [DEAR_START, CHEAP_START, MIDDLE]
    leads = compare(candidates, pattern=TEN_SQUARE_METRES, sizes=SIZES, hours_a_day=D(8)).leads()
    assert [lead.candidate.key for lead in leads] == ["cheap start", "middle", "dear start"]
    assert [lead.area for lead in leads] == pytest.approx([1, 5, 70 / 3], rel=0.006)


def test_systems_of_one_cost_do_not_overtake_each_other():
    twin = replace(MIDDLE, key="twin")
    found = compare([MIDDLE, twin], pattern=TEN_SQUARE_METRES, sizes=SIZES, hours_a_day=D(8))
    assert found.overtakings == ()
    assert len(found.leads()) == 1


def test_the_cheapest_stands_first():
    found = compare([DEAR_START, CHEAP_START, MIDDLE], pattern=TEN_SQUARE_METRES, sizes=[2, 10], hours_a_day=D(8))
    assert [one.key for one, _ in found.ranked(10)] == ["middle", "cheap start", "dear start"]


def test_a_job_of_another_size_keeps_zones_and_shapes():
    pattern = Takeoff(
        rows=(
            Row(shape=GivenArea(area=6), pieces=12),
            Row(shape=GivenArea(area=2), pieces=8, geometry_factor=0.5),
            Row(shape=GivenArea(area=4), pieces=4, zone=Zone.HIDDEN),
        )
    )
    job = sized(pattern, 30)
    visible, hidden = job.total(frozenset({Zone.SHOW})), job.total(frozenset({Zone.HIDDEN}))
    assert (visible.area, visible.pieces) == (pytest.approx(20), 50)
    assert visible.sprayed_area == pytest.approx(25)  # (6 + 2/0.5) × 2.5
    assert (hidden.area, hidden.pieces) == (pytest.approx(10), 10)


def test_even_the_smallest_job_has_a_piece():
    assert sized(EXAMPLE_DOORS, 0.01).pieces == 1


@pytest.mark.parametrize("area", [0, -1, 10_001, float("nan")])
def test_a_size_that_is_no_job_is_refused(area):
    with pytest.raises(CostingError):
        sized(EXAMPLE_DOORS, area)


def test_a_pattern_without_area_is_refused():
    with pytest.raises(CostingError, match="has no area"):
        sized(Takeoff(), 10)


def test_sizes_go_from_end_to_end():
    sizes = spread(3, 48, 5)
    assert sizes == pytest.approx((3, 6, 12, 24, 48))
    assert round_sizes(3, 48) == (3, 5, 10, 20, 48)
    with pytest.raises(CostingError, match="is not above the smallest"):
        spread(5, 5, 3)
