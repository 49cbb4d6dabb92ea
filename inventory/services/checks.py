"""The ledger's door: what people and programs hand in becomes exact, or is refused in words."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from decimal import Decimal

from django.db import models
from django.utils import timezone

from finishing.fields import to_step
from inventory.errors import DayError, QuantityError, StockError, TextError, amount

LARGEST = Decimal(1_000_000_000)  # stock units in one line, or money for one stock unit: more is a slip of the hand


def exact_quantity(value: Decimal, *, field: str = "quantity") -> Decimal:
    """A quantity above 0 in whole steps of the ledger; raises ``QuantityError``."""
    number = _finite(value, field, "A quantity")
    if number <= 0:
        raise QuantityError("A quantity is above 0. To take something back, reverse it.", value=value, field=field)
    if not to_step(number):
        raise QuantityError(f"{number} is less than the ledger can keep (0.000001).", value=value, field=field)
    return to_step(number)


def exact_cost(value: Decimal, *, field: str = "unit_cost") -> Decimal:
    """Money per stock unit, 0 or more, in whole steps of the ledger; raises ``QuantityError``."""
    number = _finite(value, field, "A cost")
    if number < 0:
        raise QuantityError("A cost can’t be below 0.", value=value, field=field)
    return to_step(number)


def _finite(value: object, field: str, what: str) -> Decimal:
    if isinstance(value, int) and not isinstance(value, bool):
        value = Decimal(value)
    if not isinstance(value, Decimal) or not value.is_finite():
        raise QuantityError(f"{what} must be an exact number; “{value}” is not one.", value=value, field=field)
    if value > LARGEST:
        raise QuantityError(f"{what} of more than {amount(LARGEST)} can’t be right.", value=value, field=field)
    return value


def past_day(on: date, *, what: str, field: str = "on") -> date:
    """A day that is not in the future; raises ``DayError``."""
    today = timezone.localdate()
    if on > today:
        raise DayError(f"{what} can’t be booked for {on}: that day is still to come.", on=on, field=field)
    return on


def not_before(on: date, earliest: date, *, what: str, field: str = "on") -> None:
    """Refuse a day before something was there; raises ``DayError``."""
    if on < earliest:
        raise DayError(f"{on} is too early: {what} on {earliest}.", on=on, field=field)


def kept_text(model: type[models.Model], field: str, value: str, *, required: str = "", shown_as: str = "") -> str:
    """A text without blanks around it that fits its column; ``required`` is the sentence for a missing one.

    Raises ``TextError`` at the form field ``shown_as`` (or the column's own name).
    """
    text = value.strip()
    at = shown_as or field
    longest = getattr(model._meta.get_field(field), "max_length", None)
    if required and not text:
        raise TextError(required, field=at)
    if longest is not None and len(text) > longest:
        raise TextError(f"Keep this to {longest} characters; it has {len(text)}.", field=at)
    if "\0" in text:
        raise TextError("This text holds a character that can’t be stored.", field=at)
    return text


@contextmanager
def at_line(place: int) -> Iterator[None]:
    """Mark a refusal with the line of the document it belongs to."""
    try:
        yield
    except StockError as error:
        error.line = place
        raise
