"""The lists of the stock value page."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

import django_tables2 as tables

from finishing.show import money, preferences, quantity
from inventory.choices import StockUnit
from inventory.shown import cost_per
from inventory.tables import FIGURE, HouseTable
from inventory.value import StockValue, ValueGroup, ValueLine, rounding

SUM = {**FIGURE, "tf": {"class": "num"}}
ROUNDING = "Rounding of single values"


class GroupTable(HouseTable):
    """Lots that have something in common: how many, and what they are worth together."""

    class Meta:
        orderable = False
        empty_text = "Nothing was in stock on that day."

    def render_lots(self, value: int) -> str:
        """How many; nothing in the row that rounds."""
        return str(value) if value else ""

    def render_value(self, value: Decimal) -> str:
        """At the lots' own cost."""
        return money(value)


def group_table(groups: Sequence[ValueGroup], *, head: str, prefix: str) -> GroupTable:
    """The groups with their total; where rounding each of them misses it, a row says by how much."""
    total = sum((group.value for group in groups), Decimal(0))
    columns = [
        ("words", tables.Column(verbose_name=head, footer="Total")),
        ("lots", tables.Column(verbose_name="Lots", attrs=SUM, footer=str(sum(group.lots for group in groups)))),
        ("value", tables.Column(verbose_name="Value", attrs=SUM, footer=money(total))),
    ]
    made = GroupTable(list(with_rounding(groups)), extra_columns=columns, prefix=prefix)
    made.caption = f"Value by {head.lower()}"
    return made


def with_rounding(groups: Sequence[ValueGroup]) -> Sequence[ValueGroup]:
    """The groups, and a last row for what rounding each of them leaves out."""
    off = rounding([group.value for group in groups], places=preferences().places)
    return [*groups, ValueGroup(words=ROUNDING, lots=0, value=off)] if off else groups


class ValueTable(HouseTable):
    """Lots with what they held on a day, and where they stood."""

    caption = "Value by lot"

    material = tables.Column(linkify=("material", [tables.A("material_id")]))
    number = tables.Column(verbose_name="Lot", linkify=("lot", [tables.A("pk")]), attrs={"td": {"class": "nowrap"}})
    kind_words = tables.Column(verbose_name="Kind")
    place = tables.Column()
    quantity = tables.Column(attrs=FIGURE, orderable=False)
    unit_cost = tables.Column(verbose_name="Cost", attrs=FIGURE, orderable=False)
    value = tables.Column(attrs=SUM)

    class Meta:
        empty_text = "Nothing was in stock on that day."

    def __init__(self, found: StockValue) -> None:
        total = tables.Column(verbose_name="Value", attrs=SUM, footer=money(found.total))
        super().__init__(list(found.lines), extra_columns=[("value", total)], prefix="lots-")

    def render_quantity(self, value: Decimal, record: ValueLine) -> str:
        """What was there."""
        return quantity(value, record.stock_unit)

    def render_unit_cost(self, value: Decimal, record: ValueLine) -> str:
        """What was paid, per litre or whatever the shop reads."""
        return cost_per(value, StockUnit(record.stock_unit), of=record.quantity)

    def render_value(self, value: Decimal) -> str:
        """At the lot's own cost."""
        return money(value)
