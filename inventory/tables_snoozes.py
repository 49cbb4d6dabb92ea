"""The list of what was put off."""

from __future__ import annotations

from datetime import date
from typing import Any

import django_tables2 as tables
from django.utils.html import format_html

from finishing.show import day
from inventory.models import Snooze
from inventory.tables import HouseTable, badge

NOWRAP = {"td": {"class": "nowrap"}}


class SnoozeTable(HouseTable):
    """Snoozes, the latest first."""

    caption = "Snoozed lines"

    material = tables.Column(linkify=True, order_by=("material__name", "-pk"))
    reason = tables.Column(verbose_name="Why")
    from_day = tables.Column(verbose_name="From", attrs=NOWRAP)
    until = tables.Column(attrs=NOWRAP)
    by = tables.Column(verbose_name="By")
    state = tables.Column(empty_values=(), orderable=False)

    class Meta:
        empty_text = "Nothing was put off yet. A line of the reorder list can be snoozed with a reason and an end day."

    def __init__(self, *args: Any, on: date, **kwargs: Any) -> None:
        self.on = on
        super().__init__(*args, **kwargs)

    def render_from_day(self, value: date) -> str:
        """The day on which it was put off."""
        return day(value)

    def render_until(self, value: date) -> str:
        """Its last day."""
        return day(value)

    def render_state(self, record: Snooze) -> str:
        """Whether it is in force, over, or was taken back."""
        if record.is_in_force(self.on):
            return badge("waiting", "in force")
        if record.ended_by is not None:
            return format_html("{} {} by {}", badge("note", "taken back"), day(record.ended_on), record.ended_by)
        return badge("empty", "over")
