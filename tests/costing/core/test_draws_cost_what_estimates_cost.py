"""Every draw of the risk costs what an estimate with those very figures costs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from costing.core.estimate import estimate
from costing.core.risk import Input, Uncertain, draw, inputs_of, risk_of
from costing.core.risk_costs import Factors, costs_of
from costing.core.system import Driver, Operation, SupplyLine, System
from costing.core.takeoff import GivenArea, Panel, Row, Takeoff, Zone
from tests.costing.core.workshop import COAT, GUN, HIDDEN, RATES, SHELF, SPRAY, SYSTEM, reckon, spray

WIDE = dict.fromkeys(Uncertain, 0.4)
TAKEOFF = Takeoff(
    rows=(
        Row(shape=Panel(length=715, width=397, thickness=19, profile_factor=1.05), pieces=24),
        Row(shape=Panel(length=2100, width=63, thickness=19), pieces=9, geometry_factor=0.7),
        Row(shape=GivenArea(area=7.5), pieces=6, zone=Zone.HIDDEN),
    )
)
FILTERS = SupplyLine(material="filter", amount=0.7, driver=Driver.OVERSPRAY_KG)
HOURLY = SupplyLine(material="wash", amount=0.05, driver=Driver.LABOUR_HOUR)
RICH = System(
    name="Rich",
    operations=(
        *SYSTEM.operations,
        replace(
            SPRAY, name="Second", coat=replace(COAT, thinner="thinner", thinning=12, pot_life=20), supply_lines=(FILTERS, HOURLY)
        ),
        spray(replace(COAT, setup=replace(GUN, name="Other gun", transfer_efficiency=0.9)), name="Backs", zones=HIDDEN),
    ),
)
RECKONED = reckon(RICH, TAKEOFF)


def one_draw(factors: dict[tuple[Uncertain, str], float]) -> float:
    """The estimate with its figures multiplied one by one."""

    def of(kind: Uncertain, key: str) -> float:
        return factors.get((kind, key), 1.0)

    area = of(Uncertain.AREA, "")
    rows = tuple(replace(row, shape=GivenArea(area=row.area * area)) for row in TAKEOFF.rows)
    shelf = {
        key: replace(facts, price=facts.price * type(facts.price)(repr(of(Uncertain.PRICE, key)))) for key, facts in SHELF.items()
    }
    operations = tuple(changed(operation, position, of) for position, operation in enumerate(RICH.operations))
    system = replace(RICH, operations=operations)
    return float(estimate(takeoff=Takeoff(rows=rows), system=system, materials=shelf, rates=RATES).true_cost)


def changed(operation: Operation, position: int, of) -> Operation:
    pace = of(Uncertain.WORK, operation.labour_class)
    lines = tuple(replace(line, minutes=line.minutes * pace) for line in operation.time_lines)
    coat = operation.coat
    if coat is not None:
        setup = coat.setup
        setup = replace(
            setup,
            transfer_efficiency=min(1.0, setup.transfer_efficiency * of(Uncertain.EFFICIENCY, setup.name)),
            spray_rate=setup.spray_rate / pace,
        )
        coat = replace(
            coat,
            setup=setup,
            wet_film=coat.wet_film * of(Uncertain.FILM, str(position)),
            minutes_per_fill=coat.minutes_per_fill * pace,
            minutes_per_batch=coat.minutes_per_batch * pace,
        )
    return replace(operation, time_lines=lines, coat=coat)


def test_without_a_spread_every_draw_is_the_estimate():
    costs = costs_of(RECKONED, Factors(), draws=3)
    assert costs == pytest.approx([float(RECKONED.true_cost)] * 3, rel=1e-12)


def test_every_draw_is_the_estimate_of_its_own_figures():
    inputs = inputs_of(RECKONED, WIDE)
    drawn = draw(inputs, draws=40, seed=7)
    costs = risk_of(RECKONED, inputs, draws=40, seed=7).costs
    for number in range(40):
        factors = {(one.kind, one.key): float(values[number]) for one, values in zip(inputs, drawn, strict=True)}
        assert costs[number] == pytest.approx(one_draw(factors), rel=1e-9), number
    # The draws reach different numbers of fills and batches, and an efficiency that stops at 1.
    other = next(values for one, values in zip(inputs, drawn, strict=True) if one.key == "Other gun")
    assert other.max() > 1 / 0.9


def test_every_kind_of_input_is_drawn_for_each_of_its_own():
    found = {(one.kind.value, one.key) for one in inputs_of(RECKONED, WIDE)}
    assert found == {
        ("area", ""),
        ("efficiency", "Gun"),
        ("efficiency", "Other gun"),
        ("film", "1"),
        ("film", "2"),
        ("film", "3"),
        ("work", "helper"),
        ("work", "sprayer"),
        *(("price", key) for key in ("base", "hardener", "thinner", "wash", "disc", "liner", "filter")),
    }


def test_a_spread_of_0_leaves_its_kind_out():
    assert {one.kind for one in inputs_of(RECKONED, {Uncertain.AREA: 0.1})} == {Uncertain.AREA}


def test_one_seed_gives_one_answer_and_one_more_input_changes_no_other():
    inputs = inputs_of(RECKONED, WIDE)
    assert (risk_of(RECKONED, inputs, seed=3).costs == risk_of(RECKONED, inputs, seed=3).costs).all()
    assert not (risk_of(RECKONED, inputs, seed=3).costs == risk_of(RECKONED, inputs, seed=4).costs).all()
    few, more = draw(inputs[:2], seed=3), draw(inputs[:3], seed=3)
    assert all((one == other).all() for one, other in zip(few, more, strict=False))


@pytest.mark.parametrize("spread", [-0.1, 1.1, float("nan")])
def test_a_spread_is_a_share_up_to_one(spread):
    with pytest.raises(ValueError, match="Spread"):
        Input(kind=Uncertain.AREA, key="", words="area", spread=spread)


def test_a_job_without_any_spread_has_no_influences():
    risk = risk_of(RECKONED, ())
    assert risk.influences == ()
    assert risk.p10 == risk.p50 == risk.p90 == pytest.approx(float(RECKONED.true_cost))
    assert risk.chance_of_loss(risk.p50 + 1) == 0
    assert risk.chance_of_loss(risk.p50 - 1) == 1


def test_the_chances_are_shares_of_the_draws():
    risk = risk_of(RECKONED, draws=2000)
    assert risk.chance_of_loss(risk.p90) == pytest.approx(0.1, abs=0.001)
    assert risk.chance_up_to(risk.p10) == pytest.approx(0.1, abs=0.001)
    assert np.isfinite(risk.costs).all()
    assert risk.p10 < risk.p50 < risk.p90
