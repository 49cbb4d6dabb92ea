"""What the core must know of materials and of the shop's rates before it can price anything.

Imports no Django: services read these from the database and pass them in.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from costing.core.checks import set_decimal, set_number, to_decimal
from costing.core.errors import ContradictionError


class MaterialKind(StrEnum):
    """What a material is for. Supplies find their cost group by it."""

    COATING = "coating"
    HARDENER = "hardener"
    THINNER = "thinner"
    CLEANER = "cleaner"
    LINER = "liner"
    STRAINER = "strainer"
    ABRASIVE = "abrasive"
    TACK_CLOTH = "tack_cloth"
    MASKING = "masking"
    WEAR = "wear"
    FILTER = "filter"
    OTHER = "other"


class StockUnit(StrEnum):
    """The unit a material is stocked and priced in."""

    LITRE = "L"
    KILOGRAM = "kg"
    PIECE = "pcs"
    METRE = "m"
    SQUARE_METRE = "m²"


# A thinner or a cleaner leaves no film unless its sheet says otherwise.
_WITHOUT_SOLIDS = frozenset({MaterialKind.THINNER, MaterialKind.CLEANER})
_LARGEST_VOC = 1_500.0  # g/L, heavier than any usual solvent
_LARGEST_DENSITY = 5.0  # kg/L


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialFacts:
    """Price and technical data of one material, as an estimate needs them.

    Facts that a sheet does not give are None; the core asks for them in words when a figure needs them.
    """

    key: str  # how systems refer to it
    name: str
    kind: MaterialKind
    unit: StockUnit
    price: Decimal  # money per stock unit
    density: float | None = None  # ρ, kg/L
    volume_solids: float | None = None  # NV, % by volume
    mass_solids: float | None = None  # % by mass
    voc: float | None = None  # actual VOC as supplied, g/L
    water_fraction: float = 0.0  # φ_water, by volume
    exempt_fraction: float = 0.0  # φ_exempt, by volume
    yield_fraction: float = 1.0  # y, share of a can that can be poured
    expiry_allowance: Decimal = Decimal(0)  # x, share of value that goes out of date
    litre_price: Decimal | None = field(init=False)  # money per L; None where it is not a liquid of known density

    def __post_init__(self) -> None:
        set_decimal(self, "price")
        for name, value in (("volume_solids", self.volume_solids), ("mass_solids", self.mass_solids)):
            if value is None and self.kind in _WITHOUT_SOLIDS:
                object.__setattr__(self, name, 0.0)
            elif value is not None:
                set_number(self, name, unit="%", least=0, most=100)
        if self.density is not None:
            set_number(self, "density", unit="kg/L", above=0, most=_LARGEST_DENSITY)
        if self.voc is not None:
            set_number(self, "voc", words="VOC content", unit="g/L", least=0, most=_LARGEST_VOC)
        set_number(self, "water_fraction", words="water share of the volume", least=0, most=1)
        set_number(self, "exempt_fraction", words="exempt share of the volume", least=0, most=1)
        set_number(self, "yield_fraction", words="yield", above=0, most=1)
        set_decimal(self, "expiry_allowance", below=Decimal(1))
        self._check_agreement()
        object.__setattr__(self, "litre_price", self._price_per_litre())

    def _check_agreement(self) -> None:
        if self.water_fraction + self.exempt_fraction > 1:
            raise ContradictionError(
                field="exempt_fraction",
                value=self.exempt_fraction,
                words="water and exempt share together",
                because=f"are {self.water_fraction + self.exempt_fraction:g} of the volume",
                right="give shares that add up to 1 at most",
            )
        if self.density is not None and self.voc is not None and self.voc > 1000 * self.density:
            raise ContradictionError(
                field="voc",
                value=self.voc,
                words="VOC content",
                because=f"of {self.voc:g} g/L is heavier than the material itself",
                right=f"give at most {1000 * self.density:g} g/L, or mend the density",
            )

    def _price_per_litre(self) -> Decimal | None:
        if self.unit is StockUnit.LITRE:
            return self.price
        if self.unit is StockUnit.KILOGRAM and self.density is not None:
            return self.price * to_decimal(self.density)
        return None

    def litres(self, quantity: float) -> float | None:
        """A quantity of stock units in litres; None where that cannot be said."""
        if self.unit is StockUnit.LITRE:
            return quantity
        if self.unit is StockUnit.KILOGRAM and self.density is not None:
            return quantity / self.density
        return None

    def stock_quantity(self, litres: float) -> float:
        """Litres in the unit it is stocked in (L, or kg by its density).

        The density of a kg material must be known; `litre_price` is None where it is not.
        """
        if self.unit is StockUnit.KILOGRAM and self.density is not None:
            return litres * self.density
        return litres


@dataclass(frozen=True, slots=True, kw_only=True)
class LabourClass:
    """A class of work and what an hour of it costs."""

    key: str
    name: str
    wage: Decimal  # money per hour
    burden: Decimal = Decimal(0)  # fraction of the wage that comes on top
    loaded_rate: Decimal = field(init=False)  # wage × (1 + burden), money per hour

    def __post_init__(self) -> None:
        set_decimal(self, "wage")
        set_decimal(self, "burden", most=Decimal(5))
        object.__setattr__(self, "loaded_rate", self.wage * (1 + self.burden))


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """The shop's own rates for everything that is not a material."""

    labour: Mapping[str, LabourClass]
    booth_rate: Decimal = Decimal(0)  # money per booth hour
    overhead_rate: Decimal = Decimal(0)  # fraction of the labour row
    rework_allowance: Decimal = Decimal(0)  # fraction of all rows above it
    disposal_fee: Decimal = Decimal(0)  # money per L
    voc_recovered: float = 0.0  # fraction of the emitted mass that is caught

    def __post_init__(self) -> None:
        set_decimal(self, "booth_rate")
        set_decimal(self, "overhead_rate", most=Decimal(20))
        set_decimal(self, "rework_allowance", most=Decimal(1))
        set_decimal(self, "disposal_fee")
        set_number(self, "voc_recovered", words="recovered share of VOC", least=0, most=1)
