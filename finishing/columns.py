"""Lists with named columns: which column is which, and their rows by the names of fields. Imports no Django.

The names of an uploaded list stand in one of its first rows and are matched loosely; a unit may follow in brackets, and bare
numbers below are then in that unit.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from finishing.cells import CellRefusedError, Sheet, plain_text, refuse_leftovers
from finishing.units import Kind, UnitError, find_unit

LOOKED_AT = 15  # rows in which the names may stand: title lines are common
EXAMPLE = "example:"
_BRACKETS = re.compile(r"(?P<name>.*?)\s*[(\[]\s*(?P<unit>[^()\[\]]*?)\s*[)\]]\s*")
_BARE = re.compile(r"[+-]?[\d.,/ ]*\d")
_HIDDEN = re.compile(r"[\x00-\x1f\x7f]")


class HeadingsRefusedError(ValueError):
    """The names of the columns can't be used; the message says which are missing or double."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column of a list: how it is called, and what to write into it."""

    field: str
    name: str
    words: str  # what to write, for the sheet of explanations
    example: str
    unit: str = ""  # what a bare number is in, shown behind the name
    kind: Kind | None = None  # a name may bring another unit of this kind
    is_needed: bool = False  # the list makes no sense without this column
    also: tuple[str, ...] = ()  # other names for it
    width: int = 14

    @property
    def heading(self) -> str:
        """The name with its unit: ``Density (kg/L)``."""
        return f"{self.name} ({self.unit})" if self.unit else self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A row of the list: its number in the sheet, and its texts by field."""

    number: int
    cells: Mapping[str, str]

    def text(self, name: str) -> str:
        """The cell's text. Raises ``CellRefusedError`` for a formula."""
        cell = self.cells.get(name, "")
        refuse_leftovers(cell)
        return plain_text(cell)


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedList:
    """The rows of a list, what the file calls its columns, and what to know about the reading."""

    headings: Mapping[str, str]  # by field
    lines: tuple[Line, ...]
    notes: tuple[str, ...] = ()


@dataclass(slots=True)
class _Found:
    places: dict[str, int] = field(default_factory=dict)
    headings: dict[str, str] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    unread: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)


def read_list(sheet: Sheet, columns: Sequence[Column], *, most_columns: int) -> NamedList:
    """The rows below the names. A row whose first known cell begins with ``example:`` is left out, which is told.

    Raises ``HeadingsRefusedError``.
    """
    if max((len(line) for line in sheet.grid), default=0) > most_columns:
        raise HeadingsRefusedError(f"The file has more than {most_columns} columns. Upload only the columns of the list.")
    row, found = _headings(sheet.grid, columns)
    first = min(found.places, key=lambda name: found.places[name])
    lines, examples = [], []
    for number, cells in enumerate(sheet.grid[row:], start=row + 1):
        texts = {name: _cell(cells, place, found.units.get(name, "")) for name, place in found.places.items()}
        if not any(texts.values()):
            continue
        if texts[first].lower().startswith(EXAMPLE):
            examples.append(str(number))
        else:
            lines.append(Line(number=number, cells=texts))
    if not lines:
        raise HeadingsRefusedError("There are names of columns and no rows below them. Fill in the rows, then upload the file.")
    notes = [f"Row {', '.join(examples)} is the template’s example and was not read."] if examples else []
    notes += [f"Columns that are not read: {', '.join(found.unread)}."] if found.unread else []
    return NamedList(headings=found.headings, lines=tuple(lines), notes=(*sheet.notes, *notes))


def _cell(cells: Sequence[str], place: int, unit: str) -> str:
    text = " ".join(_HIDDEN.sub(" ", cells[place]).split()) if place < len(cells) else ""
    return f"{text} {unit}" if unit and _BARE.fullmatch(text) else text


def _headings(grid: Sequence[Sequence[str]], columns: Sequence[Column]) -> tuple[int, _Found]:
    """The row of the names, from 1, and which column is where."""
    needed = [column for column in columns if column.is_needed]
    best = _Found()
    for number, cells in enumerate(grid[:LOOKED_AT], start=1):
        found = _understand(cells, columns)
        if all(column.field in found.places for column in needed):
            if found.faults:
                raise HeadingsRefusedError(" ".join(found.faults))
            return number, found
        if len(found.places) > len(best.places):
            best = found
    named = ", ".join(column.heading for column in columns)
    if not best.places:
        raise HeadingsRefusedError(f"No row with the names of the columns was found. The names are: {named}.")
    missing = " and none for ".join(f"“{column.name}”" for column in needed if column.field not in best.places)
    raise HeadingsRefusedError(f"There is no column for {missing}. Name it as the template does.")


def _understand(cells: Sequence[str], columns: Sequence[Column]) -> _Found:
    by_name = {_plain(name): column for column in columns for name in (column.name, column.heading, *column.also)}
    found = _Found()
    for place, cell in enumerate(cells):
        heading = " ".join(_HIDDEN.sub(" ", plain_text(cell)).split())
        bracket = _BRACKETS.fullmatch(heading)
        column = by_name.get(_plain(heading)) or (by_name.get(_plain(bracket["name"])) if bracket else None)
        if column is None:
            found.unread += [heading[:40]] if heading else []
            continue
        if column.field in found.places:
            found.faults.append(f"“{found.headings[column.field]}” and “{heading}” mean the same: keep one of them.")
            continue
        found.places[column.field], found.headings[column.field] = place, heading
        if bracket and bracket["unit"] != column.unit and _plain(heading) not in by_name:
            _other_unit(found, column, bracket["unit"])
    return found


def _other_unit(found: _Found, column: Column, unit: str) -> None:
    try:
        if column.kind is None:
            raise UnitError(unit, Kind.COUNT, f"“{column.name}” is given in {column.unit or 'no unit'}.")
        found.units[column.field] = find_unit(unit, column.kind).symbol
    except UnitError as error:
        found.faults.append(f"The unit “{unit}” behind “{column.name}” can’t be used: {error.reason}")


def _plain(name: str) -> str:
    return " ".join(re.sub(r"[_\-./:*’']+", " ", name.lower()).split())


__all__ = ["EXAMPLE", "CellRefusedError", "Column", "HeadingsRefusedError", "Line", "NamedList", "read_list"]
