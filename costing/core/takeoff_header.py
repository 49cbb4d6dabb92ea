"""Finds the column names of a cut list and what each column means. Imports no Django."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from finishing.units import Kind, UnitError, find_unit

LOOKED_AT = 15  # rows above which the names must stand: title lines are common
MEASURED: Mapping[str, Kind] = {
    "length": Kind.LENGTH,
    "width": Kind.LENGTH,
    "thickness": Kind.LENGTH,
    "girth": Kind.LENGTH,
    "area": Kind.AREA,
    "area_each": Kind.AREA,
}
NAMES: Mapping[str, tuple[str, ...]] = {
    "label": ("label", "piece", "part", "part name", "piece name", "name", "description", "item", "component"),
    "pieces": ("pieces", "pcs", "qty", "quantity", "n", "count", "number of pieces", "how many", "no of pieces"),
    "form": ("stated as", "form", "shape"),
    "length": ("length", "l", "long", "finished length", "height", "h"),
    "width": ("width", "w", "wide", "finished width"),
    "thickness": ("thickness", "t", "thick", "thk", "finished thickness"),
    "girth": ("girth", "developed width"),
    "area": ("area", "total area", "area of all pieces", "area total"),
    "area_each": ("area each", "area per piece", "area of one piece"),
    "faces": ("faces", "faces finished", "sides", "sides finished"),
    "long_edges": ("long edges", "long edges finished"),
    "short_edges": ("short edges", "short edges finished"),
    "profile_factor": ("profile factor", "profile", "k"),
    "geometry_factor": ("geometry factor", "geometry", "g"),
    "zone": ("zone", "show or hidden", "visibility"),
}
_FIELD_OF: Mapping[str, str] = {name: field for field, names in NAMES.items() for name in names}
_UNIT_RIGHT = "Write for example mm, cm or in."
_IN_BRACKETS = re.compile(r"(?P<name>.*?)\s*[(\[]\s*(?P<inside>[^()\[\]]*?)\s*[)\]]\s*")
_AFTER = re.compile(r"(?P<name>.*?)(?:\s*,\s*|\s+in\s+|\s+)(?P<inside>\S+)")
WORDS: Mapping[str, str] = {
    "label": "Label of the piece",
    "pieces": "Pieces",
    "length": "Length",
    "width": "Width",
    "thickness": "Thickness",
    "girth": "Girth",
    "area": "Area of all pieces",
    "area_each": "Area of one piece",
    "faces": "Faces",
    "long_edges": "Long edges",
    "short_edges": "Short edges",
    "profile_factor": "Profile factor",
    "geometry_factor": "Geometry factor",
    "zone": "Zone",
    "form": "Stated as",
}
EXAMPLE = "For example: Label, Pieces, Length, Width, Thickness, Zone."


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column whose name was understood."""

    index: int
    name: str  # as it stands in the sheet
    field: str
    unit: str = ""  # for bare numbers; empty where nothing is measured


@dataclass(frozen=True, slots=True, kw_only=True)
class HeaderProblem:
    """Why the names cannot be used."""

    row: int
    column: str
    wrong: str
    right: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """The row of names and its columns."""

    row: int = 0  # from 1
    columns: tuple[Column, ...] = ()
    problems: tuple[HeaderProblem, ...] = ()
    notes: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()  # names of columns that mean nothing here

    def name_of(self, field: str) -> str:
        """How the sheet calls a field; empty when it has no such column."""
        return next((column.name for column in self.columns if column.field == field), "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """Which column is which, as a person said it."""

    row: int  # that holds the names, from 1; 0 where the list has none
    fields: Mapping[int, str]  # by the index of a column; those left out are not read


class _UnitUnknownError(ValueError):
    """A column in a unit that cannot be read."""


def chosen_header(grid: Sequence[Sequence[str]], choice: Choice, *, length_unit: str, area_unit: str) -> Header:
    """The columns that a person chose. A unit in the name of a column holds, ``Largo (cm)``; else the units given here."""
    assume = {Kind.LENGTH: length_unit, Kind.AREA: area_unit}
    names = grid[choice.row - 1] if 0 < choice.row <= len(grid) else ()
    columns: list[Column] = []
    problems: list[HeaderProblem] = []
    for index, field in sorted(choice.fields.items()):
        name = " ".join(names[index].split()) if index < len(names) else ""
        try:
            unit = _unit_in(name, MEASURED[field]) or assume[MEASURED[field]] if field in MEASURED else ""
        except _UnitUnknownError as error:
            problems.append(HeaderProblem(row=choice.row, column=name, wrong=str(error), right=_UNIT_RIGHT))
            continue
        columns.append(Column(index=index, name=name or f"Column {index + 1}", field=field, unit=unit))
    problems += _twins(choice.row, columns)
    missing = _missing({column.field for column in columns})
    if missing and not problems:
        wrong = f"No column is chosen for {' and none for '.join(missing)}."
        problems.append(HeaderProblem(row=choice.row, column="", wrong=wrong, right="Say below which column holds it."))
    read = {column.index for column in columns}
    unread = tuple(name for index, cell in enumerate(names) if index not in read and (name := " ".join(cell.split())))
    return Header(row=choice.row, columns=tuple(columns), problems=tuple(problems), notes=_not_read(unread), unread=unread)


def _unit_in(name: str, kind: Kind) -> str:
    """The unit in brackets behind a name; empty where brackets hold nothing that could be one."""
    match = _IN_BRACKETS.fullmatch(name)
    if match is None or _plain(match["inside"]) in _FIELD_OF:
        return ""
    try:
        return find_unit(match["inside"], kind).symbol
    except UnitError as error:
        raise _UnitUnknownError(error.reason) from error


def _twins(row: int, columns: Sequence[Column]) -> list[HeaderProblem]:
    """Columns that mean the same as one before them."""
    first: dict[str, Column] = {}
    found = []
    for column in columns:
        twin = first.setdefault(column.field, column)
        if twin is not column:
            wrong = f"“{twin.name}” and “{column.name}” both mean the same."
            found.append(HeaderProblem(row=row, column=column.name, wrong=wrong, right="Rename or remove one of them."))
    return found


def _not_read(names: Sequence[str]) -> tuple[str, ...]:
    return (f"Not read: {', '.join(names)}.",) if names else ()


def find_header(grid: Sequence[Sequence[str]], *, length_unit: str, area_unit: str) -> Header:
    """The first row that names the columns of a cut list. Names are matched loosely; a unit may follow: ``Length (in)``."""
    assume = {Kind.LENGTH: length_unit, Kind.AREA: area_unit}
    best: Header | None = None
    for number, line in enumerate(grid[:LOOKED_AT], start=1):
        header = _understand(number, line, assume)
        fields = {column.field for column in header.columns}
        if header.problems and len(fields) > 1:
            return header
        missing = _missing(fields)
        if not missing:
            return header
        if len(fields) > 1 and (best is None or len(fields) > len(best.columns)):
            best = header
    if best is None:
        wrong = "No row with the names of the columns was found."
        return Header(
            problems=(
                HeaderProblem(
                    row=0, column="", wrong=wrong, right=f"Copy the row of names too, or say which column is which. {EXAMPLE}"
                ),
            )
        )
    missing = _missing({column.field for column in best.columns})
    wrong = f"There is no column for {' and none for '.join(missing)}."
    problem = HeaderProblem(row=best.row, column="", wrong=wrong, right=f"Name the columns, or say which is which. {EXAMPLE}")
    return Header(row=best.row, columns=best.columns, problems=(problem,), unread=best.unread)


def _missing(fields: set[str]) -> list[str]:
    missing = [words for name, words in (("label", "the label"), ("pieces", "the pieces")) if name not in fields]
    if not fields & {"area", "area_each"}:
        if "length" not in fields:
            missing.append("the length or the area")
        elif not fields & {"width", "girth"}:
            missing.append("the width or the girth")
    return missing


def _understand(number: int, line: Sequence[str], assume: Mapping[Kind, str]) -> Header:
    columns: list[Column] = []
    problems: list[HeaderProblem] = []
    unread: list[str] = []
    for index, cell in enumerate(line):
        name = " ".join(cell.split())
        try:
            column = _column(index, name, assume)
        except _UnitUnknownError as error:
            problems.append(HeaderProblem(row=number, column=name, wrong=str(error), right=_UNIT_RIGHT))
            continue
        if column is None:
            unread += [name] if name else []
            continue
        columns.append(column)
    problems += _twins(number, columns)
    notes, names = _not_read(unread), tuple(unread)
    return Header(row=number, columns=tuple(columns), problems=tuple(problems), notes=notes, unread=names)


def _column(index: int, name: str, assume: Mapping[Kind, str]) -> Column | None:
    """What a name means, with its unit; None for a name that is not known here."""
    plain = _plain(name)
    if plain in _FIELD_OF:
        field = _FIELD_OF[plain]
        return Column(index=index, name=name, field=field, unit=assume[MEASURED[field]] if field in MEASURED else "")
    bracket = _IN_BRACKETS.fullmatch(name)
    after = _AFTER.fullmatch(name)
    for match in (bracket, after):
        field = _FIELD_OF.get(_plain(match["name"]), "") if match else ""
        if match is None or not field:
            continue
        kind = MEASURED.get(field)
        if kind is None or _FIELD_OF.get(_plain(match["inside"])) == field:
            unit = assume[kind] if kind else ""
            return Column(index=index, name=name, field=field, unit=unit) if match is bracket else None
        try:
            return Column(index=index, name=name, field=field, unit=find_unit(match["inside"], kind).symbol)
        except UnitError as error:
            if match is bracket:
                raise _UnitUnknownError(error.reason) from error
    return None


def _plain(name: str) -> str:
    return " ".join(re.sub(r"[_\-./:*]+", " ", name.lower()).split())
