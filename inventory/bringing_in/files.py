"""Templates to fill in and lists to take out, as XLSX and CSV with the same columns.

No text in them can become a formula: in a workbook its cell is typed as text, in a CSV file it is guarded, and both are read back
as the text that it was.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from decimal import Decimal

from finishing.cells import guarded
from finishing.columns import EXAMPLE
from finishing.models import Shop
from inventory.bringing_in.cells import Cell, shown
from inventory.bringing_in.lists import MOST_ROWS, BroughtList

FORMS = ("xlsx", "csv")
_PARTING = re.compile(r"[,;\t\"\r\n]")
CSV_TYPE = "text/csv; charset=utf-8"
_HINTS = (
    ("", ""),
    ("Rows", f"At most {MOST_ROWS:,} in one file. The row that begins with “{EXAMPLE}” is an example and is not read."),
    ("Cells", "Values, not formulas. Merged cells count as empty but for the first."),
    ("Numbers", "With a decimal point. Quantities are in the unit that the material is kept in, or carry their unit: 1 gal."),
    ("Dates", "With the year first: 2026-12-31."),
    ("Columns", "In any order. A column that you leave out is left as it is; an empty cell empties its field."),
)


def template_file(brought: BroughtList, form: str) -> bytes:
    """The columns, an example row that is never read, and in a workbook a sheet that explains them."""
    first, *others = brought.columns
    example: list[Cell] = [f"{EXAMPLE} {first.example}", *(column.example for column in others)]
    return _workbook(brought, [example], explained=True) if form == "xlsx" else _csv(brought, [example])


def list_file(brought: BroughtList, form: str) -> bytes:
    """All rows that the books hold."""
    rows = brought.rows_out() if brought.rows_out else ()
    return _workbook(brought, rows, explained=False) if form == "xlsx" else _csv(brought, rows)


def _csv(brought: BroughtList, rows: Iterable[Sequence[Cell]]) -> bytes:
    """UTF-8 with its mark, by which spreadsheet programs know it."""
    lines = [",".join(_quoted(column.heading) for column in brought.columns)]
    lines += [",".join(_quoted(guarded(shown(cell)) if isinstance(cell, str) else shown(cell)) for cell in row) for row in rows]
    return "".join(f"{line}\r\n" for line in lines).encode("utf-8-sig")


def _quoted(cell: str) -> str:
    """In quotation marks where it holds any sign by which some program parts cells, so that none has to be guessed."""
    return '"{}"'.format(cell.replace('"', '""')) if _PARTING.search(cell) else cell


def _workbook(brought: BroughtList, rows: Iterable[Sequence[Cell]], *, explained: bool) -> bytes:
    from finishing.documents.sheet import Book, Width

    book = Book(title=brought.title, page_size=Shop.current().page_size)
    widths = [Width(max(column.width, len(column.heading) * 0.6)) for column in brought.columns]
    sheet = book.sheet(brought.sheet, columns=widths, landscape=True)
    sheet.header([column.heading for column in brought.columns])
    for row in rows:
        sheet.row([_plain_figure(cell) for cell in row])
    if explained:
        words = book.sheet("How to fill it in", columns=(Width(28), Width(100)))
        words.header(("Column", "What to write"))
        for column in brought.columns:
            words.row((column.heading, f"{column.words}{' Must be there.' if column.is_needed else ''}"))
        for hint in _HINTS:
            words.row(hint)
    return book.to_bytes()


def _plain_figure(cell: Cell) -> Cell:
    """Texts on one line, as they are read back; numbers without needless zeros."""
    return cell.normalize() + 0 if isinstance(cell, Decimal) else shown(cell) if isinstance(cell, str) else cell
