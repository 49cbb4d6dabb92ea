"""The two field types of the ledger: quantities and money, exact on every database.

SQLite keeps plain decimal columns as binary floats, so sums and comparisons there carry noise. These fields store whole
numbers of a fixed step and give ``Decimal`` in Python; ``Sum``, ``F`` comparisons and constraints in SQL are exact.

SQL never multiplies two of these columns: sum the quantities, then multiply in Python.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any, TypeVar

from django.core import exceptions
from django.db import models
from django.db.models.expressions import Combinable
from django.utils.translation import gettext_lazy as _

STEP = Decimal("0.000001")
_SCALE = 6
_LIMIT = Decimal(9_000_000_000_000)


def to_step(value: Decimal) -> Decimal:
    """Round half up to the step that the ledger keeps (a millionth of a stock unit, or of the currency)."""
    return value.quantize(STEP, rounding=ROUND_HALF_UP)


if TYPE_CHECKING:
    _ST = TypeVar("_ST", contravariant=True)
    _GT = TypeVar("_GT", covariant=True)

    class _Base(models.BigIntegerField[_ST, _GT]):
        _pyi_private_set_type: Decimal | int | str | Combinable  # type: ignore[assignment]
        _pyi_private_get_type: Decimal  # type: ignore[assignment]
        _pyi_lookup_exact_type: Decimal | int  # type: ignore[assignment]
        _validators: list[Any]

else:

    class _Base(models.BigIntegerField):
        """The parent of the field types; the type parameters exist for the type checker only."""

        def __class_getitem__(cls, _parameters: Any) -> Any:
            return cls

    _ST = _GT = None


class StepField(_Base[_ST, _GT]):
    """A ``Decimal`` stored as a whole number of steps of 0.000001."""

    description = _("Exact decimal of step 0.000001")

    def from_db_value(self, value: int | None, expression: Any, connection: Any) -> Decimal | None:  # noqa: ARG002
        """Whole steps from the database become a ``Decimal``."""
        return None if value is None else Decimal(value).scaleb(-_SCALE)

    def to_python(self, value: Any) -> Any:
        """Anything that reads as a number becomes a ``Decimal``; a float is refused, since it is not exact."""
        if value is None or isinstance(value, Decimal):
            return value
        if isinstance(value, float):
            raise TypeError(f"{self.name} takes a Decimal, not a float ({value!r}): convert it where it is measured")
        try:
            return Decimal(str(value))
        except InvalidOperation:
            raise exceptions.ValidationError(_("“%(value)s” is not a number."), code="invalid", params={"value": value}) from None

    def get_prep_value(self, value: Any) -> int | None:
        """A ``Decimal`` becomes whole steps; a value between two steps is a programmer's slip and is refused."""
        number = self.to_python(value)
        if number is None:
            return None
        if not number.is_finite() or abs(number) > _LIMIT:
            raise ValueError(f"{self.name}: {number} is not an amount that can be kept")
        steps = number.scaleb(_SCALE)
        if steps != steps.to_integral_value():
            raise ValueError(f"{self.name}: {number} lies between two steps of {STEP}; round it with to_step first")
        return int(steps)

    def get_db_prep_value(self, value: Any, connection: Any, prepared: bool = False) -> Any:  # noqa: ARG002
        """Lookups hand over prepared integers; everything else is prepared here."""
        return value if prepared else self.get_prep_value(value)

    def value_to_string(self, obj: models.Model) -> str:
        """Serialised as plain decimal text, so that fixtures read as people write."""
        value = self.value_from_object(obj)
        return "" if value is None else f"{value:f}"

    def formfield(self, **kwargs: Any) -> Any:
        """A decimal form field of six places."""
        from django import forms

        return models.Field.formfield(
            self, **{"form_class": forms.DecimalField, "max_digits": 19, "decimal_places": _SCALE, **kwargs}
        )

    @property
    def validators(self) -> list[Any]:
        """The parent's range validators would compare whole steps with decimals, so they are left out."""
        return [*self.default_validators, *self._validators]


class QuantityField(StepField[_ST, _GT]):
    """A quantity in the material's stock unit (L, kg, pieces, m or m²)."""

    description = _("Quantity in the stock unit")


class MoneyField(StepField[_ST, _GT]):
    """An amount, or an amount per stock unit, in the shop's currency."""

    description = _("Amount in the shop's currency")
