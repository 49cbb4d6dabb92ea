"""Fields of the costing forms: cup volumes, rates of work, minutes, and the shop's units for all of them."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from finishing import show
from finishing.forms import BOUNDS, MeasureField
from finishing.units import Kind, UnitSystem, plain_number

_PER_HOUR = re.compile(r"\s*(?:/\s*(?:h|hr|hour)|(?:per|an)\s+hour)\.?\s*$", re.IGNORECASE)


class CupVolumeField(MeasureField):
    """A small volume, cleaned to litres: bare numbers are millilitres, or US fluid ounces."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(kind=Kind.VOLUME, **kwargs)

    def set_system(self, system: UnitSystem, unit: str | None = None) -> None:
        """Take bare numbers in mL or fl oz."""
        super().set_system(system, unit or ("fl oz" if system is UnitSystem.US else "mL"))


class WorkRateField(MeasureField):
    """A rate of work, cleaned to m²/h; ``20``, ``20 m²/h``, ``200 sq ft per hour``."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(kind=Kind.AREA, **{"places": 3, **kwargs})

    def set_system(self, system: UnitSystem, unit: str | None = None) -> None:
        """Show the unit as an area per hour."""
        super().set_system(system, unit)
        self.widget.attrs["data-unit"] = f"{self.unit}/h"

    def to_python(self, value: Any) -> Decimal | None:
        """Read the area; the hour is understood."""
        if value in self.empty_values:
            return None
        try:
            rate = super().to_python(_PER_HOUR.sub("", str(value)))
        except ValidationError as error:
            if error.code != "unit":
                raise
            example = "200 or 200 sq ft/h" if self.system is UnitSystem.US else "20 or 20 m²/h"
            raise ValidationError(
                f"“{value}” can’t be read as a rate of work. Write for example {example}.", code="unit"
            ) from error
        self.understood = f"{plain_number(rate, 3)} m²/h" if rate is not None else ""
        return rate

    def show(self, value: Decimal) -> str:
        """A bound as a rate."""
        return f"{super().show(value)}/h"


class LineMinutesField(MeasureField):
    """Minutes for each unit of a driver; a rate such as ``20 m²/h`` is read as minutes per m² and sets ``is_rate``."""

    def __init__(self, **kwargs: Any) -> None:
        self.is_rate = False
        super().__init__(kind=Kind.TIME, **{"places": 4, "minimum": Decimal(0), "maximum": Decimal(10_000), **kwargs})

    def to_python(self, value: Any) -> Decimal | None:
        """Read a time, or a rate of work as 60 / rate minutes per m²."""
        self.is_rate = bool(value) and bool(_PER_HOUR.search(str(value)))
        if not self.is_rate:
            return super().to_python(value)
        system = show.preferences().units
        rate = WorkRateField(system=system, above=Decimal(0), places=9).clean(value)
        return Decimal(round(Decimal(60) / rate, self.places))


class WholeNumberField(forms.IntegerField):
    """A whole number typed into a plain box."""

    def __init__(self, **kwargs: Any) -> None:
        messages = {**BOUNDS, "invalid": "Write a whole number, for example 24.", **kwargs.pop("error_messages", {})}
        super().__init__(error_messages=messages, **kwargs)
        self.widget = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "class": "narrow"})


class PlainNumberField(forms.DecimalField):
    """A plain number typed into a box; shown without needless zeros."""

    def __init__(self, *, unit: str = "", **kwargs: Any) -> None:
        super().__init__(error_messages={**BOUNDS, **kwargs.pop("error_messages", {})}, **kwargs)
        attrs = {"inputmode": "decimal", "autocomplete": "off", "class": "narrow"}
        self.widget = forms.TextInput(attrs={**attrs, "data-unit": unit} if unit else attrs)

    def prepare_value(self, value: Any) -> Any:
        """Stored numbers without trailing zeros; what was typed stays."""
        return plain_number(value) if isinstance(value, Decimal) else value

    def to_python(self, value: Any) -> Any:
        """Refuse NaN and infinity in plain words."""
        if value in self.empty_values:
            return None
        text = str(value).strip()
        if not re.fullmatch(r"[+-]?(?:\d+\.?\d*|\.\d+)", text):
            raise ValidationError(f"“{value}” can’t be read as a number. Write for example 1.05.", code="invalid")
        return super().to_python(text)


class ListedField(forms.TypedChoiceField):
    """A choice out of a list of objects that was read once for all fields that offer it."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"empty_value": None, **kwargs})

    def offer(self, listed: Mapping[str, Any], *, empty: str, words: Callable[[Any], str] = str) -> None:
        """Let people choose among these; the keys are what the browser sends."""

        def find(key: str) -> Any:
            if key not in listed:
                raise ValueError(key)
            return listed[key]

        self.choices = [("", empty), *((key, words(thing)) for key, thing in listed.items())]
        self.coerce = find


class ShopUnitsMixin:
    """A form whose measures are typed and shown in the shop's units."""

    fields: dict[str, forms.Field]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        system = show.preferences().units
        for field in self.fields.values():
            if isinstance(field, MeasureField):
                field.set_system(system)
