"""Laws of the costing model that hold whatever the job: drawn by hypothesis."""

from __future__ import annotations

from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from costing.core.checks import ceiling, to_decimal
from costing.core.coat import coat_volumes
from costing.core.estimate import estimate
from costing.core.explain import explain
from costing.core.pricing import PriceBasis, PriceTerms, price
from costing.core.shown import shown_lines
from costing.core.system import CostGroup, Driver, Operation, OperationKind, System, TimeLine
from costing.core.takeoff import Takeoff, ZoneTotal
from tests.costing.core import strategies as draw
from tests.costing.core.formulas import evaluate
from tests.costing.core.workshop import RATES, SHELF

few = settings(max_examples=60, deadline=None)
areas = draw.numbers(0.01, 500)


def total(area: float, geometry: float = 1.0) -> ZoneTotal:
    return ZoneTotal(area=area, sprayed_area=area / geometry, pieces=1)


@few
@given(draw.takeoffs, draw.systems, draw.shelves(), draw.rates)
def test_the_groups_add_up_to_the_true_cost(takeoff, system, shelf, rates):
    result = estimate(takeoff=takeoff, system=system, materials=shelf, rates=rates)
    assert list(result.groups) == list(CostGroup)
    assert all(amount >= 0 for amount in result.groups.values())
    assert sum(result.groups.values()) == result.true_cost
    above = sum(amount for group, amount in result.groups.items() if group not in {CostGroup.REWORK, CostGroup.OVERHEAD})
    assert result.groups[CostGroup.REWORK] == pytest.approx(above * rates.rework_allowance)
    assert result.groups[CostGroup.OVERHEAD] == pytest.approx(result.groups[CostGroup.LABOUR] * rates.overhead_rate)


@few
@given(draw.takeoffs, draw.systems, draw.shelves(), draw.rates)
def test_materials_split_without_rest_into_where_they_ended(takeoff, system, shelf, rates):
    result = estimate(takeoff=takeoff, system=system, materials=shelf, rates=rates)
    mixed = sum(operation.coat.mixed for operation in result.operations if operation.coat)
    drawn = sum(part.drawn for operation in result.operations if operation.coat for part in operation.coat.components)
    assert sum(use.mixed_litres for use in result.material_uses) == pytest.approx(mixed)
    assert sum(use.drawn_litres for use in result.material_uses) == pytest.approx(drawn)
    for use in result.material_uses:
        paid = use.film + use.overspray + use.residue + use.heel
        assert paid == pytest.approx(to_decimal(use.drawn_litres) * use.material.price)
        # What goes out of date is x of what is paid for and goes out of date together.
        assert use.expiry == pytest.approx((paid + use.expiry) * use.material.expiry_allowance)


@few
@given(draw.coats, areas, draw.numbers(0.2, 1), draw.shelves())
def test_what_is_mixed_is_on_the_work_in_the_air_or_left_over(coat, area, geometry, shelf):
    volumes = coat_volumes(coat, total(area, geometry), shelf)
    assert volumes.on_surface + volumes.overspray + volumes.residue == pytest.approx(volumes.mixed)
    assert volumes.on_surface <= volumes.sprayed * (1 + 1e-12)
    assert sum(part.mixed for part in volumes.components) == pytest.approx(volumes.mixed)
    assert sum(part.share for part in volumes.components) == pytest.approx(1)
    assert volumes.fills >= volumes.batches >= 1


@few
@given(draw.coats, areas, draw.shelves())
def test_the_fills_hold_what_is_sprayed_and_no_fill_is_too_many(coat, area, shelf):
    volumes = coat_volumes(coat, total(area), shelf)
    usable = coat.setup.cup_capacity - coat.setup.residue_per_fill
    each = volumes.sprayed / volumes.batches
    assert volumes.fills % volumes.batches == 0
    per_batch = volumes.fills // volumes.batches
    assert (per_batch - 1) * usable <= each * (1 + 1e-8)
    assert each <= per_batch * usable * (1 + 1e-8)


@few
@given(draw.coats, areas, st.integers(2, 20), draw.shelves())
def test_film_and_overspray_grow_with_the_area(coat, area, times, shelf):
    one, many = coat_volumes(coat, total(area), shelf), coat_volumes(coat, total(area * times), shelf)
    for figure in ("on_surface", "sprayed", "spray_minutes"):
        assert getattr(many, figure) == pytest.approx(getattr(one, figure) * times)
    assert many.overspray == pytest.approx(one.overspray * times, abs=1e-9)


@few
@given(draw.coats, areas, draw.numbers(0.05, 0.99), draw.shelves())
def test_a_better_transfer_efficiency_never_takes_more(coat, area, efficiency, shelf):
    better = replace(coat, setup=replace(coat.setup, transfer_efficiency=1.0))
    worse = replace(coat, setup=replace(coat.setup, transfer_efficiency=efficiency))
    least, most = coat_volumes(better, total(area), shelf), coat_volumes(worse, total(area), shelf)
    assert least.on_surface == most.on_surface
    assert least.sprayed < most.sprayed
    assert least.mixed < most.mixed
    assert least.fills <= most.fills


@few
@given(draw.coats, areas, draw.shelves(), draw.numbers(0, 100))
def test_thinning_leaves_the_dry_film_and_what_it_takes_of_the_base(coat, area, shelf, thinning):
    plain = coat_volumes(replace(coat, thinning=0), total(area), shelf)
    thinned = coat_volumes(replace(coat, thinning=thinning), total(area), shelf)
    for before, after in zip(plain.components, thinned.components, strict=False):
        assert after.share * thinned.on_surface == pytest.approx(before.share * plain.on_surface)


@few
@given(draw.systems, draw.shelves(), draw.rates)
def test_coats_without_area_cost_nothing(system, shelf, rates):
    coats = System(name="Coats", operations=system.coats)
    result = estimate(takeoff=Takeoff(), system=coats, materials=shelf, rates=rates)
    assert result.true_cost == 0
    assert result.needs == ()
    assert result.labour_minutes == result.elapsed_minutes == result.voc_kg == result.booth_minutes == 0


@few
@given(draw.takeoffs, draw.systems, draw.shelves(), draw.rates)
def test_lines_on_paper_are_the_groups_half_up_and_add_up(takeoff, system, shelf, rates):
    result = estimate(takeoff=takeoff, system=system, materials=shelf, rates=rates)
    shown = shown_lines(result)
    for line in shown.lines:
        assert line.amount == result.groups[line.group].quantize(Decimal("0.01"), rounding=ROUND_HALF_UP)
    assert shown.true_cost == sum(line.amount for line in shown.lines)
    assert abs(shown.true_cost - result.true_cost) <= Decimal("0.005") * len(CostGroup)


@settings(max_examples=25, deadline=None)
@given(draw.takeoffs, draw.systems, draw.shelves(), draw.rates)
def test_every_formula_gives_the_figure_it_explains(takeoff, system, shelf, rates):
    result = estimate(takeoff=takeoff, system=system, materials=shelf, rates=rates)
    for working in explain(result).values():
        assert evaluate(working) == pytest.approx(float(working.result.value), rel=1e-7, abs=1e-9), working.key


@few
@given(
    draw.money(100_000),
    draw.fractions("0.95"),
    st.sampled_from(PriceBasis),
    draw.money(500),
    st.sampled_from(("0", "0.01", "0.05", "1", "5", "25")),
    draw.fractions("0.3"),
)
def test_a_price_covers_its_terms(cost, rate, basis, minimum, step, tax):
    terms = PriceTerms(basis=basis, rate=rate, minimum_charge=minimum, price_step=Decimal(step), tax_rate=tax)
    result = price(cost, terms)
    coin = Decimal("0.01")
    assert result.net >= max(result.calculated, minimum) - coin / 2
    assert result.total == result.net + result.tax
    assert result.net % coin == 0
    assert result.total % coin == 0
    if terms.price_step:
        assert result.net >= max(result.calculated, minimum)
        assert result.net % terms.price_step == 0
        assert result.net - terms.price_step < max(result.calculated, minimum)


@given(draw.numbers(0, 1e6))
def test_a_ceiling_is_never_short_by_more_than_it_forgives(value):
    result = ceiling(value)
    assert result >= value * (1 - 1e-9)
    assert result - 1 < value


@given(st.lists(draw.numbers(0, 240), min_size=2, max_size=8), st.randoms(use_true_random=False))
def test_the_order_of_time_lines_does_not_change_what_labour_costs(minutes, random):
    shuffled = list(minutes)
    random.shuffle(shuffled)
    assume(shuffled != minutes)
    costs = set()
    for order in (minutes, shuffled):
        lines = tuple(TimeLine(minutes=round(value, 2), driver=Driver.OPERATION) for value in order)
        operation = Operation(name="A", kind=OperationKind.PREPARE, labour_class="helper", time_lines=lines)
        system = System(name="S", operations=(operation,))
        costs.add(estimate(takeoff=Takeoff(), system=system, materials=SHELF, rates=RATES).true_cost)
    assert len(costs) == 1
