"""Template filters that show measures, money and dates the way the shop chose."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import template

from finishing import show

register = template.Library()

register.filter("money", show.money)
register.filter("percent", show.percent)
register.filter("quantity", show.quantity)
register.filter("size", show.length)  # the framework has a length of its own
register.filter("film", show.film)
register.filter("area", show.area)
register.filter("volume", show.volume)
register.filter("pour", show.pour)
register.filter("voc", show.voc)
register.filter("pressure", show.pressure)
register.filter("temperature", show.temperature)
register.filter("grams", show.grams)
register.filter("minutes", show.minutes)
register.filter("number", show.number)
register.filter("day", show.day)
register.filter("per_area", show.per_area)


@register.filter
def stock(value: Decimal | None, material: Any) -> str:
    """A quantity of a material in its stock unit: ``{{ lot.on_hand|stock:lot.material }}``."""
    return show.quantity(value, material.stock_unit)
