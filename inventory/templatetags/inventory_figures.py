"""Template filters for figures that only the inventory shows."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import template

from finishing import show
from inventory import shown

register = template.Library()

register.filter("per_unit", shown.per_unit)
register.filter("moved_money", shown.signed_money)


@register.filter
def moved(value: Decimal, material: Any) -> str:
    """A quantity that came or went, with its sign: ``{{ row.difference|moved:lot.material }}``."""
    return shown.signed(show.quantity(value, material.stock_unit), value)
