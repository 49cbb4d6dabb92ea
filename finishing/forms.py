"""Form fields that read what people type: measures with units, money, percentages; and the hidden key of a submission."""

from __future__ import annotations

import uuid
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from finishing.fields import to_step
from finishing.units import Kind, UnitError, UnitSystem, convert, inch_fraction, plain_number, read_measure, shown_unit

KIND_ATTRIBUTES = {"inputmode": "text", "autocomplete": "off"}
# Beyond this nothing in a shop is measured or paid, and a decimal of 28 digits has no room left for its places.
ABSURD = Decimal(10) ** 15
BOUNDS = {"min_value": "This must be %(limit_value)s or more.", "max_value": "This must be %(limit_value)s or less."}
TOO_LARGE = "This number is far too large to be meant."


class MeasureField(forms.Field):
    """A measure with its unit, cleaned to a ``Decimal`` in the inside unit of its kind (mm, µm, m², L, kg, min, kPa, g/L).

    A bare number is taken in ``unit`` (the shop's unit for the kind when not given); the field says which. ``minimum`` and
    ``maximum`` are in the inside unit, ``above`` refuses the bound itself. ``places`` rounds the result.
    """

    widget = forms.TextInput

    def __init__(
        self,
        *,
        kind: Kind,
        system: UnitSystem = UnitSystem.METRIC,
        unit: str | None = None,
        minimum: Decimal | None = None,
        above: Decimal | None = None,
        maximum: Decimal | None = None,
        places: int = 6,
        **kwargs: Any,
    ) -> None:
        self.kind, self.minimum, self.above, self.maximum, self.places = kind, minimum, above, maximum, places
        self.understood = ""
        super().__init__(**kwargs)
        self.set_system(system, unit)

    def set_system(self, system: UnitSystem, unit: str | None = None) -> None:
        """Take bare numbers in this unit, or in the unit that the shop's system shows."""
        self.system = system
        self.unit = unit or shown_unit(self.kind, system)
        self.widget.attrs.update({**KIND_ATTRIBUTES, "data-unit": self.unit})

    def in_unit(self, value: Decimal | int) -> Decimal:
        """A stored value as a number of the field's unit."""
        from finishing.units import INSIDE

        exact = convert(value, from_unit=INSIDE[self.kind], to_unit=self.unit)
        return Decimal(exact.numerator) / Decimal(exact.denominator)

    def prepare_value(self, value: Any) -> Any:
        """Show a stored value in the field's unit; leave what was typed alone."""
        if isinstance(value, (Decimal, int)):
            return self._shortest(self.in_unit(value), round(Decimal(value), self.places))
        return value

    def _shortest(self, shown: Decimal, stored: Decimal) -> str:
        """The shortest text that reads back as what is stored: 20 fl oz kept as 0.591471 L stays 20.

        Where that would be a long row of decimals, the measure is shown in the inside unit: 715 mm, not 28.149606 in.
        """
        from finishing.units import INSIDE

        fraction = inch_fraction(stored) if self.unit == "in" else None
        if fraction is not None:
            return fraction
        inside = f"{plain_number(stored, self.places)} {INSIDE[self.kind]}"
        for places in range(7):
            text = plain_number(shown, places)
            back = convert(Decimal(text), from_unit=self.unit, to_unit=INSIDE[self.kind])
            if round(Decimal(back.numerator) / Decimal(back.denominator), self.places) == stored:
                return inside if places > 4 and len(inside) < len(text) else text
        return inside

    def to_python(self, value: Any) -> Decimal | None:
        """Read the text; the reading taken is kept in ``understood``."""
        if value in self.empty_values:
            return None
        try:
            measure = read_measure(str(value), self.kind, assume=self.unit)
        except UnitError as error:
            raise ValidationError(str(error), code="unit") from error
        if abs(measure.value) > ABSURD:
            raise ValidationError(TOO_LARGE, code="too_large")
        self.understood = measure.understood
        return round(measure.decimal, self.places)

    def validate(self, value: Any) -> None:
        """Refuse what lies outside the bounds, in the field's own unit."""
        super().validate(value)
        if value is None:
            return
        if self.above is not None and value <= self.above:
            raise ValidationError(f"This must be above {self.show(self.above)}.", code="too_small")
        if self.minimum is not None and value < self.minimum:
            raise ValidationError(f"This must be {self.show(self.minimum)} or more.", code="too_small")
        if self.maximum is not None and value > self.maximum:
            raise ValidationError(f"This must be {self.show(self.maximum)} or less.", code="too_large")

    def show(self, value: Decimal) -> str:
        """A bound in the field's unit, in words."""
        return f"{plain_number(self.in_unit(value), 3)} {self.unit}"

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Compare what was shown with what came back."""
        return str(self.prepare_value(initial) if initial is not None else "") != str(data if data is not None else "")


class MoneyFormField(forms.DecimalField):
    """An amount in the shop's currency, exact to the ledger's step; a currency sign or spaces are forgiven."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("min_value", Decimal(0))
        kwargs.setdefault("max_value", Decimal(100_000_000))
        kwargs["error_messages"] = {**BOUNDS, **kwargs.get("error_messages", {})}
        super().__init__(**{"max_digits": 19, "decimal_places": 6, **kwargs})
        self.widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "data-money": "1"})

    def prepare_value(self, value: Any) -> Any:
        """Stored amounts are shown without needless zeros, but with cents."""
        if isinstance(value, Decimal):
            return f"{value:.2f}" if value == round(value, 2) else plain_number(value)
        return value

    def to_python(self, value: Any) -> Any:
        """Read an amount such as 1,234.50; refuse what is not a finite number."""
        if value in self.empty_values:
            return None
        text = str(value).strip().lstrip("$€£").replace("\u00a0", "").replace(" ", "")
        _, comma, tail = text.rpartition(",")
        if comma and "." not in tail and len(tail) != 3:
            raise ValidationError(f"The comma in “{value}” is unclear: write the cents after a point.", code="invalid")
        try:
            number = Decimal(text.replace(",", ""))
        except InvalidOperation:
            raise ValidationError(f"“{value}” can’t be read as an amount. Write for example 43.50.", code="invalid") from None
        if not number.is_finite():
            raise ValidationError("This must be an ordinary number.", code="invalid")
        if abs(number) > ABSURD:
            raise ValidationError(TOO_LARGE, code="too_large")
        return to_step(number)


class PercentField(forms.DecimalField):
    """A share typed in percent: 35 is cleaned to 0.35. ``maximum`` and ``minimum`` are shares, kept to ``places`` decimals."""

    def __init__(
        self,
        *,
        minimum: Decimal = Decimal(0),
        maximum: Decimal = Decimal(1),
        below: Decimal | None = None,
        places: int = 4,
        **kwargs: Any,
    ) -> None:
        self.minimum, self.maximum, self.below, self.places = minimum, maximum, below, places
        super().__init__(**{"max_digits": 12, "decimal_places": 6, **kwargs})
        self.widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "data-unit": "%"})

    def prepare_value(self, value: Any) -> Any:
        """A stored share is shown in percent."""
        return plain_number(Decimal(value) * 100) if isinstance(value, (Decimal, int)) else value

    def to_python(self, value: Any) -> Any:
        """Read percent, with or without the sign."""
        if value in self.empty_values:
            return None
        try:
            number = Decimal(str(value).strip().removesuffix("%").strip())
        except InvalidOperation:
            raise ValidationError(f"“{value}” can’t be read as a percentage. Write for example 35.", code="invalid") from None
        if not number.is_finite():
            raise ValidationError("This must be an ordinary number.", code="invalid")
        if abs(number) > ABSURD:
            raise ValidationError(TOO_LARGE, code="too_large")
        return round(number / 100, self.places)

    def validate(self, value: Any) -> None:
        """Keep the share within its bounds, told in percent."""
        forms.Field.validate(self, value)
        if value is None:
            return
        if self.below is not None and value >= self.below:
            raise ValidationError(f"This must be below {plain_number(self.below * 100)} %.", code="too_large")
        if not self.minimum <= value <= self.maximum:
            raise ValidationError(
                f"This must be between {plain_number(self.minimum * 100)} and {plain_number(self.maximum * 100)} %.",
                code="out_of_range",
            )

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Compare in percent."""
        return str(self.prepare_value(initial) if initial is not None else "") != str(data if data is not None else "")


class KeyField(forms.UUIDField):
    """The hidden key of one submission: made when the form is shown, so that the same form sent twice acts once."""

    widget = forms.HiddenInput

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"initial": uuid.uuid4, "error_messages": {"required": STALE, "invalid": STALE}, **kwargs})


STALE = "This form is out of date. Reload the page and send it again; nothing was saved."


class KeyedForm(forms.Form):
    """A form that moves stock or makes a document: it carries its idempotency key."""

    key = KeyField()
