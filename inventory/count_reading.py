"""What a filled count sheet says: its columns, and each row beside the line that it was printed for.

Nothing is written here. A row that is not as the sheet was made is told at its row, and then nothing of the sheet is taken.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from django.core.exceptions import ValidationError

from finishing.cells import Sheet
from finishing.show import preferences
from inventory.choices import StockUnit
from inventory.forms.fields import StockQuantityField, typed_unit
from inventory.models import CountLine, StockCount
from inventory.services.counting import Entry

SHEET = "Count sheet"
LINE, PLACE, MATERIAL, LOT, UNIT, BOOK, COUNTED, DIFFERENCE, REMARK = (
    *("Line", "Place", "Material", "Lot number", "Unit", "Books say", "Counted", "Difference", "Remark"),
)
HEADS = (LINE, PLACE, MATERIAL, LOT, UNIT, BOOK, COUNTED, DIFFERENCE, REMARK)
BLIND_HEADS = (LINE, PLACE, MATERIAL, LOT, UNIT, COUNTED, REMARK)
_NEEDED = (LINE, LOT, UNIT, COUNTED)
_LABEL = re.compile(r"C-(?P<count>\d{1,12})/(?P<line>\d{1,18})", re.IGNORECASE | re.ASCII)
_BARE = re.compile(r"[+-]?[\d.,\s]+")
LONGEST_REMARK = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class RowProblem:
    """What stands against a row of the sheet, in words."""

    row: int  # as the spreadsheet program numbers it; 0: the sheet as a whole
    column: str
    words: str


@dataclass(slots=True, kw_only=True)
class ReadSheet:
    """The entries of a sheet, or what stands against it."""

    entries: list[Entry] = field(default_factory=list)
    rows: dict[int, int] = field(default_factory=dict)  # by line: the row it stands in
    problems: list[RowProblem] = field(default_factory=list)
    empty: int = 0  # rows of lines that nobody filled in

    def blame(self, lines: Mapping[int, str]) -> None:
        """Put what the service says of lines at their rows."""
        self.problems += [RowProblem(row=self.rows.get(pk, 0), column=COUNTED, words=words) for pk, words in lines.items()]


class _RowError(ValueError):
    def __init__(self, column: str, words: str) -> None:
        super().__init__(words)
        self.column = column


def read_count_sheet(sheet: Sheet, *, count: StockCount, lines: Sequence[CountLine]) -> ReadSheet:
    """Each filled row as an entry. ``lines`` are those of the count, with lot and material."""
    read = ReadSheet()
    start, columns = _find_heads(sheet.grid)
    if columns is None:
        words = f"The row with the column heads {', '.join(_NEEDED)} is missing. Download the sheet again and fill in that one."
        read.problems.append(RowProblem(row=0, column="", words=words))
        return read
    by_pk = {line.pk: line for line in lines}
    for number, cells in enumerate(sheet.grid[start:], start=start + 1):
        row = {head: cells[at].strip() if at < len(cells) else "" for head, at in columns.items()}
        if not any(row.values()):
            continue
        try:
            _read_row(read, number, row, count, by_pk)
        except _RowError as error:
            read.problems.append(RowProblem(row=number, column=error.column, words=str(error)))
    if not read.entries and not read.problems:
        words = f"Nothing is filled in: no row has a figure under “{COUNTED}”."
        read.problems.append(RowProblem(row=0, column=COUNTED, words=words))
    return read


def _find_heads(grid: Sequence[Sequence[str]]) -> tuple[int, dict[str, int] | None]:
    """How many rows end with the heads, and in which column each stands."""
    for number, cells in enumerate(grid, start=1):
        at = {head: cells.index(head) for head in HEADS if head in cells}
        if all(head in at for head in _NEEDED):
            return number, at
    return 0, None


def _read_row(read: ReadSheet, number: int, row: Mapping[str, str], count: StockCount, lines: Mapping[int, CountLine]) -> None:
    line = _line_of(row, count, lines)
    if line.pk in read.rows:
        raise _RowError(LINE, f"Line {line.label} stands in row {read.rows[line.pk]} already. Leave one of the two.")
    read.rows[line.pk] = number
    said = row[LOT]
    if said.casefold() != line.lot.number.casefold():
        raise _RowError(LOT, f"Line {line.label} is for lot {line.lot.number}, not {said or 'an empty cell'}. {_ADD_IT}")
    remark = row.get(REMARK, "")
    if remark.startswith("=") or len(remark) > LONGEST_REMARK:
        raise _RowError(REMARK, f"A remark is plain text of at most {LONGEST_REMARK} characters.")
    if not row[COUNTED]:
        read.empty += 1
        if remark:
            raise _RowError(COUNTED, "There is a remark but no figure. Write 0 where nothing was found.")
        return
    counted = _quantity(row[COUNTED], row[UNIT], line)
    read.entries.append(Entry(line=line.pk, counted=counted, reason=remark or None))


_ADD_IT = "A lot that was found and is not on the sheet is added on the page of the count."


def _line_of(row: Mapping[str, str], count: StockCount, lines: Mapping[int, CountLine]) -> CountLine:
    label = row[LINE]
    if not label:
        raise _RowError(LINE, f"This row has no line number, so it was not on the sheet. {_ADD_IT}")
    match = _LABEL.fullmatch(label)
    if match is None:
        raise _RowError(LINE, f"“{label[:40]}” is no line number of this count, such as C-{count.pk:04d}/1.")
    if int(match["count"]) != count.pk:
        raise _RowError(LINE, f"This line is of C-{int(match['count']):04d}. Upload the sheet on the page of that count.")
    line = lines.get(int(match["line"]))
    if line is None:
        raise _RowError(LINE, f"{count.label} has no line {label}. Write the line number as it was printed.")
    return line


def _quantity(text: str, unit: str, line: CountLine) -> Decimal:
    """A figure in the unit that stands beside it, or with a unit of its own."""
    if text.startswith("="):
        raise _RowError(COUNTED, "This cell holds a formula. Write the figure that was counted.")
    stock_unit = line.lot.material.unit
    system = preferences().units
    units = {typed_unit(stock_unit, one) for one in type(system)}
    if unit not in units:
        raise _RowError(UNIT, f"The unit of this line is {typed_unit(stock_unit, system)}; the sheet says {unit or 'nothing'}.")
    field = StockQuantityField(stock_unit=StockUnit(stock_unit), system=system, above=None, minimum=Decimal(0))
    typed = f"{text} {unit}" if _BARE.fullmatch(text) else text
    try:
        counted = field.clean(typed)
    except ValidationError as error:
        raise _RowError(COUNTED, " ".join(error.messages)) from error
    return Decimal(counted)
