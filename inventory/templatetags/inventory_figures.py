"""Template filters for figures that only the inventory shows."""

from __future__ import annotations

from django import template

from inventory import shown

register = template.Library()

register.filter("per_unit", shown.per_unit)
