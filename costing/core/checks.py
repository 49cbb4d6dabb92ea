"""The door checks of the core's frozen dataclasses, and the two conversions that all its sums share.

Imports nothing but the standard library, so that every other module of the core may use it.
"""

from __future__ import annotations

import math
from decimal import Decimal

from costing.core.errors import NotANumberError, NotWholeError, OutOfRangeError, in_words

# Costing model, section 4: floating-point noise that a ceiling forgives.
FORGIVEN = 1e-9
_KEEP = 1 - FORGIVEN


def ceiling(value: float) -> int:
    """Smallest whole number not below ``value``, forgiving a relative 1e-9 (costing model, section 4).

    >>> ceiling(3.0000000001), ceiling(3.0001), ceiling(0.0)
    (3, 4, 0)
    """
    return math.ceil(value * _KEEP)


def to_decimal(quantity: float | Decimal) -> Decimal:
    """A physical quantity as the decimal that gets priced: the one place where float becomes Decimal.

    A double holds 15 significant decimal digits for sure; the digits after them are noise of the
    arithmetic and are left behind, so that 0.1 + 0.2 minutes are priced as 0.3 minutes.

    >>> to_decimal(0.1 + 0.2)
    Decimal('0.3')
    """
    if isinstance(quantity, Decimal):
        return quantity
    return Decimal(f"{quantity:.15g}")


def _range_in_words(unit: str, above: float | None, least: float | None, below: float | None, most: float | None) -> str:
    """A range as a request: 'give more than 0 and at most 10000 mm'."""
    parts = [
        f"{words} {in_words(limit)}"
        for words, limit in (("more than", above), ("at least", least), ("less than", below), ("at most", most))
        if limit is not None
    ]
    return f"give {' and '.join(parts) or 'a number'} {unit}".rstrip()


def check_number(
    value: object,
    field: str,
    *,
    words: str = "",
    unit: str = "",
    above: float | None = None,
    least: float | None = None,
    below: float | None = None,
    most: float | None = None,
) -> float:
    """``value`` as a float inside its range, or the error that says what to give.

    Raises NotANumberError for text, nothing, NaN and infinity, OutOfRangeError outside the range.
    """
    number = _as_number(value)
    if (
        math.isfinite(number)
        and (above is None or number > above)
        and (least is None or number >= least)
        and (below is None or number < below)
        and (most is None or number <= most)
    ):
        return number
    right = _range_in_words(unit, above, least, below, most)
    if math.isnan(number):
        raise NotANumberError(field=field, value=value, right=right, words=words)
    raise OutOfRangeError(field=field, value=value, right=right, words=words, unit=unit)


def _as_number(value: object) -> float:
    """A value as float: NaN for what is no finite number, infinity for a number too large for a float."""
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
        return math.nan
    if isinstance(value, int):
        return float(value) if value.bit_length() < 1000 else math.inf
    if isinstance(value, Decimal):
        return float(value) if value.is_finite() else math.nan
    return value if math.isfinite(value) else math.nan


def set_number(
    owner: object,
    field: str,
    *,
    words: str = "",
    unit: str = "",
    above: float | None = None,
    least: float | None = None,
    below: float | None = None,
    most: float | None = None,
) -> None:
    """Check a frozen dataclass's own field and store it as float."""
    value = check_number(getattr(owner, field), field, words=words, unit=unit, above=above, least=least, below=below, most=most)
    object.__setattr__(owner, field, value)


def check_count(owner: object, field: str, *, words: str = "", least: int, most: int) -> None:
    """Check that a field holds a whole number from ``least`` to ``most``."""
    value = getattr(owner, field)
    number = _as_number(value)
    right = f"give a whole number from {least} to {most}"
    if math.isnan(number):
        raise NotANumberError(field=field, value=value, right=right, words=words)
    if not least <= number <= most:
        raise OutOfRangeError(field=field, value=value, right=right, words=words)
    if number != int(number):
        raise NotWholeError(field=field, value=value, right=right, words=words)
    object.__setattr__(owner, field, int(number))


def set_decimal(
    owner: object,
    field: str,
    *,
    words: str = "",
    least: Decimal | None = Decimal(0),
    above: Decimal | None = None,
    below: Decimal | None = None,
    most: Decimal | None = None,
) -> None:
    """Check a field that holds money or a factor of money: a Decimal (or int), never a float."""
    value = getattr(owner, field)
    if isinstance(value, float):
        # A float cannot hold cents: a slip of the program, not of the person at the form.
        raise TypeError(f"{field} must be a Decimal, not the float {value!r}")
    check_number(
        value,
        field,
        words=words,
        above=_as_float(above),
        least=_as_float(least),
        below=_as_float(below),
        most=_as_float(most),
    )
    object.__setattr__(owner, field, Decimal(value))


def _as_float(limit: Decimal | None) -> float | None:
    return None if limit is None else float(limit)
