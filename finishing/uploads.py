"""Lists from files: a workbook or a CSV file becomes a grid of texts, or a clear refusal.

A workbook is a zip archive of XML: its members are measured before anything is unpacked, and nothing in it is executed.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

from finishing.cells import Sheet, TextRefusedError, decode, guarded, one_line, split_text
from finishing.steps import Progress, Work, finish

__all__ = ["FileRefusedError", "Limits", "Sheet", "limits_in_words", "read_upload", "reading"]

MOST_UNPACKED = 40_000_000  # bytes of all members of a workbook together
MOST_MEMBERS = 500
MOST_SCANNED = 20_000  # rows of a sheet, empty ones included
STEP_ROWS = 250  # between two words of progress
SPARE_ROWS = 50  # for headings and remarks above the rows that count
ZIP, OLE = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
_ENTITIES = tuple(word.encode(code) for word in ("<!DOCTYPE", "<!ENTITY") for code in ("utf-8", "utf-16-le", "utf-16-be"))


class FileRefusedError(ValueError):
    """A file that can't be read as a list; the message says what would be right."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What a file should hold, in a word that follows “a”, and how much of it."""

    what: str  # "cut list"
    most_bytes: int
    most_rows: int
    most_columns: int
    too_many: str = "Split it into several files."  # what to do with more rows
    most_scanned: int = MOST_SCANNED
    sheet: str = ""  # the sheet to read where the workbook has one of this name; else the one that was open
    guards_text: bool = False  # tell a text that begins with = from a formula: it comes guarded, as in a CSV file

    @property
    def save_as(self) -> str:
        """What to do with a file of another kind."""
        return f"Save the {self.what} as XLSX or as “CSV UTF-8” and upload that."


def limits_in_words(limits: Limits) -> str:
    """What a page tells about the size of files, before somebody meets it."""
    size = f"up to {limits.most_bytes // 1000:,} kB, {limits.most_rows:,} rows and {limits.most_columns} columns"
    return f"A file may have {size}; a workbook up to {MOST_UNPACKED // 1_000_000} MB unpacked. Macros and formulas are refused."


def read_upload(content: bytes, limits: Limits) -> Sheet:
    """The cells of an uploaded file, told by its first bytes and not by its name. Raises FileRefusedError."""
    return finish(reading(content, limits))


def reading(content: bytes, limits: Limits) -> Work[Sheet]:
    """``read_upload`` as work that tells how far it is."""
    if not content.strip():
        raise FileRefusedError(f"The file is empty. Choose the file that holds the {limits.what}.")
    if len(content) > limits.most_bytes:
        kilobytes = f"{limits.most_bytes // 1000:,} kB"
        raise FileRefusedError(f"The file is larger than {kilobytes}. Upload only the {limits.what}, without pictures.")
    if content.startswith(ZIP):
        return (yield from _read_workbook(content, limits))
    if content.startswith(OLE):
        raise FileRefusedError(f"This is a workbook of an old kind, or one locked by a password. {limits.save_as}")
    if content.startswith(b"%PDF"):
        raise FileRefusedError(f"This is a PDF. {limits.save_as}")
    try:
        text, notes = decode(content)
        sheet = split_text(text, what=limits.what)
    except TextRefusedError as error:
        raise FileRefusedError(str(error)) from error
    _count_rows(sum(any(row) for row in sheet.grid), limits)
    return Sheet(grid=sheet.grid, notes=(*notes, *sheet.notes))


def _read_workbook(content: bytes, limits: Limits) -> Work[Sheet]:
    _inspect(content, limits)
    from openpyxl import load_workbook

    try:
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=False, keep_links=False)
        named = [one for one in book.worksheets if one.title == limits.sheet]
        sheet = next((one for one in (*named, book.active, *book.worksheets) if one in book.worksheets), None)
        if sheet is None:
            raise FileRefusedError(f"The workbook has no sheet with cells. {limits.save_as}")
        sheet.reset_dimensions()  # a sheet may state a wrong extent, and then rows would be missing
        grid = yield from _grid(sheet.iter_rows(max_col=limits.most_columns + 1), limits)
        others = len(book.worksheets) - 1
    except FileRefusedError:
        raise
    except Exception as error:
        raise FileRefusedError(f"The workbook is damaged or of an unknown make. {limits.save_as}") from error
    notes = (f"Only the sheet “{sheet.title}” was read.",) if others else ()
    return Sheet(grid=grid, notes=notes)


def _inspect(content: bytes, limits: Limits) -> None:
    """Refuse what is no plain workbook before a parser sees it."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            members = archive.infolist()
            names = {member.filename for member in members}
            if "xl/workbook.xml" not in names:
                raise FileRefusedError(f"This is not an XLSX workbook. {limits.save_as}")
            if any("vbaproject" in name.lower() or "macrosheets" in name.lower() for name in names):
                raise FileRefusedError(f"The workbook holds macros, which are not accepted. {limits.save_as}")
            if len(members) > MOST_MEMBERS or sum(member.file_size for member in members) > MOST_UNPACKED:
                what = limits.what
                raise FileRefusedError(f"The workbook is far larger inside than a {what}. Copy the {what} into a new workbook.")
            for member in members:
                if member.filename.endswith((".xml", ".rels")):
                    _refuse_entities(archive.read(member), limits)
    except FileRefusedError:
        raise
    except Exception as error:
        raise FileRefusedError("The workbook is cut short or damaged. Save it again, then upload it.") from error


def _refuse_entities(xml: bytes, limits: Limits) -> None:
    """A workbook never declares entities; a file made to harm does."""
    if any(mark in xml for mark in _ENTITIES):
        raise FileRefusedError(f"The workbook holds declarations that no spreadsheet writes. {limits.save_as}")


def _grid(rows: Iterable[Iterable[Any]], limits: Limits) -> Work[tuple[tuple[str, ...], ...]]:
    """All rows as texts; trailing empty rows are dropped."""
    grid: list[tuple[str, ...]] = []
    filled = 0
    for number, row in enumerate(rows, start=1):
        if number > limits.most_scanned:
            below = f"The sheet goes on below row {limits.most_scanned}."
            raise FileRefusedError(f"{below} Copy only the {limits.what} into a new sheet.")
        if number % STEP_ROWS == 0:
            yield Progress(words="Reading rows", done=number)
        line = [_text(cell, guard=limits.guards_text) for cell in row]
        while line and not line[-1]:  # the reader pads every row to the widest that it may have
            line.pop()
        grid.append(tuple(line))
        filled += any(line)
        _count_rows(filled, limits)
    while grid and not any(grid[-1]):
        grid.pop()
    return tuple(grid)


def _count_rows(filled: int, limits: Limits) -> None:
    if filled > limits.most_rows + SPARE_ROWS:
        raise FileRefusedError(f"The file has more than {limits.most_rows} rows. {limits.too_many}")


def _text(cell: Any, *, guard: bool) -> str:
    """A cell as a person would have typed it. Formulas stay formulas, to be refused with their place."""
    value = cell.value
    if value is None:
        return ""
    if cell.data_type == "f":
        return str(value) if str(value).startswith("=") else f"={value}"
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float):
        return f"{Decimal(f'{value:.15g}'):f}"  # without exponent, and without the noise of binary fractions
    if isinstance(value, (datetime, date, time)):
        return value.isoformat(sep=" ") if isinstance(value, datetime) else value.isoformat()
    text = one_line(str(value))
    return guarded(text) if guard else text
