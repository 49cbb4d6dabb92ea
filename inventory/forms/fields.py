"""Form fields of the inventory: quantities of a material, what a pack holds, density, whole times."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from finishing.fields import to_step
from finishing.forms import MeasureField
from finishing.units import Kind, UnitSystem, convert, plain_number, shown_unit
from inventory.choices import StockUnit

MOST = Decimal(1_000_000)
"""More than a finishing department keeps of anything, in any stock unit."""


def typed_unit(stock_unit: StockUnit, system: UnitSystem) -> str:
    """The unit in which a bare number is taken: the shop's unit for what is measured; lengths are metres or feet."""
    if stock_unit is StockUnit.METRE:
        return "ft" if system is UnitSystem.US else "m"
    return shown_unit(stock_unit.measure, system)


def _exact(value: Decimal, from_unit: str, to_unit: str) -> Decimal:
    fraction = convert(value, from_unit=from_unit, to_unit=to_unit)
    return Decimal(fraction.numerator) / Decimal(fraction.denominator)


class StockQuantityField(MeasureField):
    """A quantity with its unit, cleaned to the material's stock unit and to the step that the ledger keeps.

    Above 0 and at most ``MOST`` unless said otherwise; bounds are in the stock unit.
    """

    def __init__(self, *, stock_unit: StockUnit = StockUnit.LITRE, system: UnitSystem = UnitSystem.METRIC, **kwargs: Any) -> None:
        self.stock_unit = stock_unit
        super().__init__(
            kind=stock_unit.measure,
            system=system,
            unit=typed_unit(stock_unit, system),
            **{"above": Decimal(0), "maximum": MOST, **kwargs},
        )

    def use(self, stock_unit: StockUnit, system: UnitSystem) -> None:
        """Read in another stock unit from now on."""
        self.stock_unit, self.kind = stock_unit, stock_unit.measure
        self.set_system(system, typed_unit(stock_unit, system))

    def in_unit(self, value: Decimal | int) -> Decimal:
        """A stored quantity as a number of the field's unit; metres are stored as such."""
        if self.stock_unit is StockUnit.METRE:
            return _exact(Decimal(value), self.stock_unit.value, self.unit)
        return super().in_unit(value)

    def prepare_value(self, value: Any) -> Any:
        """A stored quantity in the unit that a bare number is read in."""
        if self.stock_unit is StockUnit.METRE and isinstance(value, (Decimal, int)):
            return plain_number(self.in_unit(value))
        return super().prepare_value(value)

    def to_python(self, value: Any) -> Decimal | None:
        """Read the text; metres are measured in mm inside."""
        inside = super().to_python(value)
        if inside is None:
            return None
        return to_step(inside / 1000 if self.stock_unit is StockUnit.METRE else inside)


_WRAPPED = re.compile(r"^\s*(?:an?\s+)?[a-z]+\s+of\s+(?P<inside>.+)$", re.IGNORECASE)
_CONTAINER = re.compile(
    r"\s*(?:cans?|tins?|pails?|drums?|kegs?|jugs?|bottles?|boxe?s?|bags?|rolls?|packs?|sleeves?|cartons?)\s*$", re.IGNORECASE
)


class ContentField(StockQuantityField):
    """What is in a pack: ``5 L``, ``1 gal can``, ``box of 50``, ``roll of 50 m``."""

    def to_python(self, value: Any) -> Decimal | None:
        """Leave the container's name away and read the rest as a quantity."""
        if value in self.empty_values:
            return None
        text = str(value)
        wrapped = _WRAPPED.match(text)
        return super().to_python(wrapped["inside"] if wrapped else _CONTAINER.sub("", text))


_KG_PER_L = re.compile(r"\s*(?:kg\s*/\s*(?:l|dm³|dm3)|g\s*/\s*(?:ml|cm³|cm3|cc))\s*$", re.IGNORECASE)


class DensityField(MeasureField):
    """A density, cleaned to kg/L. A bare number is kg/L, or lb/gal in a shop that reads US units; g/mL and g/L are read too."""

    def __init__(self, *, system: UnitSystem = UnitSystem.METRIC, **kwargs: Any) -> None:
        super().__init__(kind=Kind.VOC, system=system, minimum=Decimal("0.3"), maximum=Decimal(5), **kwargs)

    def set_system(self, system: UnitSystem, unit: str | None = None) -> None:
        """Mass over volume is read by the table's g/L; people see kg/L."""
        super().set_system(system, unit)
        self.shown = "lb/gal" if system is UnitSystem.US else "kg/L"
        self.widget.attrs["data-unit"] = self.shown

    def prepare_value(self, value: Any) -> Any:
        """A stored density as the shortest number of the shop's unit that reads back the same."""
        if not isinstance(value, Decimal):
            return value
        if self.shown == "kg/L":
            return plain_number(value, 4)
        exact = _exact(value * 1000, "g/L", "lb/gal")
        texts = (plain_number(exact, places) for places in range(6))
        same = (text for text in texts if round(_exact(Decimal(text), "lb/gal", "g/L") / 1000, 4) == round(value, 4))
        return next(same, plain_number(exact))

    def to_python(self, value: Any) -> Decimal | None:
        """Read the text as mass over volume."""
        if value in self.empty_values:
            return None
        text = str(value).strip()
        bare = _KG_PER_L.sub("", text)
        in_kg = bare != text or (self.shown == "kg/L" and not re.search(r"[a-z]", text, re.IGNORECASE))
        try:
            number = super().to_python(f"{bare} g/L" if in_kg else text)
        except ValidationError:
            raise ValidationError(
                f"“{text}” can’t be read as a density. Write for example 1.05, 1.05 kg/L or 8.8 lb/gal.", code="unit"
            ) from None
        if number is None:
            return None
        density = round(number if in_kg else number / 1000, 4)
        self.understood = f"{plain_number(density, 4)} kg/L"
        return density

    def show(self, value: Decimal) -> str:
        """A bound in the shop's unit."""
        return f"{self.prepare_value(value)} {self.shown}"


class WholeMinutesField(MeasureField):
    """A time such as ``4 h`` or ``90``, cleaned to whole minutes."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(kind=Kind.TIME, places=0, minimum=Decimal(1), maximum=Decimal(60 * 24 * 60), **kwargs)

    def prepare_value(self, value: Any) -> Any:
        """Stored minutes as they are."""
        return str(value) if isinstance(value, int) else super().prepare_value(value)

    def clean(self, value: Any) -> Any:
        """Whole minutes."""
        minutes = super().clean(value)
        return None if minutes is None else int(minutes)


class DaysField(forms.IntegerField):
    """A number of whole days."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"min_value": 1, "max_value": 3650, **kwargs})
        self.widget = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "data-unit": "days"})


def number_box(unit: str = "") -> forms.TextInput:
    """A box for a plain number, with the unit that stands beside it."""
    attrs = {"inputmode": "decimal", "autocomplete": "off"}
    return forms.TextInput(attrs={**attrs, "data-unit": unit} if unit else attrs)


def lot_box() -> forms.TextInput:
    """A box for a lot number in a row of several."""
    return forms.TextInput(attrs={"autocomplete": "off", "class": "compact"})


def day_box() -> forms.DateInput:
    """A box for a day that the browser's own calendar fills."""
    return forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
