"""Fields for what is read in the booth: gauge readings, temperature; and the tablet's clock against the server's."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.dateparse import parse_datetime

from costing.forms.material_rows import CLOCK_SLACK
from costing.models.jobs import COLDEST, HOTTEST
from costing.services.coat_checks import MOST_READINGS
from finishing import show
from finishing.forms import MeasureField
from finishing.units import Kind, UnitSystem

_APART = re.compile(r"[;,]\s*|\s+")
_NUMBER_AND_UNIT = re.compile(r"(?P<number>[-−]?\d+(?:[.,]\d+)?)\s*°?\s*(?P<unit>[CF])?", re.IGNORECASE)


class ReadingsField(forms.CharField):
    """Wet film gauge readings, cleaned to a tuple in µm: ``100 110 125``, or ``4.5 5 mil`` where the last unit holds for all."""

    def __init__(self, *, system: UnitSystem, **kwargs: Any) -> None:
        self.film = MeasureField(kind=Kind.FILM, system=system, minimum=Decimal(1), maximum=Decimal(2000), places=2)
        super().__init__(**{"required": False, "max_length": 400, **kwargs})
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off", "data-unit": self.film.unit})

    def clean(self, value: Any) -> Any:
        """Each reading by itself; the one that can't be is named."""
        text = super().clean(value).strip()
        unit = next((word for word in ("µm", "um", "mil", "mils") if text.lower().endswith(f" {word}")), "")
        parts = [part for part in _APART.split(text.removesuffix(unit).strip() if unit else text) if part]
        if len(parts) > MOST_READINGS:
            raise ValidationError(f"These are {len(parts)} readings. Give {MOST_READINGS} at most.")
        readings = []
        for part in parts:
            try:
                readings.append(self.film.clean(f"{part} {unit}".strip()))
            except ValidationError as error:
                raise ValidationError(f"“{part}” is no wet film that a gauge reads. {error.messages[0]}") from error
        return tuple(readings)


class TemperatureField(forms.Field):
    """A temperature, cleaned to °C: ``21``, ``21 C``, ``70 F``. A bare number is read in the shop's unit."""

    widget = forms.TextInput

    def __init__(self, *, system: UnitSystem, **kwargs: Any) -> None:
        self.unit = "F" if system is UnitSystem.US else "C"
        super().__init__(**{"required": False, **kwargs})
        self.widget.attrs.update({"inputmode": "decimal", "autocomplete": "off", "data-unit": f"°{self.unit}"})

    def to_python(self, value: Any) -> Decimal | None:
        """Read number and unit."""
        if value in self.empty_values:
            return None
        found = _NUMBER_AND_UNIT.fullmatch(str(value).strip())
        if found is None:
            raise ValidationError(f"“{value}” can’t be read as a temperature. Write for example 21 C or 70 F.")
        try:
            number = Decimal(found["number"].replace("−", "-").replace(",", "."))
        except InvalidOperation:
            raise ValidationError(f"“{value}” can’t be read as a temperature.") from None
        in_fahrenheit = (found["unit"] or self.unit).upper() == "F"
        return round((number - 32) * 5 / 9 if in_fahrenheit else number, 2)

    def validate(self, value: Any) -> None:
        """The air of a workshop."""
        super().validate(value)
        if value is not None and not COLDEST <= value <= HOTTEST:
            raise ValidationError(f"{show.temperature(value)} can’t be the air of the booth. Check the thermometer and the unit.")


# ------------------------------------------------------------ whose clock


class MomentField(forms.CharField):
    """A moment that a script wrote, with its time zone; empty or unreadable is None."""

    widget = forms.HiddenInput

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"required": False, "max_length": 40, **kwargs})

    def clean(self, value: Any) -> Any:
        """The moment or None."""
        try:
            moment = parse_datetime(super().clean(value))
        except (ValueError, ValidationError):
            return None
        return moment if moment is not None and moment.tzinfo is not None else None


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceClock:
    """The tablet's clock when it sent something, against the server's when it came.

    A clock that is right is believed. A moment by a wrong one is mended by how long ago it was by that same clock: whatever
    the clock shows, the time that has passed since is right, unless somebody has set the clock in between.
    """

    device_now: datetime
    server_now: datetime

    @property
    def ahead(self) -> timedelta:
        """How far the tablet's clock is ahead."""
        return self.device_now - self.server_now

    @property
    def is_off(self) -> bool:
        """True when it is off by more than a network's delay."""
        return abs(self.ahead) > CLOCK_SLACK

    def mend(self, moment: datetime) -> datetime:
        """A moment of the tablet by the server's clock; ValidationError for one after the sending."""
        since = self.device_now - moment
        if since < -CLOCK_SLACK:
            raise ValidationError("The tablet’s clock was set back after this was logged. Give the time at which it was done.")
        if not self.is_off:
            return min(moment, self.server_now)  # believed as it is, so that the time on the way changes no order
        return self.server_now - max(since, timedelta(0))

    @property
    def words(self) -> str:
        """What is told when it is off."""
        minutes = show.minutes(Decimal(int(abs(self.ahead).total_seconds() // 60)))
        way = "ahead" if self.ahead > timedelta(0) else "behind"
        return f"The tablet’s clock is {minutes} {way}. The times were mended; set the clock."
