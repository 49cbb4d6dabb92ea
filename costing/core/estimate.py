"""A system priced on a takeoff (costing model, sections 3 to 7). Imports no Django.

`estimate` is the one way in. It keeps to what the answer needs; how each figure came about is told, on demand, by
`costing.core.explain`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from costing.core.checks import FORGIVEN, to_decimal
from costing.core.coat import coat_volumes
from costing.core.drivers import driver_values
from costing.core.errors import MissingFactError
from costing.core.facts import MaterialFacts, Rates
from costing.core.result import (
    Estimate,
    LabourUse,
    MaterialUse,
    Notice,
    NoticeCode,
    OperationResult,
    SupplyUse,
)
from costing.core.schedule import elapsed_minutes
from costing.core.system import CostGroup, Driver, Operation, System
from costing.core.takeoff import Takeoff
from costing.core.uses import cleaner_litres, material_uses_of, supply_uses_of, voc_contents
from costing.core.voc import emitted_mass

_ZERO = Decimal(0)


def estimate(*, takeoff: Takeoff, system: System, materials: Mapping[str, MaterialFacts], rates: Rates) -> Estimate:
    """What a takeoff costs under a system: every figure of the costing model's sections 3 to 7, unrounded.

    ``materials`` holds the facts of at least the materials that the system names, by key. An estimate gives them
    at replacement price; to reckon with other prices, hand in facts that carry those.

    Raises MissingFactError where a needed fact is unknown and WrongUseError where a material stands where it cannot be
    used. A system without a coat, a takeoff without area and unknown VOC contents are notices, not errors.
    """
    operations = tuple(perform(operation, takeoff, materials) for operation in system.operations)
    material_uses = material_uses_of(operations, materials)
    supply_uses = supply_uses_of(operations, materials)
    labour_uses = _labour_uses(operations, rates)
    residue = sum(result.coat.residue for result in operations if result.coat is not None)
    cleaner = sum(cleaner_litres(use) for use in supply_uses)
    booth = sum(result.booth_minutes for result in operations)
    groups = cost_groups(
        direct=_direct_costs(material_uses, supply_uses),
        labour=sum((use.cost for use in labour_uses), _ZERO),
        booth_minutes=booth,
        disposal_litres=residue + cleaner,
        rates=rates,
    )
    contents = voc_contents(material_uses, supply_uses)
    return Estimate(
        takeoff=takeoff,
        system=system,
        materials=materials,
        rates=rates,
        operations=operations,
        material_uses=material_uses,
        supply_uses=supply_uses,
        labour_uses=labour_uses,
        groups=groups,
        true_cost=sum(groups.values(), _ZERO),
        labour_minutes=sum(result.labour_minutes for result in operations),
        booth_minutes=booth,
        elapsed_minutes=elapsed_minutes(operations),
        residue_litres=residue,
        cleaner_litres=cleaner,
        voc_kg=emitted_mass([(litres, facts.voc or 0.0) for facts, litres in contents], rates.voc_recovered),
        notices=_notices(takeoff, system, operations, [facts for facts, _ in contents]),
    )


def perform(operation: Operation, takeoff: Takeoff, materials: Mapping[str, MaterialFacts]) -> OperationResult:
    """Time and volumes of one operation on the area of its zones.

    A coat whose zones hold no area is not performed and takes nothing. Any other operation is performed whatever its
    area: the driver `operation` is 1.
    """
    total = takeoff.total(operation.zones)
    coat = operation.coat
    volumes = None if coat is None else coat_volumes(coat, total, materials)
    if coat is None or volumes is None:
        minutes, booth = sum(_line_minutes(operation, driver_values(total.area, total.pieces, None))), 0.0
    elif volumes.area == 0:
        minutes, booth = 0.0, 0.0
    else:
        loading = coat.minutes_per_fill * volumes.fills
        own = volumes.spray_minutes + loading + coat.minutes_per_batch * volumes.batches
        minutes = own + sum(_line_minutes(operation, driver_values(total.area, total.pieces, volumes)))
        booth = volumes.spray_minutes + loading + coat.flash_off_minutes
    return OperationResult(
        operation=operation,
        area=total.area,
        pieces=total.pieces,
        performed=volumes is None or volumes.area > 0,
        labour_minutes=minutes,
        booth_minutes=booth,
        coat=volumes,
    )


def _line_minutes(operation: Operation, values: Mapping[Driver, float]) -> list[float]:
    return [line.minutes * values[line.driver] for line in operation.time_lines]


def _labour_uses(operations: Sequence[OperationResult], rates: Rates) -> tuple[LabourUse, ...]:
    minutes: dict[str, float] = {}
    for result in operations:
        if not result.labour_minutes:
            continue
        key = result.operation.labour_class
        if key not in rates.labour:
            raise MissingFactError(
                field="labour_class",
                about=result.operation.name,
                right="choose one that has a wage",
            )
        minutes[key] = minutes.get(key, 0.0) + result.labour_minutes
    # Divided last: 20 min at 45.135 an hour are 15.045, not 15.04499…
    return tuple(
        LabourUse(labour_class=key, minutes=total, cost=to_decimal(total) * rates.labour[key].loaded_rate / 60)
        for key, total in minutes.items()
    )


def _direct_costs(material_uses: Sequence[MaterialUse], supply_uses: Sequence[SupplyUse]) -> dict[CostGroup, Decimal]:
    """The eight groups that are materials."""
    costs = {
        CostGroup.FILM: sum((use.film for use in material_uses), _ZERO),
        CostGroup.OVERSPRAY: sum((use.overspray for use in material_uses), _ZERO),
        CostGroup.RESIDUE: sum((use.residue for use in material_uses), _ZERO),
        CostGroup.HEEL: sum((use.heel for use in material_uses), _ZERO),
        CostGroup.EXPIRY: sum((use.expiry for use in material_uses), _ZERO),
        CostGroup.CLEANER: _ZERO,
        CostGroup.ABRASIVES: _ZERO,
        CostGroup.DISPOSABLES: _ZERO,
    }
    for use in supply_uses:
        costs[use.group] += use.cost
    return costs


def cost_groups(
    *,
    direct: Mapping[CostGroup, Decimal],
    labour: Decimal,
    booth_minutes: float | Decimal,
    disposal_litres: float | Decimal,
    rates: Rates,
) -> dict[CostGroup, Decimal]:
    """All groups of a true cost in the model's order (costing model, section 5).

    ``direct`` are the material groups, wherever they come from: an estimate, or the lots that a job was issued.
    """
    groups = {group: direct.get(group, _ZERO) for group in CostGroup}
    groups[CostGroup.LABOUR] = labour
    groups[CostGroup.BOOTH] = to_decimal(booth_minutes) * rates.booth_rate / 60
    groups[CostGroup.DISPOSAL] = to_decimal(disposal_litres) * rates.disposal_fee
    # Rework and overhead are still 0 here, so the sum is that of the rows above rework.
    groups[CostGroup.REWORK] = rates.rework_allowance * sum(groups.values(), _ZERO)
    groups[CostGroup.OVERHEAD] = rates.overhead_rate * labour
    return groups


def _notices(
    takeoff: Takeoff, system: System, operations: Sequence[OperationResult], liquids: Sequence[MaterialFacts]
) -> tuple[Notice, ...]:
    notices = []
    if not system.operations:
        notices.append(_notice(NoticeCode.NOTHING_TO_DO, system.name, "has no operations yet, so it costs nothing"))
    elif not system.coats:
        notices.append(_notice(NoticeCode.NO_COAT, system.name, "has no coat, so no film is priced"))
    if not takeoff.area:
        notices.append(_notice(NoticeCode.NO_AREA, "takeoff", "has no area, so there is no cost per m²"))
    notices.extend(
        _notice(NoticeCode.IDLE_COAT, result.operation.name, "finds no area in its zones and is left out")
        for result in operations
        if not result.performed
    )
    notices.extend(
        _notice(NoticeCode.IDLE_OPERATION, result.operation.name, "finds no pieces in its zones and is reckoned all the same")
        for result in operations
        if result.performed and not result.pieces and takeoff.pieces
    )
    notices.extend(_above_sag_limit(operations))
    unknown = sorted({facts.name for facts in liquids if facts.voc is None})
    notices.extend(
        _notice(NoticeCode.VOC_UNKNOWN, name, "has no VOC content, so the emitted mass leaves it out") for name in unknown
    )
    return tuple(notices)


def _above_sag_limit(operations: Sequence[OperationResult]) -> list[Notice]:
    """Coats that go on wetter than the shop says they stand on upright work."""
    said = []
    for result in operations:
        coat = result.operation.coat
        if result.coat is None or coat is None or coat.sag_limit is None or not result.performed:
            continue
        if result.coat.wet_film > coat.sag_limit * (1 + FORGIVEN):
            words = f"goes on at {result.coat.wet_film:.4g} µm wet, above the {coat.sag_limit:g} µm at which it begins to sag"
            said.append(_notice(NoticeCode.ABOVE_SAG_LIMIT, result.operation.name, words))
    return said


def _notice(code: NoticeCode, about: str, text: str) -> Notice:
    return Notice(code=code, about=about, text=f"“{about}” {text}.")
