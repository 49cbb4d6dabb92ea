"""The lists about counts."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.utils.html import format_html

from finishing.show import NOTHING, day, money, quantity
from inventory.choices import CountStatus
from inventory.counts import Reckoned, clock
from inventory.counts_due import DueMaterial
from inventory.models import StockCount
from inventory.shown import signed, signed_money
from inventory.tables import FIGURE, HouseTable, badge

NOWRAP = {"td": {"class": "nowrap"}}
BADGE_OF = {CountStatus.OPEN: "waiting", CountStatus.POSTED: "done", CountStatus.CANCELLED: "empty"}


def state_badge(count: StockCount) -> str:
    """Where a count stands, in words with a sign."""
    return badge(BADGE_OF[CountStatus(count.status)], str(count.get_status_display()).lower())


class CountTable(HouseTable):
    """Counts, newest first. Rows carry ``line_count`` and ``entered``."""

    MONEY = ("difference_value",)
    caption = "Counts"

    number = tables.Column(accessor="label", verbose_name="Count", linkify=True, attrs=NOWRAP, order_by="pk")
    scope = tables.Column(verbose_name="What is counted", orderable=False)
    status = tables.Column(verbose_name="State", attrs=NOWRAP)
    entered = tables.Column(verbose_name="Lots counted", attrs=FIGURE, orderable=False)
    accurate_lines = tables.Column(verbose_name="Agreed", attrs=FIGURE, orderable=False)
    difference_value = tables.Column(verbose_name="Difference", attrs=FIGURE, default=NOTHING)
    opened_at = tables.Column(verbose_name="Opened", attrs=NOWRAP)

    class Meta:
        empty_text = "No count fits these filters."

    def render_status(self, record: StockCount) -> str:
        """Open, posted or cancelled."""
        return state_badge(record)

    def render_scope(self, record: StockCount) -> str:
        """The place, the whole shop or chosen materials; blind or with book figures."""
        return f"{record.scope}, blind" if record.is_blind else record.scope

    def render_entered(self, value: int, record: Any) -> str:
        """Of how many."""
        return f"{value} of {record.line_count}"

    def render_accurate_lines(self, value: int, record: StockCount) -> str:
        """Lines within tolerance of a posted count."""
        return f"{value} of {record.counted_lines}" if record.status == CountStatus.POSTED else NOTHING

    def render_difference_value(self, value: Decimal) -> str:
        """With its sign."""
        return signed_money(value)

    def render_opened_at(self, value: datetime) -> str:
        """The day."""
        return day(value)


class DueTable(HouseTable):
    """Materials with the day on which they are to be counted, with a box to choose each."""

    MONEY = ("yearly",)
    caption = "Materials to be counted"

    choose = tables.Column(empty_values=(), orderable=False, verbose_name="Count", accessor="pk")
    material = tables.Column(linkify=lambda record: record.material.get_absolute_url(), order_by="material__name")
    count_class = tables.Column(accessor="due__count_class", verbose_name="Class", attrs=NOWRAP)
    yearly = tables.Column(accessor="due__yearly_value", verbose_name="Used in a year", attrs=FIGURE)
    looked_on = tables.Column(accessor="due__looked_on", verbose_name="Looked at last", attrs=NOWRAP)
    has_moved = tables.Column(accessor="due__has_moved", verbose_name="Its lots moved since")
    due_on = tables.Column(accessor="due__due_on", verbose_name="Due", attrs=NOWRAP)
    state = tables.Column(empty_values=(), orderable=False, attrs=NOWRAP)

    class Meta:
        empty_text = "No material is in stock."
        sequence = ("choose", "material", "count_class", "state", "yearly", "looked_on", "has_moved", "due_on")

    def __init__(self, *args: Any, on: date, ticked: Collection[str], **kwargs: Any) -> None:
        self.on, self.ticked = on, ticked
        super().__init__(*args, **kwargs)

    def render_choose(self, record: DueMaterial) -> str:
        """A box; none for what is being counted."""
        if record.being_counted is not None:
            return ""
        checked = " checked" if str(record.pk) in self.ticked else ""
        return format_html(
            '<input type="checkbox" name="materials" value="{}" aria-label="Count {}"{}>',
            record.pk,
            record.material.name,
            checked,
        )

    def render_yearly(self, value: Decimal) -> str:
        """At the lots' cost."""
        return money(value)

    def render_looked_on(self, value: date) -> str:
        """The day of the count, or of the delivery, of the lot that was looked at longest ago."""
        return day(value)

    def render_has_moved(self, value: bool) -> str:
        """Whether something came or went."""
        return "yes" if value else "no"

    def render_due_on(self, value: date) -> str:
        """The day."""
        return day(value)

    def render_state(self, record: DueMaterial) -> str:
        """Due, later, or being counted."""
        if record.being_counted is not None:
            count = record.being_counted
            return format_html('<a href="{}">on {}</a>', count.get_absolute_url(), count.label)
        late = (self.on - record.due.due_on).days
        if late < 0:
            return badge("note", f"in {-late} days" if late < -1 else "tomorrow")
        return badge("warning", "due today" if not late else f"{late} days late" if late > 1 else "1 day late")


class CountedTable(HouseTable):
    """The lines of a count that somebody looked at: what the books said then, and what was found."""

    MONEY = ("value",)
    caption = "What was counted"

    material = tables.Column(accessor="line__lot__material", linkify=True)
    lot = tables.Column(accessor="line__lot", linkify=True)
    place = tables.Column(accessor="line__lot__place", default=NOTHING)
    book = tables.Column(verbose_name="Books then", attrs=FIGURE)
    counted = tables.Column(attrs=FIGURE)
    difference = tables.Column(attrs=FIGURE)
    value = tables.Column(attrs=FIGURE)
    reason = tables.Column(accessor="line__reason", verbose_name="Reason", default=NOTHING)
    at = tables.Column(accessor="line__counted_at", verbose_name="Counted")

    class Meta:
        orderable = False

    def render_book(self, value: Decimal, record: Reckoned) -> str:
        """At the moment of counting."""
        return quantity(value, record.line.lot.material.stock_unit)

    def render_counted(self, value: Decimal, record: Reckoned) -> str:
        """What was found."""
        return quantity(value, record.line.lot.material.stock_unit)

    def render_difference(self, value: Decimal, record: Reckoned) -> str:
        """With its sign; in words where there is none."""
        return signed(quantity(value, record.line.lot.material.stock_unit), value) if value else "agrees"

    def render_value(self, value: Decimal, record: Reckoned) -> str:
        """The difference at the lot's cost."""
        return signed_money(value) if record.difference else NOTHING

    def render_at(self, value: datetime, record: Reckoned) -> str:
        """Day, time and by whom."""
        return f"{clock(value)} by {record.line.counted_by}"
