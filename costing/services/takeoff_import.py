"""Cut lists from files: a workbook or a CSV file becomes a grid of texts, or a clear refusal.

A workbook is a zip archive of XML: its members are measured before anything is unpacked, and nothing in it is executed.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable
from datetime import date, datetime, time
from typing import Any

from costing.core.takeoff_reading import MOST_COLUMNS, MOST_ROWS, Reading, read_takeoff
from costing.core.takeoff_text import Sheet, TextRefusedError, decode, split_text
from finishing import show
from finishing.units import Kind, shown_unit

MOST_UNPACKED = 40_000_000  # bytes of all members of a workbook together
MOST_MEMBERS = 500
MOST_SCANNED = 20_000  # rows of a sheet, empty ones included
ZIP, OLE = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
_ENTITIES = tuple(word.encode(code) for word in ("<!DOCTYPE", "<!ENTITY") for code in ("utf-8", "utf-16-le", "utf-16-be"))
SAVE_AS = "Save the list as XLSX or as “CSV UTF-8” and upload that."


class FileRefusedError(ValueError):
    """A file that is no cut list; the message says what would be right."""


def read_file(content: bytes, *, limit: int) -> Sheet:
    """The cells of an uploaded file, told by its first bytes and not by its name. Raises FileRefusedError."""
    if not content.strip():
        raise FileRefusedError("The file is empty. Choose the file that holds the cut list.")
    if len(content) > limit:
        raise FileRefusedError(f"The file is larger than {limit // 1000:,} kB. Upload only the cut list, without pictures.")
    if content.startswith(ZIP):
        return _read_workbook(content)
    if content.startswith(OLE):
        raise FileRefusedError(f"This is a workbook of an old kind, or one locked by a password. {SAVE_AS}")
    if content.startswith(b"%PDF"):
        raise FileRefusedError(f"This is a PDF. {SAVE_AS}")
    try:
        text, notes = decode(content)
        sheet = split_text(text)
    except TextRefusedError as error:
        raise FileRefusedError(str(error)) from error
    return Sheet(grid=sheet.grid, notes=(*notes, *sheet.notes))


def read_in_shop_units(sheet: Sheet) -> Reading:
    """Understand a sheet; bare sizes are in the units that the shop reads."""
    units = show.preferences().units
    return read_takeoff(sheet.grid, length_unit=shown_unit(Kind.LENGTH, units), area_unit=shown_unit(Kind.AREA, units))


def _read_workbook(content: bytes) -> Sheet:
    _inspect(content)
    from openpyxl import load_workbook

    try:
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=False, keep_links=False)
        sheet = next((one for one in (book.active, *book.worksheets) if one in book.worksheets), None)
        if sheet is None:
            raise FileRefusedError(f"The workbook has no sheet with cells. {SAVE_AS}")
        sheet.reset_dimensions()  # a sheet may state a wrong extent, and then rows would be missing
        grid = _grid(sheet.iter_rows(max_col=MOST_COLUMNS + 1))
        others = len(book.worksheets) - 1
    except FileRefusedError:
        raise
    except Exception as error:
        raise FileRefusedError(f"The workbook is damaged or of an unknown make. {SAVE_AS}") from error
    notes = (f"Only the sheet “{sheet.title}” was read.",) if others else ()
    return Sheet(grid=grid, notes=notes)


def _inspect(content: bytes) -> None:
    """Refuse what is no plain workbook before a parser sees it."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            members = archive.infolist()
            names = {member.filename for member in members}
            if "xl/workbook.xml" not in names:
                raise FileRefusedError(f"This is not an XLSX workbook. {SAVE_AS}")
            if any("vbaproject" in name.lower() or "macrosheets" in name.lower() for name in names):
                raise FileRefusedError(f"The workbook holds macros, which are not accepted. {SAVE_AS}")
            if len(members) > MOST_MEMBERS or sum(member.file_size for member in members) > MOST_UNPACKED:
                raise FileRefusedError("The workbook is far larger inside than a cut list. Copy the list into a new workbook.")
            for member in members:
                if member.filename.endswith((".xml", ".rels")):
                    _refuse_entities(archive.read(member))
    except FileRefusedError:
        raise
    except Exception as error:
        raise FileRefusedError("The workbook is cut short or damaged. Save it again, then upload it.") from error


def _refuse_entities(xml: bytes) -> None:
    """A workbook never declares entities; a file made to harm does."""
    if any(mark in xml for mark in _ENTITIES):
        raise FileRefusedError(f"The workbook holds declarations that no spreadsheet writes. {SAVE_AS}")


def _grid(rows: Iterable[Iterable[Any]]) -> tuple[tuple[str, ...], ...]:
    """All rows as texts; trailing empty rows are dropped."""
    grid: list[tuple[str, ...]] = []
    filled = 0
    for number, row in enumerate(rows, start=1):
        if number > MOST_SCANNED:
            raise FileRefusedError(f"The sheet goes on below row {MOST_SCANNED}. Copy only the cut list into a new sheet.")
        line = [_text(cell) for cell in row]
        while line and not line[-1]:  # the reader pads every row to the widest that it may have
            line.pop()
        grid.append(tuple(line))
        if any(line):
            filled += 1
        if filled > MOST_ROWS + 50:
            raise FileRefusedError(f"The sheet has more than {MOST_ROWS} rows. Split the list into several estimates.")
    while grid and not any(grid[-1]):
        grid.pop()
    return tuple(grid)


def _text(cell: Any) -> str:
    """A cell as a person would have typed it. Formulas stay formulas, to be refused with their place."""
    value = cell.value
    if value is None:
        return ""
    if cell.data_type == "f":
        return str(value) if str(value).startswith("=") else f"={value}"
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float):
        return f"{value:.15g}"
    if isinstance(value, (datetime, date, time)):
        return value.isoformat(sep=" ") if isinstance(value, datetime) else value.isoformat()
    return " ".join(str(value).split())
