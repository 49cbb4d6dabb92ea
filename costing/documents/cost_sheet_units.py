"""The units that a cost sheet is written in: those of the costing model, or US units for a shop that reads them.

Formulas reckon in the units of their cells, so only the step from area and film to volume needs a factor.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from finishing.units import Kind, UnitSystem, convert, shown_unit
from inventory.choices import StockUnit
from inventory.forms.fields import typed_unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """Symbols of the units of the sheet."""

    system: UnitSystem
    area: str
    film: str
    volume: str
    mass: str

    def shown(self, value: Decimal, unit: str) -> Decimal:
        """A value in m², µm, L or kg as a number of the sheet's unit."""
        return value * self._factor(unit)

    def per(self, value: Decimal, unit: str) -> Decimal:
        """An amount for each m², L or kg as an amount for each of the sheet's unit."""
        return value / self._factor(unit)

    def _factor(self, unit: str) -> Decimal:
        target = {"m²": self.area, "µm": self.film, "L": self.volume, "kg": self.mass}[unit]
        return _decimal(convert(1, from_unit=unit, to_unit=target))

    def stock_unit(self, unit: str) -> tuple[str, Decimal]:
        """What a stock unit is called on the sheet, and how many of these one stock unit is."""
        target = typed_unit(StockUnit(unit), self.system)
        return target, _decimal(convert(1, from_unit=unit, to_unit=target))

    @property
    def volume_of_film(self) -> str:
        """What turns area × film into volume, as the tail of a formula."""
        if self.system is UnitSystem.METRIC:
            return "/1000"
        area = convert(1, from_unit=self.area, to_unit="m²")
        film = convert(1, from_unit=self.film, to_unit="µm")
        volume = convert(1, from_unit="L", to_unit=self.volume)
        return f"*{float(area * film * volume / 1000)!r}"


def measures_of(system: UnitSystem) -> Measures:
    """The sheet's units for a shop's choice."""
    return Measures(
        system=system,
        area=shown_unit(Kind.AREA, system),
        film=shown_unit(Kind.FILM, system),
        volume=shown_unit(Kind.VOLUME, system),
        mass=shown_unit(Kind.MASS, system),
    )


def _decimal(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)
