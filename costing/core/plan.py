"""What a job is to do and to draw, step by step, from the estimate behind its quote (costing model, sections 3 and 4).

Imports no Django. Quantities are in stock units, rounded to the step that the ledger keeps, so that the steps of a job add up
to exactly what is booked for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal

from costing.core.checks import ceiling, to_decimal
from costing.core.drivers import supply_driver_values
from costing.core.facts import StockUnit
from costing.core.result import CoatVolumes, Estimate, OperationResult
from costing.core.schedule import elapsed_steps
from costing.core.system import Driver, OperationKind

LEDGER_STEP = Decimal("0.000001")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedMaterial:
    """What a step draws of one material: a component of its mix (with parts) or a supply (with a driver)."""

    material: str
    quantity: Decimal  # stock units, heel included
    parts: Decimal | None = None  # by volume; None for a supply
    driver: Driver | None = None  # what a supply depends on; None for a component
    per_driver: Decimal | None = None  # stock units per unit of the driver
    whole_units: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedStep:
    """One operation as it is to be done on this job."""

    name: str
    kind: OperationKind
    area: float  # m²
    labour_minutes: float  # person-minutes
    waiting_minutes: float  # drying until the next step, and to stacking after the last coat
    mixed: Decimal | None  # V_mix, L; None for a step that is no coat
    batches: int
    fills: int
    wet_film: float | None  # µm
    pot_life: float | None  # min
    setup: str
    materials: tuple[PlannedMaterial, ...]


@dataclass(slots=True)
class _Split:
    """A growing total handed out in parts that are whole steps: the parts always add up to the rounded total."""

    exact: float = 0.0
    given: Decimal = field(default=Decimal(0))

    def next(self, amount: float, *, whole: bool = False) -> Decimal:
        self.exact += amount
        total = Decimal(ceiling(self.exact)) if whole else to_ledger_step(to_decimal(self.exact))
        part = total - self.given
        self.given = total
        return part


def to_ledger_step(quantity: Decimal) -> Decimal:
    """Round half up to a millionth of a stock unit, the step that the ledger keeps."""
    return quantity.quantize(LEDGER_STEP, rounding=ROUND_HALF_UP)


def plan_steps(estimate: Estimate) -> tuple[PlannedStep, ...]:
    """The performed operations of an estimate in order, each with what it draws.

    A material counted in whole units is rounded up once over the whole system: the step at which a further unit is opened
    draws it. Materials of which the whole job needs nothing are left out.
    """
    performed = [result for result in estimate.operations if result.performed]
    needed = {need.material.key for need in estimate.needs if to_ledger_step(need.quantity) > 0}
    exact: dict[str, _Split] = {}
    whole: dict[str, _Split] = {}
    return tuple(
        PlannedStep(
            name=result.operation.name,
            kind=result.operation.kind,
            area=result.area,
            labour_minutes=result.labour_minutes,
            waiting_minutes=elapsed.waiting_minutes,
            mixed=None if result.coat is None else to_ledger_step(to_decimal(result.coat.mixed)),
            batches=result.coat.batches if result.coat else 0,
            fills=result.coat.fills if result.coat else 0,
            wet_film=result.coat.wet_film if result.coat else None,
            pot_life=result.operation.coat.pot_life if result.operation.coat else None,
            setup=result.operation.coat.setup.name if result.operation.coat else "",
            materials=tuple(
                material for material in _materials_of(result, estimate, exact, whole) if material.material in needed
            ),
        )
        for result, elapsed in zip(performed, elapsed_steps(performed), strict=True)
    )


def _materials_of(
    result: OperationResult, estimate: Estimate, exact: dict[str, _Split], whole: dict[str, _Split]
) -> list[PlannedMaterial]:
    materials = _components_of(result.coat, estimate, exact) if result.coat else []
    values = supply_driver_values(result, estimate.materials) if result.operation.supply_lines else {}
    for line in result.operation.supply_lines:
        splits = whole if line.whole_units else exact
        amount = line.amount * values[line.driver]
        materials.append(
            PlannedMaterial(
                material=line.material,
                quantity=splits.setdefault(line.material, _Split()).next(amount, whole=line.whole_units),
                driver=line.driver,
                per_driver=to_ledger_step(to_decimal(line.amount)),
                whole_units=line.whole_units,
            )
        )
    return materials


def _components_of(coat: CoatVolumes, estimate: Estimate, exact: dict[str, _Split]) -> list[PlannedMaterial]:
    return [
        PlannedMaterial(
            material=component.material,
            quantity=exact.setdefault(component.material, _Split()).next(
                estimate.materials[component.material].stock_quantity(component.drawn)
            ),
            parts=to_decimal(component.parts),
        )
        for component in coat.components
    ]


def share_of_mix(mixed: Decimal, parts: Sequence[Decimal]) -> tuple[Decimal, ...]:
    """Litres of each component of a mix (V_i = V_mix p_i / Σ p), unrounded. Raises ValueError for a mix without parts.

    >>> [round(litres, 6) for litres in share_of_mix(Decimal("2.792689169"), (Decimal(10), Decimal(1)))]
    [Decimal('2.538808'), Decimal('0.253881')]
    """
    whole = sum(parts, Decimal(0))
    if whole <= 0 or any(part < 0 for part in parts):
        raise ValueError("a mix needs parts that are not all 0 and none below 0")
    return tuple(mixed * part / whole for part in parts)


def drawn_from_stock(litres: Decimal, *, yield_fraction: Decimal, unit: StockUnit, density: Decimal | None = None) -> Decimal:
    """What leaves the stock for so many litres in the mix: V_i / y_i in the stock unit, to the ledger's step.

    ``density`` in kg/L is needed for a material that is kept by mass; ValueError where it is missing.

    >>> drawn_from_stock(Decimal("2.45"), yield_fraction=Decimal("0.98"), unit=StockUnit.LITRE)
    Decimal('2.500000')
    """
    if unit is StockUnit.KILOGRAM:
        if density is None:
            raise ValueError("a material kept by mass needs its density to be drawn by volume")
        litres = litres * density
    return to_ledger_step(litres / yield_fraction)


def supply_for(count: Decimal, *, per_driver: Decimal, whole_units: bool) -> Decimal:
    """A supply for so many fills or batches, in stock units; whole units are rounded up.

    >>> supply_for(Decimal(5), per_driver=Decimal("0.5"), whole_units=True)
    Decimal('3')
    """
    amount = count * per_driver
    return Decimal(ceiling(float(amount))) if whole_units else to_ledger_step(amount)
