"""Reads a cut list, as pasted or uploaded, into takeoff rows (costing model, section 1).

Imports no Django and opens no file: a grid of texts goes in; rows, and everything that is wrong with them, come out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from costing.core.checks import check_number
from costing.core.errors import CostingError
from costing.core.takeoff import (
    LARGEST_PROFILE_FACTOR,
    LARGEST_ROW,
    LONGEST_PIECE,
    MOST_PIECES,
    THICKEST_PIECE,
    WIDEST_GIRTH,
    GivenArea,
    Moulding,
    Panel,
    Row,
    Shape,
    Zone,
)
from costing.core.takeoff_header import Column, Header, find_header
from finishing.units import Kind, UnitError, plain_number, read_measure

MOST_ROWS = 2_000
MOST_COLUMNS = 50
LONGEST_LABEL = 80
LEAST_GEOMETRY_FACTOR = 0.05

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}(?:[ T].*)?")
_SHEET_ERROR = re.compile(r"#(?:REF!|DIV/0!|VALUE!|NAME\?|N/A|NUM!|NULL!|SPILL!)", re.IGNORECASE)
_WHOLE = re.compile(r"(?P<number>[+-]?(?:\d{1,3}(?:,\d{3})+|\d+))(?:\.0+)?\s*(?:pcs|pc|pieces|piece|ea)?\.?", re.IGNORECASE)
_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)")
_ZONES: Mapping[str, Zone] = {
    **dict.fromkeys(("", "show", "s", "visible", "front", "outside", "exterior"), Zone.SHOW),
    **dict.fromkeys(("hidden", "h", "inside", "interior", "back", "concealed"), Zone.HIDDEN),
}
_FORMS: Mapping[str, str] = {
    **dict.fromkeys(("panel", "length × width × thickness", "l × w × t", "l x w x t", "flat"), "panel"),
    **dict.fromkeys(("area", "area given"), "area"),
    **dict.fromkeys(("moulding", "molding", "length × girth", "l × girth", "l x girth"), "moulding"),
}
EDGES_LEFT_OUT = "Where no thickness is given, the edges are left out."
SIZES_WIN = "Where sizes are given, the area is reckoned from them; the area column is read only where there are none."


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """Something that keeps the list from being read."""

    row: int  # as the sheet numbers it, from 1; 0 for the list as a whole
    column: str  # its name as it stands in the sheet
    wrong: str
    right: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadRow:
    """A row as understood: sizes in mm, area in m² of all pieces."""

    number: int  # row of the sheet
    label: str
    form: str  # panel, area or moulding
    length: Decimal | None
    width: Decimal | None
    thickness: Decimal | None
    girth: Decimal | None
    area: Decimal | None
    faces: int
    long_edges: int
    short_edges: int
    profile_factor: Decimal
    geometry_factor: Decimal
    row: Row  # the same as the reckoning sees it


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What was understood of the whole list."""

    rows: tuple[ReadRow, ...] = ()
    problems: tuple[Problem, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def is_good(self) -> bool:
        """True when every row was understood and there is one at least."""
        return bool(self.rows) and not self.problems


class _CellError(ValueError):
    def __init__(self, wrong: str, right: str) -> None:
        self.wrong, self.right = wrong, right
        super().__init__(f"{wrong} {right}")


def read_takeoff(grid: Sequence[Sequence[str]], *, length_unit: str = "mm", area_unit: str = "m²") -> Reading:
    """Read a grid whose first rows hold the column names; bare sizes without a unit in the header are in these units.

    >>> reading = read_takeoff([["Piece", "Qty", "Length (in)", "Width (in)"], ["Shelf", "2", "10", "23 1/2"]])
    >>> reading.rows[0].width
    Decimal('596.900000')
    """
    if not any(any(cell.strip() for cell in line) for line in grid):
        return _refused("There is nothing in it.", "Copy the list with its column names, from the names to the last row.")
    if max(len(line) for line in grid) > MOST_COLUMNS:
        return _refused(f"It has more than {MOST_COLUMNS} columns.", "Copy only the columns of the cut list.")
    header = find_header(grid, length_unit=length_unit, area_unit=area_unit)
    if header.problems:
        return Reading(problems=tuple(Problem(row=p.row, column=p.column, wrong=p.wrong, right=p.right) for p in header.problems))
    lines = [(number, line) for number, line in enumerate(grid, start=1) if number > header.row and any(c.strip() for c in line)]
    if len(lines) > MOST_ROWS:
        return _refused(f"It has {len(lines)} rows.", f"A takeoff has at most {MOST_ROWS}: split it into several estimates.")
    if not lines:
        return _refused("There are column names and no rows below them.", "Copy the rows too.")
    reader = _Reader(header=header)
    for number, line in lines:
        reader.read(number, line)
    return Reading(rows=tuple(reader.rows), problems=tuple(reader.problems), notes=(*header.notes, *reader.notes))


def _refused(wrong: str, right: str) -> Reading:
    return Reading(problems=(Problem(row=0, column="", wrong=wrong, right=right),))


@dataclass(slots=True, kw_only=True)
class _Reader:
    """Goes through the rows and gathers what it understands and what it does not."""

    header: Header
    rows: list[ReadRow] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def read(self, number: int, line: Sequence[str]) -> None:
        """Read one row; what is wrong joins the problems."""
        texts = {column.field: _tidy(line[column.index]) for column in self.header.columns if column.index < len(line)}
        filled = {name for name, text in texts.items() if text}
        if filled <= {"label"}:
            if filled:
                self.notes.append(f"Row {number} (“{texts['label']}”) has no pieces and no sizes: taken as a heading, not read.")
            return
        before = len(self.problems)
        found = {column.field: self._cell(number, column, texts.get(column.field, "")) for column in self.header.columns}
        if len(self.problems) == before:
            self._finish(number, found)

    def _cell(self, number: int, column: Column, text: str) -> object:
        try:
            _refuse_sheet_leftovers(text)
            return _READERS[column.field](text, column)
        except _CellError as error:
            self.problems.append(Problem(row=number, column=column.name, wrong=error.wrong, right=error.right))
            return None

    def _finish(self, number: int, found: Mapping[str, object]) -> None:
        given = _Given.of(found)
        try:
            form = given.form_in_words()
            shape = _SHAPES[form](given)
            row = Row(
                shape=shape,
                pieces=given.pieces,
                label=given.label,
                geometry_factor=float(given.geometry_factor),
                zone=given.zone,
            )
        except _CellError as error:
            self._add(number, "", error.wrong, error.right)
            return
        except CostingError as error:
            words = f"{error.words[:1].upper()}{error.words[1:]} {error.problem}."
            self._add(number, self.header.name_of(error.field), words, _sentence(error.right))
            return
        self._note(given, form)
        self.rows.append(given.as_row(number, form, row))

    def _add(self, number: int, column: str, wrong: str, right: str) -> None:
        self.problems.append(Problem(row=number, column=column, wrong=wrong, right=right))

    def _note(self, given: _Given, form: str) -> None:
        if form == "panel" and given.thickness is None and EDGES_LEFT_OUT not in self.notes:
            self.notes.append(EDGES_LEFT_OUT)
        if form != "area" and given.area is not None and SIZES_WIN not in self.notes:
            self.notes.append(SIZES_WIN)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Given:
    """The cells of a row, each read by itself."""

    label: str
    pieces: int
    form: str
    length: Decimal | None
    width: Decimal | None
    thickness: Decimal | None
    girth: Decimal | None
    area: Decimal | None
    faces: int
    long_edges: int
    short_edges: int
    profile_factor: Decimal
    geometry_factor: Decimal
    zone: Zone

    @classmethod
    def of(cls, found: Mapping[str, object]) -> _Given:
        """Defaults of the costing model where a column is missing; an area each becomes the area of all pieces."""
        cells: dict[str, object] = {**_DEFAULTS, **{name: value for name, value in found.items() if value is not None}}
        each, pieces = cells.pop("area_each"), cells["pieces"]
        if isinstance(each, Decimal) and isinstance(pieces, int) and cells["area"] is None:
            cells["area"] = each * pieces
        return cls(**cells)  # type: ignore[arg-type]  # every reader gives the type of its field

    def form_in_words(self) -> str:
        """How the row states its area: as its own column says, or as its filled cells show."""
        if self.form:
            return self.form
        if self.girth is not None and self.width is not None:
            raise _CellError("Both a width and a girth are given.", "Leave one of them empty.")
        if self.girth is not None:
            return "moulding"
        if self.length is None and self.width is None and self.area is not None:
            return "area"
        return "panel"

    def need(self, name: str) -> float:
        """A size that this form of row cannot do without."""
        value = getattr(self, name)
        if value is None:
            raise _CellError(f"The {name} is missing.", "Give length and width, or length and girth, or the area of all pieces.")
        return float(value)

    def as_row(self, number: int, form: str, row: Row) -> ReadRow:
        """Only what the form of the row uses is kept."""
        return ReadRow(
            number=number,
            label=self.label,
            form=form,
            length=self.length if form != "area" else None,
            width=self.width if form == "panel" else None,
            thickness=(self.thickness or Decimal(0)) if form == "panel" else None,
            girth=self.girth if form == "moulding" else None,
            area=self.area if form == "area" else None,
            faces=self.faces,
            long_edges=self.long_edges,
            short_edges=self.short_edges,
            profile_factor=self.profile_factor,
            geometry_factor=self.geometry_factor,
            row=row,
        )


_DEFAULTS: Mapping[str, object] = {
    "label": "",
    "pieces": 1,
    "form": "",
    "length": None,
    "width": None,
    "thickness": None,
    "girth": None,
    "area": None,
    "area_each": None,
    "faces": 2,
    "long_edges": 2,
    "short_edges": 2,
    "profile_factor": Decimal(1),
    "geometry_factor": Decimal(1),
    "zone": Zone.SHOW,
}


def _panel(given: _Given) -> Shape:
    return Panel(
        length=given.need("length"),
        width=given.need("width"),
        thickness=float(given.thickness or 0),
        faces=given.faces,
        long_edges=given.long_edges,
        short_edges=given.short_edges,
        profile_factor=float(given.profile_factor),
    )


_SHAPES: Mapping[str, Callable[[_Given], Shape]] = {
    "panel": _panel,
    "area": lambda given: GivenArea(area=given.need("area")),
    "moulding": lambda given: Moulding(length=given.need("length"), girth=given.need("girth")),
}


# ------------------------------------------------------------------ cells


def _tidy(text: str) -> str:
    return " ".join(text.replace("\u00a0", " ").split())


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


def _refuse_sheet_leftovers(text: str) -> None:
    if text.startswith("="):
        raise _CellError(f"“{text[:40]}” is a formula.", "Paste values instead of formulas.")
    if _SHEET_ERROR.fullmatch(text):
        raise _CellError(f"“{text}” is an error of the spreadsheet.", "Mend the formula there, then copy the value.")


def _label(text: str, column: Column) -> str:  # noqa: ARG001 - every reader is asked the same way
    if not text:
        raise _CellError("The label is missing.", "Say what the piece is, for example: Door, upper.")
    if len(text) > LONGEST_LABEL:
        raise _CellError(f"The label has {len(text)} letters.", f"Shorten it to {LONGEST_LABEL}.")
    return text


def _whole(text: str, *, words: str, least: int, most: int) -> int | None:
    if not text:
        return None
    right = f"Give a whole number from {least} to {most}."
    match = _WHOLE.fullmatch(text)
    if match is None:
        raise _CellError(f"“{text}” is not a whole number of {words}.", right)
    number = int(match["number"].replace(",", "")) if len(match["number"]) < 15 else most + 1
    if not least <= number <= most:
        raise _CellError(f"There can’t be “{text}” {words}.", right)
    return number


def _pieces(text: str, column: Column) -> int:  # noqa: ARG001
    number = _whole(text, words="pieces", least=1, most=MOST_PIECES)
    if number is None:
        raise _CellError("The number of pieces is missing.", "Give a whole number, 1 or more.")
    return number


def _sides(words: str) -> Callable[[str, Column], int | None]:
    return lambda text, column: _whole(text, words=words, least=0, most=2)  # noqa: ARG005


def _measured(kind: Kind, most: float, *, zero: bool, places: int = 6) -> Callable[[str, Column], Decimal | None]:
    def read(text: str, column: Column) -> Decimal | None:
        if not text:
            return None
        if _DATE.fullmatch(text):
            raise _CellError(
                f"“{text}” is a date: a spreadsheet makes one of 3/4.",
                "Format the column as text and type it again, or write 0.75.",
            )
        try:
            measure = read_measure(text, kind, assume=column.unit)
        except UnitError as error:
            raise _CellError(error.reason, str(error)[len(error.reason) :].strip()) from error
        unit = "mm" if kind is Kind.LENGTH else "m²"
        try:
            check_number(
                measure.decimal, column.field, unit=unit, above=None if zero else 0, least=0 if zero else None, most=most
            )
        except CostingError as error:
            raise _CellError(
                f"“{text}” is {plain_number(measure.decimal, 2) if abs(measure.value) < 10**12 else 'far too large'} {unit}.",
                _sentence(error.right),
            ) from error
        return round(measure.decimal, places)

    return read


def _factor(words: str, least: float, most: float) -> Callable[[str, Column], Decimal | None]:
    def read(text: str, column: Column) -> Decimal | None:  # noqa: ARG001
        if not text:
            return None
        right = f"Give a number from {least:g} to {most:g}, for example {'1.05' if least == 1 else '0.8'}."
        if not _PLAIN.fullmatch(text) or len(text) > 20:
            raise _CellError(f"“{text}” is not a number.", right)
        number = Decimal(text)
        if not Decimal(str(least)) <= number <= Decimal(str(most)):
            raise _CellError(f"A {words} of {text} makes no sense.", right)
        return round(number, 4)

    return read


def _zone(text: str, column: Column) -> Zone:  # noqa: ARG001
    try:
        return _ZONES[text.lower()]
    except KeyError:
        raise _CellError(f"“{text}” is not a zone.", "Write show or hidden, or leave it empty for show.") from None


def _form(text: str, column: Column) -> str | None:  # noqa: ARG001
    if not text:
        return None
    try:
        return _FORMS[text.lower()]
    except KeyError:
        raise _CellError(f"“{text}” is not a way to state a row.", "Write panel, area or moulding, or leave it empty.") from None


_READERS: Mapping[str, Callable[[str, Column], object]] = {
    "label": _label,
    "pieces": _pieces,
    "form": _form,
    "length": _measured(Kind.LENGTH, LONGEST_PIECE, zero=False),
    "width": _measured(Kind.LENGTH, LONGEST_PIECE, zero=False),
    "thickness": _measured(Kind.LENGTH, THICKEST_PIECE, zero=True),
    "girth": _measured(Kind.LENGTH, WIDEST_GIRTH, zero=False),
    "area": _measured(Kind.AREA, LARGEST_ROW, zero=False, places=8),
    "area_each": _measured(Kind.AREA, LARGEST_ROW, zero=False, places=8),
    "faces": _sides("faces"),
    "long_edges": _sides("long edges"),
    "short_edges": _sides("short edges"),
    "profile_factor": _factor("profile factor", 1, LARGEST_PROFILE_FACTOR),
    "geometry_factor": _factor("geometry factor", LEAST_GEOMETRY_FACTOR, 1),
    "zone": _zone,
}
