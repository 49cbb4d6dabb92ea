"""Estimates per second: the core against the same arithmetic in plain Python on bare numbers."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from costing.bench import plain
from costing.bench.measure import BenchError, Ratio, Size, take_turns
from costing.core import facts as core_facts
from costing.core import system as core_system
from costing.core.coat import mix_of
from costing.core.estimate import estimate
from costing.core.result import Estimate as Result
from costing.core.takeoff import GivenArea, Moulding, Panel, Row, Shape, Takeoff, Zone
from costing.core.uses import SUPPLY_GROUPS
from costing.models import Estimate
from costing.services.estimating import PricedOption, price_all

ROWS = 60


def measure_estimates(subject: Estimate, size: Size) -> list[Ratio]:
    """The estimate's systems on its takeoff: with the takeoff at hand, and built from its sizes each time."""
    results = [option.result for option in price_all(subject) if isinstance(option, PricedOption)]
    if not results:
        raise BenchError("No system of the estimate can be priced.")
    takeoff = _of_sixty_rows(results[0].takeoff)
    results = [
        estimate(takeoff=takeoff, system=result.system, materials=result.materials, rates=result.rates) for result in results
    ]
    rows = [bare_row(row) for row in takeoff.rows]
    bare = [(bare_operations(result), bare_materials(result), bare_rates(result)) for result in results]
    totals = plain.totals_of(rows)
    check_same(results, [plain.estimate(totals, *parts) for parts in bare])

    def ours(given: Callable[[], Takeoff]) -> Callable[[], object]:
        return lambda: [
            estimate(takeoff=made, system=result.system, materials=result.materials, rates=result.rates)
            for made in [given()]
            for result in results
        ]

    def baseline(given: Callable[[], Mapping[str, tuple[float, float, int]]]) -> Callable[[], object]:
        return lambda: [plain.estimate(made, *parts) for made in [given()] for parts in bare]

    at_hand = take_turns(ours(lambda: takeoff), baseline(lambda: totals), rounds=size.estimate_rounds)
    built = take_turns(
        ours(lambda: Takeoff(rows=tuple(core_row(row) for row in rows))),
        baseline(lambda: plain.totals_of(rows)),
        rounds=size.estimate_rounds,
    )
    words = f"{len(rows)} rows, {len(results)} systems"
    against = "the same formulas on bare numbers, same true cost"
    return [
        at_hand.rates(f"Estimate, {words}", pieces=len(results), unit="systems/s", against=against),
        built.rates(f"Estimate with its takeoff checked, {words}", pieces=len(results), unit="systems/s", against=against),
    ]


def _of_sixty_rows(takeoff: Takeoff) -> Takeoff:
    """The takeoff's rows again and again, until there are sixty."""
    rows = takeoff.rows
    return Takeoff(rows=tuple(rows[number % len(rows)] for number in range(ROWS)))


def check_same(results: Sequence[Result], answers: Sequence[plain.Answer]) -> None:
    """Refuse to compare what does not agree: the true cost to its last digit, the rest but for noise."""
    for result, answer in zip(results, answers, strict=True):
        if result.true_cost != answer.true_cost:
            raise BenchError(f"{result.system.name} costs {result.true_cost} by the core, {answer.true_cost} by the baseline.")
        pairs = (
            ("labour minutes", result.labour_minutes, answer.labour_minutes),
            ("booth minutes", result.booth_minutes, answer.booth_minutes),
            ("elapsed minutes", result.elapsed_minutes, answer.elapsed_minutes),
            ("residue", result.residue_litres, answer.residue),
            ("cleaner", result.cleaner_litres, answer.cleaner),
            ("VOC", result.voc_kg, answer.voc_kg),
        )
        for words, one, other in pairs:
            if not math.isclose(one, other, rel_tol=1e-12):
                raise BenchError(f"{result.system.name}: {words} are {one} by the core, {other} by the baseline.")


def bare_row(row: Row) -> plain.Bare:
    """A takeoff row as bare numbers."""
    head = (row.pieces, row.geometry_factor, row.zone.value)
    shape = row.shape
    if isinstance(shape, Panel):
        sizes = (shape.length, shape.width, shape.thickness, shape.faces, shape.long_edges, shape.short_edges)
        return ("panel", *head, *sizes, shape.profile_factor)
    if isinstance(shape, Moulding):
        return ("moulding", *head, shape.length, shape.girth)
    return ("area", *head, shape.area)


def core_row(bare: plain.Bare) -> Row:
    """The core's row from bare numbers, with all its checks."""
    kind, pieces, factor, zone, *sizes = bare
    shape: Shape
    if kind == "panel":
        length, width, thickness, faces, long_edges, short_edges, profile = sizes
        shape = Panel(
            length=length,
            width=width,
            thickness=thickness,
            faces=faces,
            long_edges=long_edges,
            short_edges=short_edges,
            profile_factor=profile,
        )
    elif kind == "moulding":
        shape = Moulding(length=sizes[0], girth=sizes[1])
    else:
        shape = GivenArea(area=sizes[0])
    return Row(shape=shape, pieces=pieces, geometry_factor=factor, zone=Zone(zone))


def bare_operations(result: Result) -> list[dict[str, Any]]:
    """A system's operations as dicts of bare numbers."""
    return [
        {
            "zone": "both" if len(operation.zones) > 1 else next(iter(operation.zones)).value,
            "labour": operation.labour_class,
            "crew": operation.crew,
            "time": [(line.driver.value, line.minutes) for line in operation.time_lines],
            "supplies": [
                (line.material, line.driver.value, line.amount, int(line.whole_units)) for line in operation.supply_lines
            ],
            "coat": None if operation.coat is None else bare_coat(operation.coat),
        }
        for operation in result.system.operations
    ]


def bare_coat(coat: core_system.Coat) -> dict[str, Any]:
    """A coat as a dict of bare numbers."""
    mix = [(part.material, part.parts) for part in mix_of(coat)]
    return {
        "mix": mix,
        "own": len(coat.components),
        "parts": sum(parts for _, parts in mix),
        "wet": coat.wet_film,
        "dry_film": coat.dry_film,
        "thinning": coat.thinning,
        "TE": coat.setup.transfer_efficiency,
        "C": coat.setup.cup_capacity,
        "rf": coat.setup.residue_per_fill,
        "rb": coat.setup.residue_per_batch,
        "rate": coat.setup.spray_rate,
        "pot": coat.pot_life,
        "per_fill": coat.minutes_per_fill,
        "per_batch": coat.minutes_per_batch,
        "flash": coat.flash_off_minutes,
        "dry": coat.dry_minutes,
        "stacking": coat.stacking_minutes,
    }


def bare_materials(result: Result) -> dict[str, dict[str, Any]]:
    """Facts of materials as dicts of bare numbers."""
    return {key: _bare_material(facts) for key, facts in result.materials.items()}


def _bare_material(facts: core_facts.MaterialFacts) -> dict[str, Any]:
    group = SUPPLY_GROUPS.get(facts.kind)
    return {
        "price": facts.price,
        "litre_price": facts.litre_price,
        "per_litre": facts.litres(1.0),
        "density": facts.density,
        "NV": facts.volume_solids,
        "mass_solids": facts.mass_solids,
        "voc": facts.voc or 0.0,
        "yield": facts.yield_fraction,
        "x": facts.expiry_allowance,
        "group": group.value if group else "",
    }


def bare_rates(result: Result) -> dict[str, Any]:
    """The shop's rates as a dict of bare numbers."""
    rates = result.rates
    return {
        "labour": {key: entry.loaded_rate for key, entry in rates.labour.items()},
        "booth": rates.booth_rate,
        "disposal": rates.disposal_fee,
        "rework": rates.rework_allowance,
        "overhead": rates.overhead_rate,
        "recovered": rates.voc_recovered,
    }
