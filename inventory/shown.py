"""Figures of the inventory in words, in the shop's units: cost per unit, density."""

from __future__ import annotations

from decimal import Decimal

from finishing.money import round_money
from finishing.show import NOTHING, money, money_to, number, preferences
from finishing.units import UnitSystem, convert
from inventory.choices import StockUnit
from inventory.forms.fields import typed_unit
from inventory.models import Material

MOST_PLACES = 6  # of a cost as the books keep it


def per_unit(unit_cost: Decimal | None, material: Material) -> str:
    """A cost per stock unit of a material as a cost per unit that the shop reads, for example ``$21.20 per L``."""
    return cost_per(unit_cost, material.unit)


def cost_per(unit_cost: Decimal | None, stock_unit: StockUnit, *, of: Decimal | None = None) -> str:
    """The same for whatever is kept in ``stock_unit``.

    ``of``: a quantity in stock units that stands beside it with its value; the cost then has as many decimals as it takes for
    the two to give that value, six at most.
    """
    if unit_cost is None:
        return NOTHING
    unit = typed_unit(stock_unit, preferences().units)
    size = convert(1, from_unit=unit, to_unit=stock_unit.value)
    cost = unit_cost * Decimal(size.numerator) / Decimal(size.denominator)
    places = preferences().places
    if of is not None:
        amount = of / Decimal(size.numerator) * Decimal(size.denominator)
        while places < MOST_PLACES and round_money(amount * round_money(cost, places), preferences().places) != round_money(
            of * unit_cost, preferences().places
        ):
            places += 1
    return f"{money_to(cost, places)} per {'piece' if unit == 'pcs' else unit}"


def signed(shown: str, value: Decimal) -> str:
    """A figure that is already in words, with its sign before it: in or out of stock."""
    return f"+{shown}" if value > 0 else shown.replace("-", "−")


def signed_money(value: Decimal) -> str:
    """Money that moved, with its sign."""
    return signed(money(value), value)


def density(value: Decimal | None) -> str:
    """A density in kg/L as the shop reads it."""
    if value is None:
        return NOTHING
    if preferences().units is UnitSystem.US:
        exact = convert(value * 1000, from_unit="g/L", to_unit="lb/gal")
        return f"{number(float(exact), 3)} lb/gal"
    return f"{number(value, 4)} kg/L"
