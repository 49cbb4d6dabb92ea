"""Cut lists from files, read in the shop's units."""

from __future__ import annotations

from costing.core.takeoff_header import Choice
from costing.core.takeoff_reading import MOST_COLUMNS, MOST_ROWS, Reading, read_takeoff
from costing.core.takeoff_text import Sheet
from finishing import show
from finishing.units import Kind, shown_unit
from finishing.uploads import FileRefusedError, Limits, read_upload

__all__ = ["FileRefusedError", "cut_list_limits", "read_file", "read_in_shop_units"]


def read_file(content: bytes, *, limit: int) -> Sheet:
    """The cells of an uploaded cut list of at most ``limit`` bytes. Raises FileRefusedError."""
    return read_upload(content, cut_list_limits(limit))


def cut_list_limits(most_bytes: int) -> Limits:
    """How large a cut list may be."""
    return Limits(
        what="cut list",
        most_bytes=most_bytes,
        most_rows=MOST_ROWS,
        most_columns=MOST_COLUMNS,
        too_many="Split the list into several estimates.",
    )


def read_in_shop_units(sheet: Sheet, choice: Choice | None = None, *, length_unit: str = "") -> Reading:
    """Understand a sheet, its columns by their names or as chosen; bare sizes are in the units that the shop reads.

    ``length_unit`` is the symbol of another unit for bare lengths.
    """
    units = show.preferences().units
    length = length_unit or shown_unit(Kind.LENGTH, units)
    return read_takeoff(sheet.grid, length_unit=length, area_unit=shown_unit(Kind.AREA, units), choice=choice)
