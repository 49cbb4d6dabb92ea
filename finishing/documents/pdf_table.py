"""A long table for PDF documents: it fills each page by adding up row heights.

The library's own table splits in a time worse than linear in its rows, and slower still with a style command a row. Here each
page gets a small table of its own, so a long list costs what its pages cost.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal
from xml.sax.saxutils import escape

from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import Flowable, Paragraph, Table

from finishing.documents import palette
from finishing.documents.letterhead import printable
from finishing.documents.pdf_page import FONT, FONT_BOLD

_SIZE, _LEADING = 8.5, 11.5
_PAD_X, _PAD_Y = 4.0, 3.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column: its heading, its share of the width against the other columns, and where its cells stand."""

    words: str
    share: float = 1.0
    align: Literal["left", "right"] = "left"

    def __post_init__(self) -> None:
        if self.share <= 0:
            raise ValueError("a column needs a share of the width above 0")


# A string that fits its column, or a flowable; the library has no types.
Cell = Any


@dataclass(frozen=True, slots=True)
class _Row:
    """A row made ready: cells that fit their columns, its height, and whether it is bold."""

    cells: tuple[Cell, ...]
    height: float
    strong: bool


class PagedTable(Flowable):
    """A table with a header that repeats; built by ``finishing.documents.pdf.table``."""

    def __init__(
        self,
        columns: Sequence[Column],
        rows: Sequence[Sequence[object]],
        *,
        totals: Sequence[Sequence[object]] = (),
        strong: frozenset[int] = frozenset(),
    ) -> None:
        super().__init__()
        for row in (*rows, *totals):
            if len(row) != len(columns):
                raise ValueError(f"a row of {len(row)} cells in a table of {len(columns)} columns")
        self.columns = tuple(columns)
        self._raw: tuple[Sequence[Sequence[object]], Sequence[Sequence[object]], frozenset[int]] = (rows, totals, strong)
        self._head: _Row | None = None
        self._body: list[_Row] = []
        self._totals: list[_Row] = []
        self._width = 0.0
        self.spaceBefore, self.spaceAfter = 4, 6

    # -- the library's three questions

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:  # noqa: ARG002
        """Width and full height."""
        self._prepare(available_width)
        return available_width, self._top + sum(row.height for row in (*self._body, *self._totals))

    def split(self, available_width: float, available_height: float) -> list[Flowable]:
        """A part that fits and the rest; nothing when not even one row fits."""
        self._prepare(available_width)
        rest = available_height - self._top
        count, used = 0, 0.0
        for row in self._body:
            if used + row.height > rest:
                break
            used += row.height
            count += 1
        if count and count == len(self._body):
            count -= 1  # the totals did not fit: they take the last row along
        if count == 0:
            return self._split_tall(rest) if self._body else []
        return [self._part(self._body[:count], []), self._part(self._body[count:], self._totals)]

    def draw(self) -> None:
        """Paint this page's part."""
        if self._head is None:
            raise RuntimeError("wrap comes before draw")
        rows = [self._head, *self._body, *self._totals]
        made = Table(
            [list(row.cells) for row in rows],
            colWidths=self._widths(),
            rowHeights=[row.height for row in rows],
        )
        made.setStyle(self._style(rows))
        _, height = made.wrap(self._width, 0)
        made.drawOn(self.canv, 0, sum(row.height for row in rows) - height)

    # -- inside

    @property
    def _top(self) -> float:
        return self._head.height if self._head else 0.0

    def _widths(self) -> list[float]:
        whole = sum(column.share for column in self.columns)
        return [self._width * column.share / whole for column in self.columns]

    def _prepare(self, width: float) -> None:
        """Make the rows ready for this width, once."""
        if self._head is not None and width == self._width:
            return
        self._width = width
        rows, totals, strong = self._raw
        self._head = self._row([column.words for column in self.columns], strong=True, head=True)
        self._body = [self._row(row, strong=index in strong) for index, row in enumerate(rows)]
        self._totals = [self._row(row, strong=True) for row in totals]

    def _row(self, cells: Sequence[object], *, strong: bool, head: bool = False) -> _Row:
        made: list[Cell] = []
        height = _LEADING
        for value, column, width in zip(cells, self.columns, self._widths(), strict=True):
            room = width - 2 * _PAD_X
            cell = (
                value
                if isinstance(value, Flowable)
                else _fit(printable("" if value is None else value), column, room, strong=strong, head=head)
            )
            if isinstance(cell, Flowable):
                height = max(height, cell.wrap(room, 10_000)[1])
            made.append(cell)
        return _Row(tuple(made), height + 2 * _PAD_Y, strong)

    def _part(self, body: list[_Row], totals: list[_Row]) -> PagedTable:
        """A part of this table with the rows made ready already."""
        part = PagedTable(self.columns, ())
        part._head, part._body, part._totals, part._width = self._head, body, totals, self._width
        return part

    def _split_tall(self, rest: float) -> list[Flowable]:
        """Cut the first row where it is taller than the page; leave it whole where the next page can hold it."""
        row = self._body[0]
        frame = getattr(self, "_frame", None)
        if frame is not None and not getattr(frame, "_atTop", True):
            return []
        upper: list[Cell] = []
        lower: list[Cell] = []
        room = rest - 2 * _PAD_Y
        for cell, width in zip(row.cells, self._widths(), strict=True):
            pieces = cell.split(width - 2 * _PAD_X, room) if isinstance(cell, Flowable) else [cell]
            upper.append(pieces[0] if pieces else "")
            lower.append(pieces[1] if len(pieces) > 1 else "")
        if not any(isinstance(cell, Flowable) for cell in lower):
            return []
        first = _Row(tuple(upper), rest, row.strong)
        height = max(
            cell.wrap(width - 2 * _PAD_X, 10_000)[1] if isinstance(cell, Flowable) else _LEADING
            for cell, width in zip(lower, self._widths(), strict=True)
        )
        second = _Row(tuple(lower), height + 2 * _PAD_Y, row.strong)
        return [self._part([first], []), self._part([second, *self._body[1:]], self._totals)]

    def _style(self, rows: list[_Row]) -> list[tuple[object, ...]]:
        line = HexColor(palette.LINE)
        commands: list[tuple[object, ...]] = [
            ("FONT", (0, 0), (-1, -1), FONT, _SIZE, _LEADING),
            ("TEXTCOLOR", (0, 0), (-1, -1), HexColor(palette.INK)),
            ("TEXTCOLOR", (0, 0), (-1, 0), HexColor(palette.INK_SOFT)),
            ("FONT", (0, 0), (-1, 0), FONT_BOLD, _SIZE - 1, _LEADING),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
            ("LEFTPADDING", (0, 0), (-1, -1), _PAD_X),
            ("RIGHTPADDING", (0, 0), (-1, -1), _PAD_X),
            ("TOPPADDING", (0, 0), (-1, -1), _PAD_Y - 0.6),
            ("BOTTOMPADDING", (0, 0), (-1, -1), _PAD_Y),
            ("LINEBELOW", (0, 0), (-1, 0), 1, HexColor(palette.ACCENT)),
            ("LINEBELOW", (0, 1), (-1, -1), 0.4, line),
        ]
        commands += [("ALIGN", (at, 0), (at, -1), "RIGHT") for at, column in enumerate(self.columns) if column.align == "right"]
        commands += [("FONT", (0, at), (-1, at), FONT_BOLD, _SIZE, _LEADING) for at, row in enumerate(rows) if at and row.strong]
        if self._totals:
            first = len(rows) - len(self._totals)
            commands.append(("LINEABOVE", (0, first), (-1, first), 1, HexColor(palette.INK)))
        return commands


def _fit(text: str, column: Column, room: float, *, strong: bool, head: bool) -> Cell:
    """The text itself where it fits on one line, else a paragraph that wraps; both are drawn without reading markup."""
    size = _SIZE - 1 if head else _SIZE
    font = FONT_BOLD if strong else FONT
    if "\n" not in text and stringWidth(text, font, size) <= room:
        return text
    style = ParagraphStyle(
        "cell",
        fontName=font,
        fontSize=size,
        leading=_LEADING,
        textColor=HexColor(palette.INK_SOFT if head else palette.INK),
        alignment=TA_RIGHT if column.align == "right" else 0,
        splitLongWords=1,
    )
    return Paragraph(escape(text).replace("\n", "<br/>"), style)
