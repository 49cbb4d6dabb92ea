"""What a system uses of each material, summed over its operations and priced once (costing model, section 5).

Imports no Django.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal

from costing.core.checks import ceiling, to_decimal
from costing.core.coat import find_material
from costing.core.drivers import supply_driver_values
from costing.core.errors import MissingFactError, WrongUseError
from costing.core.facts import MaterialFacts, MaterialKind
from costing.core.result import MaterialUse, OperationResult, SupplyUse
from costing.core.system import CostGroup

_ZERO = Decimal(0)
# Which row of the true cost a supply belongs to, by the kind of its material.
SUPPLY_GROUPS = {
    MaterialKind.CLEANER: CostGroup.CLEANER,
    MaterialKind.THINNER: CostGroup.CLEANER,
    MaterialKind.ABRASIVE: CostGroup.ABRASIVES,
    MaterialKind.LINER: CostGroup.DISPOSABLES,
    MaterialKind.STRAINER: CostGroup.DISPOSABLES,
    MaterialKind.TACK_CLOTH: CostGroup.DISPOSABLES,
    MaterialKind.MASKING: CostGroup.DISPOSABLES,
    MaterialKind.WEAR: CostGroup.DISPOSABLES,
    MaterialKind.FILTER: CostGroup.DISPOSABLES,
    MaterialKind.OTHER: CostGroup.DISPOSABLES,
}


def material_uses_of(operations: Sequence[OperationResult], materials: Mapping[str, MaterialFacts]) -> tuple[MaterialUse, ...]:
    """Every coating material over all coats: litres summed first, then priced once."""
    litres: dict[str, list[float]] = {}
    for result in operations:
        volumes = result.coat
        if volumes is None or volumes.area == 0:
            continue
        for component in volumes.components:
            sums = litres.setdefault(component.material, [0.0, 0.0, 0.0, 0.0])
            sums[0] += volumes.on_surface * component.share
            sums[1] += volumes.overspray * component.share
            sums[2] += volumes.residue * component.share
            sums[3] += component.drawn - component.mixed
    return tuple(_material_use(materials[key], *sums) for key, sums in litres.items())


def _material_use(facts: MaterialFacts, film: float, overspray: float, residue: float, heel: float) -> MaterialUse:
    price = facts.litre_price if facts.litre_price is not None else _ZERO
    share = facts.expiry_allowance
    factor = share / (1 - share)
    money = [to_decimal(litres) * price for litres in (film, overspray, residue, heel)]
    return MaterialUse(
        material=facts,
        film_litres=film,
        overspray_litres=overspray,
        residue_litres=residue,
        heel_litres=heel,
        expiry_litres=(film + overspray + residue + heel) * float(factor),
        film=money[0],
        overspray=money[1],
        residue=money[2],
        heel=money[3],
        expiry=sum(money, _ZERO) * factor,
    )


def supply_uses_of(operations: Sequence[OperationResult], materials: Mapping[str, MaterialFacts]) -> tuple[SupplyUse, ...]:
    """Every supply over all operations; what its lines count in whole units is rounded up once, after summing."""
    exact: dict[str, float] = {}
    whole: dict[str, float] = {}
    for result in operations:
        if not result.performed or not result.operation.supply_lines:
            continue
        values = supply_driver_values(result, materials)
        for line in result.operation.supply_lines:
            exact.setdefault(line.material, 0.0)
            needed = whole if line.whole_units else exact
            needed[line.material] = needed.get(line.material, 0.0) + line.amount * values[line.driver]
    return tuple(_supply_use(find_material(materials, key), amount, whole.get(key, 0.0)) for key, amount in exact.items())


def _supply_use(facts: MaterialFacts, exact: float, whole: float) -> SupplyUse:
    group = SUPPLY_GROUPS.get(facts.kind)
    if group is None:
        raise WrongUseError(
            field="material",
            about=facts.name,
            because="is part of a film, not a supply",
            right="put it into the mix of a coat",
        )
    quantity = exact + ceiling(whole)
    return SupplyUse(
        material=facts,
        group=group,
        needed=exact + whole,
        quantity=quantity,
        cost=to_decimal(quantity) * facts.price,
    )


def cleaner_litres(use: SupplyUse) -> float:
    """Litres of cleaning liquid in a supply; wipes and the like have none."""
    return (use.material.litres(use.quantity) or 0.0) if use.group is CostGroup.CLEANER else 0.0


def voc_contents(material_uses: Sequence[MaterialUse], supply_uses: Sequence[SupplyUse]) -> list[tuple[MaterialFacts, float]]:
    """Every liquid of the system with the litres drawn of it; a supply that is no liquid is left out.

    Raises MissingFactError for a supply that is stocked by mass, has a VOC content and no density.
    """
    contents = [(use.material, use.drawn_litres) for use in material_uses]
    for supply in supply_uses:
        litres = supply.material.litres(supply.quantity)
        if litres is not None:
            contents.append((supply.material, litres))
        elif supply.material.voc:
            raise MissingFactError(
                field="density", about=supply.material.name, right="enter it in kg/L, its VOC is stated per litre"
            )
    return contents
