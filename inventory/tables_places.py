"""The lists of the pages of places."""

from __future__ import annotations

from decimal import Decimal

import django_tables2 as tables
from django.utils.html import format_html

from finishing.show import NOTHING, money, volume
from inventory.place_loads import PlaceLoad
from inventory.tables import FIGURE, HouseTable, badge


class LocationTable(HouseTable):
    """Places with what stands in them."""

    MONEY = ("value",)
    caption = "Places"

    name = tables.Column(accessor="location__name", verbose_name="Place", linkify=lambda record: record.get_absolute_url())
    kind = tables.Column(accessor="location__get_kind_display", verbose_name="Kind")
    lots = tables.Column(verbose_name="Lots", attrs=FIGURE, empty_values=())
    flammable = tables.Column(accessor="flammables__all__litres", verbose_name="Flammable liquid", attrs=FIGURE)
    state = tables.Column(empty_values=(), orderable=False, verbose_name="Against its limit")
    value = tables.Column(attrs=FIGURE)

    class Meta:
        order_by = "name"
        empty_text = "No place fits these filters."

    def render_name(self, value: str, record: PlaceLoad) -> str:
        """The name, and whether the place is out of use."""
        return value if record.location.is_active else f"{value} (not in use)"

    def render_lots(self, record: PlaceLoad) -> str:
        """How many lots stand there."""
        return str(len(record.lots)) if record.lots else NOTHING

    def order_lots(self, rows: list[PlaceLoad], is_descending: bool) -> tuple[list[PlaceLoad], bool]:
        """By how many there are."""
        return sorted(rows, key=lambda row: len(row.lots), reverse=is_descending), True

    def render_flammable(self, value: Decimal) -> str:
        """Categories 1 to 4 together."""
        return volume(value) if value else NOTHING

    def render_state(self, record: PlaceLoad) -> str:
        """In words: over a limit, not over it, or none entered; and whether something counts nowhere."""
        found, parts = record.flammables, []
        if found.is_over:
            parts.append(badge("bad", "over its limit"))
        elif not found.all.litres:
            parts.append(NOTHING)
        else:
            parts.append("not over the limit entered" if record.location.has_limits else "no limit entered")
        if found.unknown or found.unmeasured:
            parts.append(badge("warning", "not all counted"))
        return format_html("{} " * len(parts), *parts)

    def render_value(self, value: Decimal) -> str:
        """At the cost of the very lots."""
        return money(value)
