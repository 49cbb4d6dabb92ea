"""What an estimate answers: named parts, each with its unit beside it. Imports no Django.

Everything here is the product of `costing.core.estimate`; nothing is rounded.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from costing.core.checks import to_decimal
from costing.core.facts import MaterialFacts, Rates, StockUnit
from costing.core.system import CostGroup, Operation, System
from costing.core.takeoff import Takeoff


@dataclass(frozen=True, slots=True, kw_only=True)
class ComponentVolume:
    """One component's share of a coat's mix."""

    material: str
    parts: float  # p_i, by volume; thinner included
    share: float  # p_i / Σ p
    mixed: float  # V_i, L
    drawn: float  # V_i / y_i, L from stock


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatVolumes:
    """The figures of one coat (costing model, section 4). All zero where there is no area."""

    area: float  # A_o, m²
    sprayed_area: float  # Σ a/g, m²
    volume_solids: float | None  # NV of the mix before thinning, %; None if unknown and not needed
    wet_film: float  # w, µm
    on_surface: float  # V_on, L
    sprayed: float  # V_spray, L
    overspray: float  # V_over, L
    batches: int  # b
    fills: int  # q
    residue: float  # V_res, L
    mixed: float  # V_mix, L
    spray_minutes: float  # t, min
    overspray_solids: float | None  # kg of dry solids that missed; None where density or mass solids are unknown
    components: tuple[ComponentVolume, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationResult:
    """What one operation takes on this takeoff."""

    operation: Operation
    area: float  # A_o, m²
    pieces: int
    performed: bool  # False for a coat whose zones hold no area
    labour_minutes: float  # person-minutes
    booth_minutes: float  # spraying + fill loading + flash-off
    coat: CoatVolumes | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialUse:
    """One material's use in all coats of the system, split by where it ended. Litres and money."""

    material: MaterialFacts
    film_litres: float
    overspray_litres: float
    residue_litres: float
    heel_litres: float
    expiry_litres: float  # an allowance: not drawn for this job
    film: Decimal
    overspray: Decimal
    residue: Decimal
    heel: Decimal
    expiry: Decimal

    @property
    def mixed_litres(self) -> float:
        """What goes into the mixes, L."""
        return self.film_litres + self.overspray_litres + self.residue_litres

    @property
    def drawn_litres(self) -> float:
        """What leaves the stock, heel included, L."""
        return self.mixed_litres + self.heel_litres

    @property
    def cost(self) -> Decimal:
        """Its money in all five rows."""
        return self.film + self.overspray + self.residue + self.heel + self.expiry


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplyUse:
    """One material's use in all supply lines of the system."""

    material: MaterialFacts
    group: CostGroup  # cleaner, abrasives or disposables
    needed: float  # sum of the lines, stock units
    quantity: float  # what is charged: rounded up once where it is counted in whole units
    cost: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialNeed:
    """What a job must have of one material: the figure to book."""

    material: MaterialFacts
    quantity: Decimal  # stock units
    unit: StockUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class LabourUse:
    """All work of one labour class."""

    labour_class: str
    minutes: float
    cost: Decimal


class NoticeCode(StrEnum):
    """Why an estimate carries a notice."""

    NO_COAT = "no-coat"
    NO_AREA = "no-area"
    NOTHING_TO_DO = "nothing-to-do"
    IDLE_COAT = "idle-coat"
    IDLE_OPERATION = "idle-operation"
    ABOVE_SAG_LIMIT = "above-sag-limit"
    VOC_UNKNOWN = "voc-unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """Something the reader of an estimate should know; no error."""

    code: NoticeCode
    about: str  # name of the operation, material or system
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """One system priced on one takeoff, unrounded. `shown_lines` gives what goes on paper."""

    takeoff: Takeoff
    system: System
    materials: Mapping[str, MaterialFacts]
    rates: Rates
    operations: tuple[OperationResult, ...]
    material_uses: tuple[MaterialUse, ...]
    supply_uses: tuple[SupplyUse, ...]
    labour_uses: tuple[LabourUse, ...]
    groups: Mapping[CostGroup, Decimal]  # every group of the model, in its order
    true_cost: Decimal  # exact sum of the groups
    labour_minutes: float
    booth_minutes: float
    elapsed_minutes: float
    residue_litres: float
    cleaner_litres: float
    voc_kg: float  # emitted; materials of unknown VOC are left out and named in the notices
    notices: tuple[Notice, ...]

    @property
    def cost_per_m2(self) -> Decimal | None:
        """Exact true cost over finished area, money per m²; None without area."""
        return self.true_cost / to_decimal(self.takeoff.area) if self.takeoff.area else None

    @property
    def needs(self) -> tuple[MaterialNeed, ...]:
        """What the job must have of each material, coats and supplies together, in stock units."""
        quantities: dict[str, Decimal] = {}
        for use in self.material_uses:
            drawn = to_decimal(use.material.stock_quantity(use.drawn_litres))
            quantities[use.material.key] = quantities.get(use.material.key, Decimal(0)) + drawn
        for supply in self.supply_uses:
            quantities[supply.material.key] = quantities.get(supply.material.key, Decimal(0)) + to_decimal(supply.quantity)
        return tuple(
            MaterialNeed(material=self.materials[key], quantity=quantity, unit=self.materials[key].unit)
            for key, quantity in quantities.items()
        )
