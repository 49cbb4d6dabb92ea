"""Reads a cut list, as pasted or uploaded, into takeoff rows (costing model, section 1).

Imports no Django and opens no file: a grid of texts goes in; rows, and everything that is wrong with them, come out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from costing.core.errors import CostingError
from costing.core.takeoff import GivenArea, Moulding, Panel, Row, Shape, Zone
from costing.core.takeoff_cells import READERS, CellError, refuse_sheet_leftovers, sentence, tidy
from costing.core.takeoff_header import Choice, Column, Header, chosen_header, find_header
from finishing.units import MAX_TEXT

MOST_ROWS = 2_000
MOST_COLUMNS = 50

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
    typed: Mapping[str, str] = field(default_factory=dict)  # the lengths as they stood in the list, with their unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What was understood of the whole list."""

    rows: tuple[ReadRow, ...] = ()
    problems: tuple[Problem, ...] = ()
    notes: tuple[str, ...] = ()
    header: Header = field(default_factory=Header)  # how the columns were understood, as far as they were

    @property
    def is_good(self) -> bool:
        """True when every row was understood and there is one at least."""
        return bool(self.rows) and not self.problems


def read_takeoff(
    grid: Sequence[Sequence[str]], *, length_unit: str = "mm", area_unit: str = "m²", choice: Choice | None = None
) -> Reading:
    """Read a grid whose first rows hold the column names; bare sizes without a unit in the header are in these units.

    ``choice`` says which column is which, in place of their names.

    >>> reading = read_takeoff([["Piece", "Qty", "Length (in)", "Width (in)"], ["Shelf", "2", "10", "23 1/2"]])
    >>> reading.rows[0].width
    Decimal('596.900000')
    """
    if not any(any(cell.strip() for cell in line) for line in grid):
        return _refused("There is nothing in it.", "Copy the list with its column names, from the names to the last row.")
    if max(len(line) for line in grid) > MOST_COLUMNS:
        return _refused(f"It has more than {MOST_COLUMNS} columns.", "Copy only the columns of the cut list.")
    units = {"length_unit": length_unit, "area_unit": area_unit}
    header = find_header(grid, **units) if choice is None else chosen_header(grid, choice, **units)
    if header.problems:
        problems = tuple(Problem(row=p.row, column=p.column, wrong=p.wrong, right=p.right) for p in header.problems)
        return Reading(problems=problems, header=header)
    lines = [(number, line) for number, line in enumerate(grid, start=1) if number > header.row and any(c.strip() for c in line)]
    if len(lines) > MOST_ROWS:
        return _refused(f"It has {len(lines)} rows.", f"A takeoff has at most {MOST_ROWS}: split it into several estimates.")
    if not lines:
        return _refused("There are column names and no rows below them.", "Copy the rows too.")
    reader = _Reader(header=header)
    for number, line in lines:
        reader.read(number, line)
    notes = (*header.notes, *reader.notes)
    return Reading(rows=tuple(reader.rows), problems=tuple(reader.problems), notes=notes, header=header)


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
        texts = {column.field: tidy(line[column.index]) for column in self.header.columns if column.index < len(line)}
        filled = {name for name, text in texts.items() if text}
        if filled <= {"label"}:
            if filled:
                self.notes.append(f"Row {number} (“{texts['label']}”) has no pieces and no sizes: taken as a heading, not read.")
            return
        before = len(self.problems)
        found = {column.field: self._cell(number, column, texts.get(column.field, "")) for column in self.header.columns}
        if len(self.problems) == before:
            self._finish(number, found, self._lengths(texts))

    def _lengths(self, texts: Mapping[str, str]) -> dict[str, str]:
        """The lengths as written, each with the unit that was read."""
        units = {column.field: column.unit for column in self.header.columns if column.field in _LENGTHS}
        bare = {name: text for name in units if (text := texts.get(name, "")) and len(text) <= MAX_TEXT - 4}
        return {name: text if _HAS_UNIT.search(text) else f"{text} {units[name]}" for name, text in bare.items()}

    def _cell(self, number: int, column: Column, text: str) -> object:
        try:
            refuse_sheet_leftovers(text)
            return READERS[column.field](text, column)
        except CellError as error:
            self.problems.append(Problem(row=number, column=column.name, wrong=error.wrong, right=error.right))
            return None

    def _finish(self, number: int, found: Mapping[str, object], typed: Mapping[str, str]) -> None:
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
        except CellError as error:
            self._add(number, "", error.wrong, error.right)
            return
        except CostingError as error:
            words = f"{error.words[:1].upper()}{error.words[1:]} {error.problem}."
            self._add(number, self.header.name_of(error.field), words, sentence(error.right))
            return
        self._note(given, form)
        self.rows.append(given.as_row(number, form, row, typed))

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
            raise CellError("Both a width and a girth are given.", "Leave one of them empty.")
        if self.girth is not None:
            return "moulding"
        if self.length is None and self.width is None and self.area is not None:
            return "area"
        return "panel"

    def need(self, name: str) -> float:
        """A size that this form of row cannot do without."""
        value = getattr(self, name)
        if value is None:
            raise CellError(f"The {name} is missing.", "Give length and width, or length and girth, or the area of all pieces.")
        return float(value)

    def as_row(self, number: int, form: str, row: Row, typed: Mapping[str, str]) -> ReadRow:
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
            typed={name: text for name, text in typed.items() if name in _LENGTHS_OF[form]},
        )


_LENGTHS = frozenset({"length", "width", "thickness", "girth"})
_LENGTHS_OF: Mapping[str, tuple[str, ...]] = {
    "panel": ("length", "width", "thickness"),
    "moulding": ("length", "girth"),
    "area": (),
}
_HAS_UNIT = re.compile(r"[^\d\s.,/+-]")

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
