"""A coating system as a process sheet: what is done, in order, in words that the spray room reads."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch

from costing.cautions import Caution, cautions_for
from costing.choices import Driver, OperationKind
from costing.models import CoatComponent, CoatingSystem, Operation, SupplyLine, TimeLine
from finishing import show
from finishing.units import UnitSystem, convert, plain_number
from inventory.choices import LIQUIDS
from inventory.models import Material

_SQUARE_FOOT = convert(1, from_unit="ft²", to_unit="m²")
SQUARE_FOOT = Decimal(_SQUARE_FOOT.numerator) / Decimal(_SQUARE_FOOT.denominator)  # m²


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetStep:
    """One operation of the sheet."""

    operation: Operation
    number: int
    facts: tuple[tuple[str, str], ...]  # word and what it says
    work: tuple[str, ...]
    supplies: tuple[str, ...]
    missing: tuple[str, ...]  # what keeps the coat from being priced


@dataclass(frozen=True, slots=True, kw_only=True)
class ProcessSheet:
    """The whole system."""

    steps: tuple[SheetStep, ...]
    cautions: tuple[Caution, ...]
    has_coat: bool


def process_sheet(system: CoatingSystem) -> ProcessSheet:
    """Read a system in a constant number of queries and put it into words."""
    operations = list(
        system.operations.select_related("labour_class", "setup", "thinner").prefetch_related(
            Prefetch("components", CoatComponent.objects.select_related("material")),
            Prefetch("supply_lines", SupplyLine.objects.select_related("material")),
            "time_lines",
        )
    )
    materials = [material for operation in operations for material in _materials_of(operation)]
    return ProcessSheet(
        steps=tuple(_step(number, operation) for number, operation in enumerate(operations, start=1)),
        cautions=cautions_for(materials),
        has_coat=any(operation.kind == OperationKind.COAT for operation in operations),
    )


def _materials_of(operation: Operation) -> Iterator[Material]:
    yield from (part.material for part in operation.components.all())
    yield from (line.material for line in operation.supply_lines.all())
    if operation.thinner is not None:
        yield operation.thinner


def _step(number: int, operation: Operation) -> SheetStep:
    is_coat = operation.kind == OperationKind.COAT
    return SheetStep(
        operation=operation,
        number=number,
        facts=tuple(_coat_facts(operation)) if is_coat else (),
        work=tuple(work_words(line) for line in operation.time_lines.all()),
        supplies=tuple(supply_words(line) for line in operation.supply_lines.all()),
        missing=tuple(_missing(operation)) if is_coat else (),
    )


def _coat_facts(operation: Operation) -> Iterator[tuple[str, str]]:
    yield "Mix", mix_words(operation)
    if operation.setup is not None:
        yield "Setup", operation.setup.name
    if operation.wet_film is not None:
        yield "Wet film", show.film(operation.wet_film)
    if operation.dry_film is not None:
        yield "Dry film", show.film(operation.dry_film)
    if operation.induction_min:
        yield "Stand after mixing", show.minutes(operation.induction_min)
    if operation.pot_life_min:
        yield "Pot life", show.minutes(operation.pot_life_min)
    if operation.spray_rate is not None:
        yield "Spraying rate", f"{show.area(operation.spray_rate)}/h, for this coat"
    if operation.flash_minutes:
        yield "Flash-off in the booth", show.minutes(operation.flash_minutes)
    yield "Dry before the next", show.minutes(operation.dry_minutes)
    if operation.stacking_minutes:
        yield "To stacking, if last", show.minutes(operation.stacking_minutes)


def mix_words(operation: Operation) -> str:
    """The mix as people say it: “Base 10 : Hardener 1 by volume, then 5 % Thinner”."""
    parts: Sequence[CoatComponent] = list(operation.components.all())
    if not parts:
        return "nothing given"
    if len(parts) == 1:
        words = parts[0].material.name
    else:
        words = " : ".join(f"{part.material.name} {plain_number(part.parts, 3)}" for part in parts) + " by volume"
    if operation.thinner is not None and operation.thinning_percent:
        words += f", then {plain_number(operation.thinning_percent, 3)} % {operation.thinner.name}"
    return words


def per_driver(driver: str, amount: Decimal) -> tuple[Decimal, str]:
    """An amount for each unit of a driver, with the driver in words: per ft² for a shop that reads US units."""
    if driver == Driver.M2 and show.preferences().units is UnitSystem.US:
        return amount * SQUARE_FOOT, "per ft²"
    return amount, Driver(driver).label


def work_words(line: TimeLine) -> str:
    """A time line: “Hang and turn: 0.5 min per piece”."""
    minutes, words = per_driver(line.driver, line.minutes)
    rate = f" ({show.area(60 / line.minutes)}/h)" if line.driver == Driver.M2 and line.minutes else ""
    return f"{line.label}: {show.number(minutes, 3)} min {words}{rate}"


def supply_words(line: SupplyLine) -> str:
    """A supply line: “Cup liner: 1 pc per fill, whole units”."""
    quantity, words = per_driver(line.driver, line.quantity)
    whole = ", counted in whole units" if line.whole_units else ""
    shown = show.pour(quantity) if line.material.stock_unit == "L" else show.quantity(quantity, line.material.stock_unit)
    return f"{line.material.name}: {shown} {words}{whole}"


def _missing(operation: Operation) -> Iterator[str]:
    """Technical data that this coat's price needs and that a material lacks."""
    for part in operation.components.all():
        material = part.material
        lacking = []
        if operation.dry_film is not None and material.volume_solids is None and material.kind not in {"thinner", "cleaner"}:
            lacking.append("volume solids")
        if material.stock_unit == "kg" and material.density is None:
            lacking.append("density")
        if material.kind in LIQUIDS and material.voc is None:
            lacking.append("VOC")
        if lacking:
            yield f"{material.name} has no {' and no '.join(lacking)} entered."
