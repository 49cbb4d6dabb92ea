"""A sheet of labels as numbers: paper, margins, pitch, rows and columns. Pure: no Django, no drawing.

All lengths are millimetres. Positions are counted from the top left corner of the paper, as one measures with a ruler.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

D = Decimal
PAPERS: Mapping[str, tuple[Decimal, Decimal]] = {"A4": (D(210), D(297)), "letter": (D("215.9"), D("279.4"))}
SLACK = D("0.1")  # makers round the measures on their boxes
LEAST_WIDTH, LEAST_HEIGHT = D(45), D(20)  # a square code that reads, beside a name and two dates
MOST_ACROSS, MOST_DOWN = 10, 40


class SheetError(ValueError):
    """A measure that does not fit; ``field`` names it, ``bound`` in mm is what would be right, as ``words`` say."""

    def __init__(self, *, field: str, words: str, bound: Decimal) -> None:
        super().__init__(f"{field}: {words} {bound} mm")
        self.field, self.words, self.bound = field, words, bound


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """Where one label lies."""

    page: int  # from 0
    left: Decimal
    top: Decimal
    width: Decimal
    height: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """Labels of one size in rows and columns; the pitch is from the edge of one label to the same edge of the next."""

    paper: str
    columns: int
    rows: int
    left: Decimal  # from the paper's edge to the first label
    top: Decimal
    across: Decimal  # pitch
    down: Decimal
    width: Decimal  # of a label
    height: Decimal

    def __post_init__(self) -> None:
        if self.paper not in PAPERS:
            raise ValueError(f"no paper called {self.paper!r}; known: {', '.join(PAPERS)}")
        if not (1 <= self.columns <= MOST_ACROSS and 1 <= self.rows <= MOST_DOWN):
            raise ValueError(f"{self.columns} × {self.rows} labels are no sheet")
        if self.left < 0 or self.top < 0:
            raise ValueError("a margin is 0 or more")
        _at_least("width", self.width, LEAST_WIDTH, "A label this narrow has no room for a code that reads. At least")
        _at_least("height", self.height, LEAST_HEIGHT, "A label this low has no room for a code that reads. At least")
        if self.columns > 1:
            _at_least("across", self.across, self.width, "Labels would overlap. The pitch is at least the label’s width,")
        if self.rows > 1:
            _at_least("down", self.down, self.height, "Labels would overlap. The pitch is at least the label’s height,")
        paper_width, paper_height = PAPERS[self.paper]
        last = self.left + (self.columns - 1) * self.across
        _at_most("width", self.width, paper_width - last, "The last column would pass the paper’s edge. The width is at most")
        last = self.top + (self.rows - 1) * self.down
        _at_most("height", self.height, paper_height - last, "The last row would pass the paper’s edge. The height is at most")

    @property
    def per_page(self) -> int:
        """How many labels one sheet has."""
        return self.columns * self.rows

    def cells(self, count: int, *, first: int = 1) -> Iterator[Cell]:
        """Places for ``count`` labels, row by row, beginning at position ``first`` (1 is the top left) of the first sheet."""
        if not 1 <= first <= self.per_page:
            raise ValueError(f"position {first} is not on a sheet of {self.per_page}")
        for number in range(first - 1, first - 1 + count):
            page, place = divmod(number, self.per_page)
            row, column = divmod(place, self.columns)
            yield Cell(
                page=page,
                left=self.left + column * self.across,
                top=self.top + row * self.down,
                width=self.width,
                height=self.height,
            )


def _at_least(field: str, value: Decimal, bound: Decimal, words: str) -> None:
    if value < bound:
        raise SheetError(field=field, words=words, bound=bound)


def _at_most(field: str, value: Decimal, bound: Decimal, words: str) -> None:
    if value > bound + SLACK:
        raise SheetError(field=field, words=words, bound=max(bound, D(0)))


def _a4(columns: int, rows: int, *numbers: str) -> Sheet:
    left, top, across, down, width, height = map(D, numbers)
    return Sheet(paper="A4", columns=columns, rows=rows, left=left, top=top, across=across, down=down, width=width, height=height)


def _letter(columns: int, rows: int, *inches: str) -> Sheet:
    left, top, across, down, width, height = (D(number) * D("25.4") for number in inches)
    return Sheet(
        paper="letter", columns=columns, rows=rows, left=left, top=top, across=across, down=down, width=width, height=height
    )


PRESETS: Mapping[str, Sheet] = {
    "a4-2x7": _a4(2, 7, "4.65", "15.15", "101.6", "38.1", "99.1", "38.1"),
    "a4-3x7": _a4(3, 7, "7.25", "15.15", "66", "38.1", "63.5", "38.1"),
    "a4-3x8": _a4(3, 8, "7.25", "12.9", "66", "33.9", "63.5", "33.9"),
    "a4-4x10": _a4(4, 10, "8", "21.5", "48.5", "25.4", "48.5", "25.4"),
    "a4-2x4": _a4(2, 4, "4.65", "13.1", "101.6", "67.7", "99.1", "67.7"),
    "letter-2x5": _letter(2, 5, "0.15625", "0.5", "4.1875", "2", "4", "2"),
    "letter-2x7": _letter(2, 7, "0.15625", "0.8333", "4.1875", "1.3333", "4", "1.3333"),
    "letter-3x10": _letter(3, 10, "0.1875", "0.5", "2.75", "1", "2.625", "1"),
}
"""Common divisions of the two papers, to begin with: everybody compares them with the sheet at hand."""
