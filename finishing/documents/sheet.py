"""Spreadsheets in the house style: live formulas, real dates and numbers, and text that can never become a formula.

Import this module inside the function that makes a workbook: it brings the spreadsheet library with it.

    book = Book(title="Quote Q-2026-004", page_size="A4")
    sheet = book.sheet("Quote", columns=(Width(40), Width(12, "0.000"), Width(14, money_format("EUR"))))
    sheet.heading("Quote Q-2026-004")
    sheet.header(("Item", "Area, m²", "Price"))
    first = sheet.next_row
    sheet.row(("Doors", Decimal("15.32"), Decimal("840.00")))
    sheet.total(("Total", None, sum_of("C", first, sheet.next_row - 1)))
    data = book.to_bytes()
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from babel import Locale
from babel.numbers import get_currency_precision, get_currency_symbol
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.properties import PageSetupProperties

from finishing.documents import palette
from finishing.documents.letterhead import printable

PAPER_CODES = {"A4": 9, "letter": 1}
DATE_FORMAT = "yyyy-mm-dd"
MOMENT_FORMAT = "yyyy-mm-dd hh:mm"
LONGEST_TEXT = 32_767  # the format's limit for a cell
LINE_HEIGHT = 15.0  # points, of one line of text
_FONT = "Calibri"  # what spreadsheet programs take for plain cells of a new file
SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula of ours, such as ``=SUM(D5:D20)``: the only way for one to get into a sheet."""

    text: str

    def __post_init__(self) -> None:
        if not self.text.startswith("="):
            raise ValueError("a formula begins with =")


@dataclass(frozen=True, slots=True)
class Width:
    """A column: its width in characters, and the number format of its figures."""

    characters: float
    number_format: str = ""


@dataclass(frozen=True, slots=True)
class ToFill:
    """An empty cell that people write into, marked as such."""


Value = ToFill | str | int | float | Decimal | date | datetime | bool | Formula | None


def ref(column: str | int, row: int, *, fixed: bool = False, sheet: str = "") -> str:
    """The name of a cell: ``ref("C", 5)`` is ``C5``; ``fixed`` pins it, ``sheet`` names another sheet.

    >>> ref(3, 5, fixed=True, sheet="Rates & fees")
    "'Rates & fees'!$C$5"
    """
    letter = column if isinstance(column, str) else get_column_letter(column)
    cell = f"${letter}${row}" if fixed else f"{letter}{row}"
    return f"'{sheet.replace(chr(39), chr(39) * 2)}'!{cell}" if sheet else cell


def sum_of(column: str | int, first: int, last: int) -> Formula:
    """The sum of a column's rows; 0 where there are none.

    >>> sum_of("D", 5, 20).text
    '=SUM(D5:D20)'
    """
    return Formula(f"=SUM({ref(column, first)}:{ref(column, last)})") if last >= first else Formula("=0")


def money_format(currency: str, locale: str = "en_US") -> str:
    """The number format of an amount: the locale's place for the sign, the currency's decimals.

    >>> money_format("JPY")
    '"¥"#,##0'
    """
    places = get_currency_precision(currency)
    digits = "#,##0" + ("." + "0" * places if places else "")
    symbol = get_currency_symbol(currency, locale=locale).replace('"', "")
    pattern = str(Locale.parse(locale).currency_formats["standard"].pattern).split(";")[0]
    if pattern.startswith("¤"):
        return f'"{symbol}\u00a0"{digits}' if len(symbol) > 1 and symbol.isalpha() else f'"{symbol}"{digits}'
    return f'{digits}"\u00a0{symbol}"'


def sheet_name(words: str) -> str:
    """A name that the format allows: no ``[ ] : * ? / \\``, at most 31 characters, not empty."""
    cleaned = re.sub(r"[\[\]:*?/\\]", " ", printable(words)).strip().strip("'")
    return " ".join(cleaned.split())[:31].strip() or "Sheet"


def csv_text(value: object) -> str:
    """Text for a CSV cell that no spreadsheet program takes for a formula.

    >>> csv_text("=1+1")
    "'=1+1"
    """
    text = printable("" if value is None else value)
    return f"'{text}" if text.lstrip(" \n").startswith(("=", "+", "-", "@", "\t")) else text


class Book:
    """A workbook that is written once, at the end."""

    def __init__(self, *, title: str, page_size: str, author: str = "", made: datetime | None = None) -> None:
        if page_size not in PAPER_CODES:
            raise ValueError(f"no paper called {page_size!r}; known: {', '.join(PAPER_CODES)}")
        self.title, self.page_size, self.author, self.made = title, page_size, author, made
        self._sheets: list[Sheet] = []

    def sheet(self, name: str, *, columns: Sequence[Width], landscape: bool = False) -> Sheet:
        """A new sheet; a name taken already gets a number."""
        plain = sheet_name(name)
        taken = {sheet.name.lower() for sheet in self._sheets}
        number, unique = 1, plain
        while unique.lower() in taken:
            number += 1
            unique = f"{plain[: 31 - len(str(number)) - 1]} {number}"
        made = Sheet(unique, columns=columns, landscape=landscape)
        self._sheets.append(made)
        return made

    def to_bytes(self) -> bytes:
        """The file."""
        workbook = Workbook(write_only=True)
        workbook.properties.title = printable(self.title)
        workbook.properties.creator = printable(self.author) or "Finish Ledger"
        if self.made is not None:
            workbook.properties.created = workbook.properties.modified = _naive(self.made)
        for sheet in self._sheets or [Sheet("Sheet", columns=())]:
            sheet._write(workbook, title=self.title, page_size=self.page_size)
        buffer = io.BytesIO()
        workbook.save(buffer)
        return buffer.getvalue()


@dataclass(frozen=True, slots=True)
class _Line:
    """A row waiting to be written."""

    values: tuple[Value, ...]
    look: str  # plain, header, total, heading or label
    formats: tuple[str, ...] | None = None


class Sheet:
    """One sheet, filled from top to bottom. Made by ``Book.sheet``."""

    def __init__(self, name: str, *, columns: Sequence[Width], landscape: bool = False) -> None:
        self.name, self.columns, self.landscape = name, tuple(columns), landscape
        self._lines: list[_Line] = []
        self._charts: list[tuple[Any, str]] = []
        self._header_row = 0

    @property
    def next_row(self) -> int:
        """The number of the row that comes next."""
        return len(self._lines) + 1

    def heading(self, words: str) -> int:
        """A line of large text; the row's number."""
        return self._add(_Line((words,), "heading"))

    def facts(self, pairs: Iterable[tuple[str, Value]]) -> None:
        """Labels in the first column, values in the second, one pair a row."""
        for label, value in pairs:
            self._add(_Line((label, value), "label"))

    def header(self, words: Sequence[str]) -> int:
        """The column heads: frozen on screen and repeated on every printed page (the first header of a sheet)."""
        row = self._add(_Line(tuple(words), "header"))
        self._header_row = self._header_row or row
        return row

    def row(self, values: Sequence[Value], *, formats: Sequence[str] | None = None) -> int:
        """A row of values; ``formats`` overrides the columns' number formats where not empty. The row's number."""
        return self._add(_Line(tuple(values), "plain", tuple(formats) if formats else None))

    def total(self, values: Sequence[Value], *, formats: Sequence[str] | None = None) -> int:
        """A bold row with a line above."""
        return self._add(_Line(tuple(values), "total", tuple(formats) if formats else None))

    def text(self, words: str) -> int:
        """A line of plain text in the first column."""
        return self._add(_Line((words,), "plain"))

    def blank(self) -> int:
        """An empty row."""
        return self._add(_Line((), "plain"))

    def chart(self, drawn: Any, at: str) -> None:
        """Place a chart of the spreadsheet library over the cells from ``at`` on; it follows the cells that it names."""
        self._charts.append((drawn, at))

    def _add(self, line: _Line) -> int:
        for value in line.values:
            _check(value)
        self._lines.append(line)
        return len(self._lines)

    def _write(self, workbook: Workbook, *, title: str, page_size: str) -> None:
        worksheet = workbook.create_sheet(self.name)
        # A write-only sheet wants all of this before its first row.
        for index, column in enumerate(self.columns, start=1):
            worksheet.column_dimensions[get_column_letter(index)].width = column.characters
        if self._header_row:
            worksheet.freeze_panes = f"A{self._header_row + 1}"
            worksheet.print_title_rows = f"{self._header_row}:{self._header_row}"
        worksheet.page_setup.paperSize = PAPER_CODES[page_size]
        worksheet.page_setup.orientation = "landscape" if self.landscape else "portrait"
        worksheet.page_setup.fitToWidth, worksheet.page_setup.fitToHeight = 1, 0
        worksheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
        worksheet.oddFooter.left.text = printable(title).replace("&", "&&").replace("\n", " ")[:100]
        worksheet.oddFooter.right.text = "page &P of &N"
        looks = _looks()
        defaults = [column.number_format for column in self.columns]
        for number, line in enumerate(self._lines, start=1):
            if (lines := self._lines_of_text(line)) > 1:
                worksheet.row_dimensions[number].height = lines * LINE_HEIGHT
        for line in self._lines:
            worksheet.append(self._cells(worksheet, line, looks, defaults))
        for drawn, at in self._charts:
            worksheet.add_chart(drawn, at)

    def _lines_of_text(self, line: _Line) -> int:
        """How many lines the longest wrapped cell of a row takes: not every program finds the height by itself."""
        if line.look == "heading":
            return 1
        widths = [column.characters for column in self.columns]
        wrapped = [
            sum(max(1, math.ceil(len(part) / width)) for part in value.split("\n"))
            for value, width in zip(line.values, widths, strict=False)
            if isinstance(value, str) and (line.look == "header" or _wraps(value))
        ]
        return max(wrapped, default=1)

    def _cells(self, worksheet: Any, line: _Line, looks: dict[str, _Look], defaults: list[str]) -> list[Any]:
        look = looks[line.look]
        cells: list[Any] = []
        for index, value in enumerate(line.values):
            if value is None and line.look not in {"header", "total"}:
                cells.append(None)
                continue
            given = line.formats[index] if line.formats and index < len(line.formats) else ""
            usual = defaults[index] if index < len(defaults) and line.look in {"plain", "total"} else ""
            shown = looks["fill"] if isinstance(value, ToFill) else look
            cells.append(_cell(worksheet, value, number_format=given or usual, look=shown))
        if self._lines_of_text(line) > 1:
            for cell in filter(None, cells):
                cell.alignment = Alignment(vertical="top", wrap_text=cell.alignment.wrap_text)
        if line.look == "header":
            self._align_header(cells, defaults)
        if line.look == "label":
            cells[0].font = looks["soft"].font
            for cell in filter(None, cells[1:]):
                cell.alignment = Alignment(horizontal="left", vertical="top", wrap_text=cell.alignment.wrap_text)
        return cells

    @staticmethod
    def _align_header(cells: list[Any], defaults: list[str]) -> None:
        """A head stands where its figures stand."""
        for cell, number_format in zip(cells, defaults, strict=False):
            side = "right" if number_format and "y" not in number_format else "left"
            cell.alignment = Alignment(wrap_text=True, vertical="bottom", horizontal=side)


@dataclass(frozen=True, slots=True)
class _Look:
    font: Font | None = None
    fill: PatternFill | None = None
    border: Border | None = None
    is_heading: bool = False  # runs on over the empty cells beside it


def _looks() -> dict[str, _Look]:
    """How each kind of row looks; made per file since style objects belong to one workbook."""
    ink, soft = palette.INK[1:], palette.INK_SOFT[1:]
    return {
        "plain": _Look(),
        "label": _Look(),
        "soft": _Look(font=Font(name=_FONT, color=soft)),
        "heading": _Look(font=Font(name=_FONT, bold=True, size=15, color=ink), is_heading=True),
        "header": _Look(
            font=Font(name=_FONT, bold=True, color=ink),
            fill=PatternFill("solid", fgColor=palette.ACCENT_WASH[1:]),
            border=Border(bottom=Side(style="medium", color=palette.ACCENT[1:])),
        ),
        "fill": _Look(
            fill=PatternFill("solid", fgColor=palette.ACCENT_WASH[1:]),
            border=Border(bottom=Side(style="thin", color=palette.LINE_STRONG[1:])),
        ),
        "total": _Look(font=Font(name=_FONT, bold=True, color=ink), border=Border(top=Side(style="thin", color=ink))),
    }


def _check(value: Value) -> None:
    """Refuse what a sheet can't hold, where it is put in rather than when the file is written."""
    if isinstance(value, Decimal | float) and not math.isfinite(value):
        raise ValueError("a cell holds an ordinary number, not NaN or infinity")
    if isinstance(value, datetime) and value.tzinfo is not None:
        raise ValueError("a cell has no time zone: hand in the shop's local time")
    if value is not None and not isinstance(value, (str, int, float, Decimal, date, Formula, ToFill)):
        raise TypeError(f"a cell can't hold a {type(value).__name__}")


def _cell(worksheet: Any, value: Value, *, number_format: str, look: _Look) -> Any:
    """A cell with its type set by us, so that nothing is guessed from the text."""
    cell: Any
    if isinstance(value, Formula):
        cell = WriteOnlyCell(worksheet, value.text)
        cell.data_type = "f"
    elif isinstance(value, str):
        cell = WriteOnlyCell(worksheet, printable(value)[:LONGEST_TEXT])
        cell.data_type = "s"
    elif isinstance(value, ToFill):
        cell = WriteOnlyCell(worksheet, None)
    else:
        cell = WriteOnlyCell(worksheet, value)
    if isinstance(value, datetime):
        cell.number_format = number_format or MOMENT_FORMAT
    elif isinstance(value, date):
        cell.number_format = number_format or DATE_FORMAT
    elif number_format and not isinstance(value, str):
        cell.number_format = number_format
    if look.font is not None:
        cell.font = look.font
    if look.fill is not None:
        cell.fill = look.fill
    if look.border is not None:
        cell.border = look.border
    if isinstance(value, str) and _wraps(value) and not look.is_heading:
        cell.alignment = Alignment(wrap_text=True, vertical="top")
    return cell


def _wraps(text: str) -> bool:
    """True for text that is broken into lines inside its cell."""
    return "\n" in text or len(text) > 60


def _naive(moment: datetime) -> datetime:
    return moment.replace(tzinfo=None)
