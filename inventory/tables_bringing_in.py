"""What a list would change, row by row; and the lists that were uploaded."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import django_tables2 as tables
from django.utils.html import format_html, format_html_join
from django.utils.safestring import mark_safe

from finishing.show import NOTHING, day
from inventory.bringing_in.plan import PlannedRow, State
from inventory.models import ListUpload
from inventory.tables import FIGURE, HouseTable, badge

BREAK = mark_safe("<br>")
STATE_WORDS = {
    State.NEW: ("ok", "new"),
    State.CHANGED: ("waiting", "changed"),
    State.SAME: ("empty", "unchanged"),
    State.UNKNOWN: ("note", "not bought here"),
    State.WRONG: ("bad", "wrong"),
}


class PlanTable(HouseTable):
    """Rows of a list with what they would change, or what is wrong."""

    caption = "What the list would change"

    number = tables.Column(verbose_name="Row", attrs=FIGURE, orderable=False)
    what = tables.Column(verbose_name="What", orderable=False)
    state = tables.Column(verbose_name="Becomes", orderable=False, attrs={"td": {"class": "nowrap"}})
    changes = tables.Column(verbose_name="In particular", empty_values=(), orderable=False)

    def __init__(self, rows: list[PlannedRow], *, applied: bool = False) -> None:
        super().__init__(rows)
        if applied:
            self.caption = "What the list changed"

    def render_state(self, value: State) -> str:
        """In words with a sign."""
        return badge(*STATE_WORDS[value])

    def render_changes(self, record: PlannedRow) -> str:
        """Each fault or change in a line of its own."""
        faults = [(one.column or "Row", one.words) for one in record.faults]
        changed = [(one.column, f"{one.old or NOTHING} → {one.new or NOTHING}") for one in record.changes]
        new = [(one.column, one.new) for one in record.changes]
        is_new = record.state is State.NEW and not faults
        shown = format_html_join(
            "; " if is_new else BREAK, '<span class="soft">{}:</span> {}', faults or (new if is_new else changed)
        )
        if record.note:
            return format_html("{}{}{}", shown, BREAK if shown else "", record.note)
        return shown or NOTHING


class ListUploadTable(HouseTable):
    """Uploaded lists, newest first."""

    caption = "Lists that were uploaded"

    created_at = tables.Column(verbose_name="Day", orderable=False, attrs={"td": {"class": "nowrap"}})
    file_name = tables.Column(verbose_name="File", linkify=True, orderable=False)
    kind = tables.Column(verbose_name="List", orderable=False)
    by = tables.Column(verbose_name="By", orderable=False)
    counts = tables.Column(verbose_name="Rows", orderable=False)
    applied_at = tables.Column(verbose_name="Stands", empty_values=(), orderable=False)

    def render_created_at(self, value: datetime) -> str:
        """The day."""
        return day(value)

    def render_kind(self, record: ListUpload) -> str:
        """The list's name, and whose."""
        return f"{record.get_kind_display()}, {record.supplier}" if record.supplier else record.get_kind_display()

    def render_counts(self, value: dict[str, Any]) -> str:
        """How many rows of each state."""
        return ", ".join(f"{value[state]} {words}" for state, (_, words) in STATE_WORDS.items() if value.get(state)) or NOTHING

    def render_applied_at(self, value: datetime | None, record: ListUpload) -> str:
        """Applied or not."""
        if value:
            return badge("done", "applied")
        return badge("bad", "has faults") if record.counts.get(State.WRONG) else badge("waiting", "not applied")
