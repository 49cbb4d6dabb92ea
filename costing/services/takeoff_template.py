"""The workbook that a shop fills in with its cut list."""

from __future__ import annotations

import io
from typing import Any

from finishing import show
from finishing.units import Kind, shown_unit


def template_workbook() -> bytes:
    """A workbook to fill in: the columns in the shop's units, three examples, and a sheet that explains them."""
    from openpyxl import Workbook
    from openpyxl.styles import Font

    units = show.preferences().units
    length, area = shown_unit(Kind.LENGTH, units), shown_unit(Kind.AREA, units)
    book = Workbook()
    sheet = book.active
    sheet.title = "Cut list"
    for line in (_template_names(length, area), *_template_rows(length)):
        sheet.append(line)
    for cell in sheet[1]:
        cell.font = Font(bold=True)
        sheet.column_dimensions[cell.column_letter].width = max(10, len(str(cell.value)) + 2)
    sheet.column_dimensions["A"].width = 28
    sheet.freeze_panes = "B2"
    help_sheet = book.create_sheet("How to fill it in")
    help_sheet.column_dimensions["A"].width, help_sheet.column_dimensions["B"].width = 24, 90
    for line in _template_help(length):
        help_sheet.append(line)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _template_names(length: str, area: str) -> tuple[str, ...]:
    sizes = tuple(f"{name} ({length})" for name in ("Length", "Width", "Thickness", "Girth"))
    return (
        "Label",
        "Pieces",
        *sizes,
        f"Area of all pieces ({area})",
        "Faces",
        "Long edges",
        "Short edges",
        "Profile factor",
        "Geometry factor",
        "Zone",
    )


def _template_rows(length: str) -> tuple[tuple[Any, ...], ...]:
    def size(millimetres: str, inches: str) -> float:
        return float(inches if length == "in" else millimetres)

    door = ("Door, upper (example)", 12, size("715", "28"), size("397", "15.625"), size("19", "0.75"))
    moulding = ("Crown moulding (example)", 4, size("2400", "96"), None, None, size("110", "4.25"))
    frame = ("Face frame (example)", 1, None, None, None, None, 3.2 if length == "mm" else 34)
    return (
        (*door, None, None, 2, 2, 2, 1.05, 1, "show"),
        (*moulding, None, None, None, None, None, 0.9, "show"),
        (*frame, None, None, None, None, 0.8, "show"),
    )


def _template_help(length: str) -> tuple[tuple[str, str], ...]:
    return (
        ("Column", "What to write"),
        ("Label", "What the piece is. Up to 80 letters."),
        ("Pieces", "How many like it. A whole number."),
        (
            "Length, Width, Thickness",
            f"In {length}, or with a unit: 715 mm, 23 1/2 in. Without a thickness the edges are left out.",
        ),
        ("Girth", "For a moulding in place of width: the developed width that gets finish."),
        ("Area of all pieces", "In place of sizes, when it was measured elsewhere."),
        ("Faces", "Finished faces, 0 to 2. Empty: 2."),
        ("Long edges, Short edges", "Finished edges, 0 to 2 each. Empty: 2."),
        ("Profile factor", "Developed surface over flat surface of the faces, 1 or more. Empty: 1."),
        ("Geometry factor", "Share of the transfer efficiency that survives on this shape, up to 1. Empty: 1."),
        ("Zone", "show or hidden. Empty: show."),
        ("", "Write values, not formulas. Remove the three examples. Columns with other names are not read."),
    )
