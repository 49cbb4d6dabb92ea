"""The assumptions behind an estimate: what the shop reckons with as a rule, and what holds for this job alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction

from costing.choices import AssumptionKind
from costing.core.system import Driver
from costing.models import CoatingSystem, Estimate, EstimateAssumption, Operation
from costing.services.inputs import PricingInputs
from finishing import show

Key = tuple[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumption:
    """One figure of an estimate. Values in m²/h, µm, min, shares, stock units, money per stock unit, hour or litre."""

    kind: AssumptionKind
    of: int
    words: str  # what it is of
    usual: Decimal  # as the shop has it
    own: Decimal | None  # for this job alone
    unit: str = ""  # of the shop's figure: a stock unit, or what a line depends on

    @property
    def key(self) -> Key:
        """How it is stored."""
        return self.kind.value, self.of

    @property
    def name(self) -> str:
        """The name of its form field."""
        return f"{self.kind.value}-{self.of}"

    def told(self, value: Decimal) -> str:
        """A value of it in the shop's units."""
        return _told(self, value)


def _told(one: Assumption, value: Decimal) -> str:
    match one.kind:
        case AssumptionKind.EFFICIENCY | AssumptionKind.REWORK | AssumptionKind.OVERHEAD:
            return show.percent(value, 2)
        case AssumptionKind.FILM:
            return show.film(value)
        case AssumptionKind.RATE:
            return f"{show.area(value)}/h"
        case AssumptionKind.DRYING:
            return show.minutes(value)
        case AssumptionKind.MINUTES:
            return f"{show.number(value, 4)} min per {one.unit}"
        case AssumptionKind.AMOUNT:
            return f"{show.number(value, 6)} {one.unit}"
        case _:
            return f"{show.money(value)} per {one.unit}"


def assumptions_of(inputs: PricingInputs, systems: Iterable[CoatingSystem]) -> list[Assumption]:
    """Every assumption of these systems, each once: the shop's rates, then setups, coats, lines, materials and wages."""
    found: dict[Key, Assumption] = {}
    for one in [*_rates(inputs), *(one for system in systems for one in _of_system(inputs, system))]:
        found.setdefault(one.key, one)
    return sorted(found.values(), key=lambda one: list(AssumptionKind).index(one.kind))


def _make(inputs: PricingInputs, kind: AssumptionKind, of: int, words: str, usual: Decimal, unit: str = "") -> Assumption:
    own = inputs.own.get((kind.value, of))
    return Assumption(kind=kind, of=of, words=words, usual=usual, own=own, unit=unit)


def _rates(inputs: PricingInputs) -> Iterator[Assumption]:
    shop = inputs.shop
    yield _make(inputs, AssumptionKind.BOOTH, 0, "the booth", shop.booth_rate, "hour")
    yield _make(inputs, AssumptionKind.DISPOSAL, 0, "waste", shop.disposal_fee, "L")
    yield _make(inputs, AssumptionKind.REWORK, 0, "everything above it", shop.rework_allowance)
    yield _make(inputs, AssumptionKind.OVERHEAD, 0, "labour", shop.overhead_rate)


def _of_system(inputs: PricingInputs, system: CoatingSystem) -> Iterator[Assumption]:
    for operation in system.operations.all():
        yield from _of_operation(inputs, operation, f"{operation.name}, {system.name}")
        labour = operation.labour_class
        yield _make(inputs, AssumptionKind.WAGE, labour.pk, labour.name, labour.wage, "hour")
        materials = [part.material for part in operation.components.all()]
        materials += [line.material for line in operation.supply_lines.all()]
        materials += [operation.thinner] if operation.thinner and operation.thinning_percent else []
        for material in materials:
            pack = inputs.packs.get(material.pk)
            price = inputs.price_of(pack) if pack else None
            if price is not None:
                yield _make(inputs, AssumptionKind.PRICE, material.pk, material.name, price, material.stock_unit)


def _of_operation(inputs: PricingInputs, operation: Operation, words: str) -> Iterator[Assumption]:
    setup = operation.setup
    if operation.kind == "coat" and setup is not None:
        yield _make(inputs, AssumptionKind.EFFICIENCY, setup.pk, setup.name, setup.transfer_efficiency)
        yield _make(inputs, AssumptionKind.RATE, operation.pk, words, operation.spray_rate or setup.spray_rate)
        stated = "wet film" if operation.wet_film is not None else "dry film"
        film = operation.wet_film if operation.wet_film is not None else operation.dry_film
        if film is not None:
            yield _make(inputs, AssumptionKind.FILM, operation.pk, f"{words}, {stated}", film)
        yield _make(inputs, AssumptionKind.DRYING, operation.pk, words, operation.dry_minutes)
    for time in operation.time_lines.all():
        yield _make(inputs, AssumptionKind.MINUTES, time.pk, f"{time.label}: {words}", time.minutes, Driver(time.driver).words)
    for supply in operation.supply_lines.all():
        unit = f"{supply.material.stock_unit} per {Driver(supply.driver).words}"
        yield _make(inputs, AssumptionKind.AMOUNT, supply.pk, f"{supply.material.name}: {words}", supply.quantity, unit)


def own_sentences(inputs: PricingInputs, system: CoatingSystem) -> list[str]:
    """What holds for this job alone, in sentences, so that it is marked wherever the figures are shown."""
    if not inputs.own:
        return []
    changed = [one for one in assumptions_of(inputs, [system]) if one.own is not None]
    return [
        f"For this job alone: {one.kind.label.lower()} of {one.words} is {one.told(one.own or Decimal(0))} "
        f"instead of {one.told(one.usual)}."
        for one in changed
    ]


@transaction.atomic
def set_assumptions(*, estimate: Estimate, listed: Iterable[Assumption], values: Mapping[Key, Decimal | None]) -> int:
    """Keep these figures for this job alone; what is empty or as the shop has it is put back. How many hold now.

    Figures of things that are no longer part of the estimate go, too.
    """
    own = {one.key: value for one in listed if (value := values.get(one.key)) is not None and value != one.usual}
    estimate.assumptions.all().delete()
    EstimateAssumption.objects.bulk_create(
        EstimateAssumption(estimate=estimate, kind=kind, of=of, value=value) for (kind, of), value in own.items()
    )
    return len(own)
