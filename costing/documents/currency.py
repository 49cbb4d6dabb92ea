"""Documents speak the currency they were written in, whatever the shop uses today."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from decimal import Decimal

from finishing import show
from finishing.units import convert
from inventory.choices import StockUnit
from inventory.forms.fields import typed_unit


@contextmanager
def shown_in(currency: str) -> Iterator[None]:
    """Show every amount in this currency inside the block."""
    before = show.preferences()
    show.use(replace(before, currency=currency))
    try:
        yield
    finally:
        show.use(before)


def per_unit(price: Decimal, unit: str) -> str:
    """A price per stock unit as a price per unit that the shop reads: ``$18.40/L`` or ``$69.65/gal``."""
    shown = typed_unit(StockUnit(unit), show.preferences().units)
    size = convert(1, from_unit=shown, to_unit=unit)
    return f"{show.money(price * Decimal(size.numerator) / Decimal(size.denominator))}/{shown}"
