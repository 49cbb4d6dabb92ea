"""The true cost of many draws at once: `costing.core.estimate` over arrays (costing model, sections 3 to 5 and 8).

Imports no Django; needs numpy. Money is a float here: these are statistics. The steps are those of the estimate, in its order,
so that a draw in which every factor is 1 costs what the estimate says.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from costing.core.checks import FORGIVEN
from costing.core.facts import MaterialFacts
from costing.core.result import CoatVolumes, Estimate, OperationResult
from costing.core.system import Coat, CostGroup, Driver
from costing.core.uses import SUPPLY_GROUPS

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Factors:
    """What each draw multiplies; what is not named stays as reckoned. Arrays are of one length."""

    efficiency: Mapping[str, Floats] = field(default_factory=dict)  # by spray setup
    film: Mapping[str, Floats] = field(default_factory=dict)  # by position of the operation
    work: Mapping[str, Floats] = field(default_factory=dict)  # minutes, by labour class
    price: Mapping[str, Floats] = field(default_factory=dict)  # by material
    area: Floats | None = None


@dataclass(slots=True)
class _Sums:
    """What the operations of all draws add up to."""

    draws: int
    litres: dict[str, Floats] = field(default_factory=dict)  # mixed, by material
    exact: dict[str, Floats] = field(default_factory=dict)  # supplies in parts of a unit
    whole: dict[str, Floats] = field(default_factory=dict)  # supplies in whole units, before rounding up
    minutes: dict[str, Floats] = field(default_factory=dict)  # by labour class
    booth: Floats = field(init=False)
    residue: Floats = field(init=False)

    def __post_init__(self) -> None:
        self.booth, self.residue = np.zeros(self.draws), np.zeros(self.draws)

    def add(self, where: dict[str, Floats], key: str, amount: Floats) -> None:
        where[key] = where[key] + amount if key in where else amount


def costs_of(estimate: Estimate, factors: Factors, *, draws: int) -> Floats:
    """True cost of every draw, unrounded."""
    sums = _Sums(draws)
    for position, result in enumerate(estimate.operations):
        if result.performed:
            _add_operation(sums, result, factors, position)
    return _money(sums, estimate, factors)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sprayed:
    """A coat's figures in every draw."""

    minutes: Floats
    batches: Floats
    fills: Floats
    overspray: Floats
    residue: Floats
    mixed: Floats


def _ceiling(values: Floats) -> Floats:
    return np.ceil(values * (1 - FORGIVEN))


def _add_operation(sums: _Sums, result: OperationResult, factors: Factors, position: int) -> None:
    operation, coat, ones = result.operation, result.operation.coat, np.ones(sums.draws)
    scale = ones if factors.area is None else factors.area
    pace = factors.work.get(operation.labour_class, ones)
    values = {Driver.OPERATION: ones, Driver.M2: result.area * scale, Driver.PIECE: result.pieces * ones}
    values[Driver.BATCH] = values[Driver.FILL] = values[Driver.OVERSPRAY_KG] = 0 * ones
    own = 0 * ones
    if coat is not None and result.coat is not None:
        done = _sprayed(coat, result.coat, factors, position, scale, pace)
        loading = coat.minutes_per_fill * pace * done.fills
        own = done.minutes + loading + coat.minutes_per_batch * pace * done.batches
        values[Driver.BATCH], values[Driver.FILL] = done.batches, done.fills
        if result.coat.overspray_solids is not None and result.coat.overspray > 0:
            values[Driver.OVERSPRAY_KG] = done.overspray * (result.coat.overspray_solids / result.coat.overspray)
        sums.booth += done.minutes + loading + coat.flash_off_minutes
        sums.residue += done.residue
        for component in result.coat.components:
            sums.add(sums.litres, component.material, done.mixed * component.share)
    minutes = own
    for line in operation.time_lines:
        minutes = minutes + line.minutes * pace * values[line.driver]
    if result.labour_minutes:
        sums.add(sums.minutes, operation.labour_class, minutes)
    values[Driver.LABOUR_HOUR] = minutes / 60
    for supply in operation.supply_lines:
        where = sums.whole if supply.whole_units else sums.exact
        sums.add(where, supply.material, supply.amount * values[supply.driver])


def _sprayed(coat: Coat, reckoned: CoatVolumes, factors: Factors, position: int, scale: Floats, pace: Floats) -> _Sprayed:
    setup = coat.setup
    efficiency = np.minimum(1.0, setup.transfer_efficiency * factors.efficiency.get(setup.name, np.ones_like(scale)))
    wet = reckoned.wet_film * factors.film.get(str(position), np.ones_like(scale))
    on_surface = reckoned.area * scale * wet / 1000
    sprayed = reckoned.sprayed_area * scale * wet / (1000 * efficiency)
    minutes = 60 * reckoned.area * scale / setup.spray_rate * pace
    batches = np.ones_like(scale) if coat.pot_life is None else np.maximum(1.0, _ceiling(minutes / coat.pot_life))
    fills = batches * _ceiling(sprayed / batches / (setup.cup_capacity - setup.residue_per_fill))
    residue = fills * setup.residue_per_fill + batches * setup.residue_per_batch
    return _Sprayed(
        minutes=minutes,
        batches=batches,
        fills=fills,
        overspray=sprayed - on_surface,
        residue=residue,
        mixed=sprayed + residue,
    )


def _money(sums: _Sums, estimate: Estimate, factors: Factors) -> Floats:
    """The groups of every draw, as `costing.core.estimate.cost_groups` adds them up."""
    rates, ones = estimate.rates, np.ones(sums.draws)
    direct, cleaner = np.zeros(sums.draws), np.zeros(sums.draws)
    for key, litres in sums.litres.items():
        facts = estimate.materials[key]
        allowance = float(facts.expiry_allowance)
        drawn = litres / facts.yield_fraction
        direct += drawn * float(facts.litre_price or 0) * factors.price.get(key, ones) / (1 - allowance)
    for key in sums.exact.keys() | sums.whole.keys():
        facts = estimate.materials[key]
        quantity = sums.exact.get(key, 0 * ones) + _ceiling(sums.whole.get(key, 0 * ones))
        direct += quantity * float(facts.price) * factors.price.get(key, ones)
        cleaner += _cleaning_litres(facts, quantity)
    labour = np.zeros(sums.draws)
    for key, minutes in sums.minutes.items():
        labour += minutes * float(rates.labour[key].loaded_rate) / 60
    above = direct + labour + sums.booth * float(rates.booth_rate) / 60
    above += (sums.residue + cleaner) * float(rates.disposal_fee)
    return above * (1 + float(rates.rework_allowance)) + float(rates.overhead_rate) * labour


def _cleaning_litres(facts: MaterialFacts, quantity: Floats) -> Floats:
    """Litres of cleaning liquid in a supply; wipes and the like have none."""
    per_unit = facts.litres(1.0) if SUPPLY_GROUPS.get(facts.kind) is CostGroup.CLEANER else None
    return quantity * (per_unit or 0.0)
