"""What an operation's lines are multiplied by (costing model, section 3). Imports no Django."""

from __future__ import annotations

from collections.abc import Mapping

from costing.core.coat import find_component
from costing.core.errors import MissingFactError
from costing.core.facts import MaterialFacts
from costing.core.result import CoatVolumes, OperationResult
from costing.core.system import Driver


def driver_values(area: float, pieces: int, volumes: CoatVolumes | None) -> dict[Driver, float]:
    """What each driver stands for in an operation, but for the two that need its labour and overspray."""
    return {
        Driver.OPERATION: 1.0,
        Driver.M2: area,
        Driver.PIECE: float(pieces),
        Driver.BATCH: float(volumes.batches) if volumes else 0.0,
        Driver.FILL: float(volumes.fills) if volumes else 0.0,
    }


def supply_driver_values(result: OperationResult, materials: Mapping[str, MaterialFacts]) -> dict[Driver, float]:
    """What every driver stands for in a performed operation.

    Raises MissingFactError where a supply is driven by overspray and its dry solids cannot be reckoned.
    """
    values = driver_values(result.area, result.pieces, result.coat)
    values[Driver.LABOUR_HOUR] = result.labour_minutes / 60
    values[Driver.OVERSPRAY_KG] = 0.0
    drives = any(line.driver is Driver.OVERSPRAY_KG for line in result.operation.supply_lines)
    if result.coat is not None and drives:
        values[Driver.OVERSPRAY_KG] = _overspray_solids(result.coat, materials)
    return values


def _overspray_solids(volumes: CoatVolumes, materials: Mapping[str, MaterialFacts]) -> float:
    if volumes.overspray_solids is not None:
        return volumes.overspray_solids
    facts = [find_component(materials, component.material) for component in volumes.components]
    unknown = next(fact for fact in facts if fact.density is None or fact.mass_solids is None)
    field = "density" if unknown.density is None else "mass_solids"
    raise MissingFactError(
        field=field,
        about=unknown.name,
        right="enter it, a supply of this coat is driven by the kg of overspray solids",
    )
