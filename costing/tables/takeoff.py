"""Lists of estimates, of rows read from a cut list, and of what is wrong with it."""

from __future__ import annotations

import django_tables2 as tables

from costing.core.takeoff_reading import ReadRow
from costing.models import Estimate
from costing.tables.columns import RIGHT, FigureColumn
from finishing import show


class EstimateTable(tables.Table):
    """Estimates, newest first."""

    number = tables.Column(linkify=True, order_by="pk", attrs={"td": {"class": "nowrap"}})
    name = tables.Column(linkify=True)
    customer = tables.Column(default="nobody yet", order_by="customer__name")
    system_count = tables.Column(verbose_name="Systems", attrs=RIGHT)
    row_count = tables.Column(verbose_name="Rows", attrs=RIGHT)
    created_at = FigureColumn(show.day, verbose_name="Begun")

    class Meta:
        model = Estimate
        fields = ["number", "name", "customer", "system_count", "row_count", "created_at"]
        caption = "Estimates"


class ProblemTable(tables.Table):
    """What keeps a list from being read, row by row."""

    row = tables.Column(verbose_name="Row", attrs=RIGHT, orderable=False)
    column = tables.Column(verbose_name="Column", orderable=False)
    wrong = tables.Column(verbose_name="What is wrong", orderable=False)
    right = tables.Column(verbose_name="What would be right", orderable=False)

    class Meta:
        caption = "To put right"

    def render_row(self, value: int) -> str:
        """Row 0 is the list as a whole."""
        return str(value) if value else "–"

    def render_column(self, value: str) -> str:
        """A problem of the whole row has no column."""
        return value or "–"


class ReadRowTable(tables.Table):
    """The rows as they were understood."""

    number = tables.Column(verbose_name="Row", attrs=RIGHT, orderable=False)
    label = tables.Column(verbose_name="Piece", orderable=False)
    pieces = tables.Column(accessor="row__pieces", attrs=RIGHT, orderable=False)
    sizes = tables.Column(empty_values=(), verbose_name="Understood as", orderable=False)
    finished = tables.Column(empty_values=(), verbose_name="Finished sides", orderable=False)
    zone = tables.Column(accessor="row__zone", orderable=False)
    area = FigureColumn(show.area, accessor="row__area", orderable=False)

    class Meta:
        caption = "Rows as understood"

    def render_sizes(self, record: ReadRow) -> str:
        """The sizes in the shop's unit."""
        named = {"panel": (record.length, record.width, record.thickness), "moulding": (record.length, record.girth)}
        sizes = named.get(record.form)
        if sizes is None:
            return "area given"
        words = " × ".join(show.length(size) for size in sizes if size is not None)
        return words if record.form == "panel" else f"{words} girth"

    def render_finished(self, record: ReadRow) -> str:
        """Faces, edges and factors, where they matter."""
        words: list[str] = []
        if record.form == "panel":
            words.append(f"{record.faces} faces, {record.long_edges} long and {record.short_edges} short edges")
            if record.profile_factor != 1:
                words.append(f"profile {show.number(record.profile_factor, 4)}")
        if record.geometry_factor != 1:
            words.append(f"geometry {show.number(record.geometry_factor, 4)}")
        return ", ".join(words) or "–"
