"""One label drawn into its cell: text that fits, a square code, and bars where there is room.

Bars and modules are a whole number of dots on printers of 200, 300 and 600 dots per inch: all are multiples of a hundredth of
an inch (2, 3 and 6 dots), and codes begin on that grid of the paper. A reader sees edges there and no grey.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, floor

import segno
from reportlab.graphics.barcode.code128 import Code128
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from finishing.documents.pdf_page import FONT, FONT_BOLD
from inventory.documents.labels_face import SEE_SHEET, Face

DOT = 0.72  # points: a hundredth of an inch
QUIET_SQUARE, QUIET_BARS = 4, 10  # modules of white around a code
PAD, GAP = float(1.6 * mm), float(1.2 * mm)
TALL = float(48 * mm)  # from here on a label has room for larger modules
LEADING = 1.16
OPENED, USE_BY = "Opened", "Use by"
SIZES = (17, 15, 13, 12, 11, 10, 9, 8, 7.5, 7, 6.5, 6, 5.5, 5)
LEAST_WHOLE = 6.0  # points: below this a long name is shortened rather than printed smaller
TIGHT = tuple(size for size in SIZES if size <= 7)
MOST_NAME_LINES = 3
SMALL = 0.72  # size of the small print as a share
LEAST_SMALL = 5.0
WRITE_ROW = float(5 * mm)
LEAST_LINE = float(15 * mm)  # to write a day on


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle on the page in points, from its lower left corner."""

    left: float
    bottom: float
    width: float
    height: float

    @property
    def top(self) -> float:
        return self.bottom + self.height

    @property
    def right(self) -> float:
        return self.left + self.width


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of text, or a line to write on."""

    text: str
    size: float
    bold: bool = False
    write: bool = False

    @property
    def height(self) -> float:
        return WRITE_ROW + 1 if self.write else self.size * LEADING

    @property
    def font(self) -> str:
        return FONT_BOLD if self.bold else FONT


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Where everything goes: the rows of text from the top, the square code, the bars if any."""

    rows: tuple[Row, ...]
    text: Box
    square: Box  # with its quiet zone
    module: float
    bars: Box | None  # with its quiet zones
    bar: float  # width of the narrowest bar


class NoRoomError(ValueError):
    """A label too small for what must stand on it."""


def draw_label(canvas: Canvas, face: Face, cell: Box, *, page_height: float) -> None:
    """Draw one label. Nothing leaves the cell; raises ``NoRoomError`` where it is too small."""
    plan = plan_label(face, cell, page_height=page_height)
    for row, bottom in _placed(plan):
        _draw_row(canvas, row, plan.text, bottom)
    canvas.setFillGray(0)
    _draw_square(canvas, face.square, plan)
    if plan.bars:
        _draw_bars(canvas, face.bars, plan.bars, plan.bar)


# ------------------------------------------------------------ planning


def plan_label(face: Face, cell: Box, *, page_height: float) -> Plan:
    """The first arrangement that fits, from the most comfortable to the tightest."""
    modules = len(square_modules(face.square)) + 2 * QUIET_SQUARE
    for dots, bar_dots, sizes, whole in _arrangements(tall=cell.height >= TALL, bars=bool(face.bars)):
        side = modules * dots * DOT
        if side + DOT > min(cell.height, cell.width / 2):
            continue
        square = _on_grid(cell.right - side, cell.top, side, side, page_height=page_height, to_the_right=False)
        bars = _bars_box(face.bars, cell, square, page_height, bar_dots * DOT) if bar_dots else None
        if bar_dots and bars is None:
            continue
        left, foot = cell.left + PAD, bars.top + GAP / 2 if bars else cell.bottom + PAD
        text = Box(left=left, bottom=foot, width=square.left - left, height=cell.top - PAD - foot)
        rows = _fit(face, text, sizes=sizes, whole=whole)
        if rows:
            return Plan(rows=rows, text=text, square=square, module=dots * DOT, bars=bars, bar=bar_dots * DOT)
    raise NoRoomError(f"no room for {face.number_label} {face.number} on {cell.width / mm:.0f} × {cell.height / mm:.0f} mm")


def _arrangements(*, tall: bool, bars: bool) -> Iterator[tuple[int, int, Sequence[float], bool]]:
    """Dots of a module, dots of a bar (0: no bars), sizes of the text, and whether the name must stay whole."""
    comfortable = [size for size in SIZES if size >= LEAST_WHOLE]
    large = (3, 2) if tall else (2,)
    for bar_dots in (*((2, 1) if tall else (1,)), 0) if bars else (0,):
        for dots in large:
            yield dots, bar_dots, comfortable, True
    for dots in (*large, 1):
        yield dots, 0, TIGHT, False


def _on_grid(left: float, top: float, width: float, height: float, *, page_height: float, to_the_right: bool) -> Box:
    """A box moved by less than a dot, down and to one side, so that it begins on the printer's grid."""
    down = ceil((page_height - top) / DOT - 1e-6) * DOT
    aside = (ceil(left / DOT - 1e-6) if to_the_right else floor(left / DOT + 1e-6)) * DOT
    return Box(left=aside, bottom=page_height - down - height, width=width, height=height)


def _bars_box(text: str, cell: Box, square: Box, page_height: float, bar: float) -> Box | None:
    """Room for the bars at the foot of the label: below the square code, else beside it. None where they do not fit."""
    width = (sum(width for width, _ in bar_widths(text)) + 2 * QUIET_BARS) * bar
    height = round(min(max(cell.height * 0.18, 5 * mm), 9 * mm) / DOT) * DOT
    below = square.bottom - cell.bottom >= height + PAD
    room = (cell.right if below else square.left) - cell.left
    if width + DOT > room or height > cell.height / 3:
        return None
    top = cell.bottom + PAD + height
    return _on_grid(cell.left, top, width, height, page_height=page_height, to_the_right=True)


def _fit(face: Face, text: Box, *, sizes: Sequence[float], whole: bool) -> tuple[Row, ...]:
    """The rows at the largest size at which they fit; empty where they fit at none.

    What can be looked up elsewhere goes first: how long it keeps, and the place; on the tightest labels the line to write on.
    """
    for least, extras, write in ((7.5, True, True), (0, False, True), *(() if whole else ((0, False, False),))):
        for size in sizes:
            rows = _rows(face, text.width, size, whole=whole, extras=extras, write=write)
            if size >= least and rows and sum(row.height for row in rows) <= text.height:
                return rows
    return ()


def _rows(face: Face, width: float, size: float, *, whole: bool, extras: bool, write: bool) -> tuple[Row, ...]:
    """All rows at one size; none where the name would need a fourth line and must stay whole."""
    small = max(size * SMALL, LEAST_SMALL)
    name = wrap(face.name, FONT_BOLD, size, width)
    if len(name) > MOST_NAME_LINES and whole:
        return ()
    if len(name) > 2 and not whole:
        first = [name[0]] if write else []
        name = [*first, shorten(" ".join(name[len(first) :]), FONT_BOLD, size, width)]
    number = f"{face.number_label} {face.number}".strip()
    strong = (*name, *(line for words in (number, face.until, face.alarm) for line in wrap(words, FONT_BOLD, size, width)))
    rows = [Row(text=line, size=size, bold=True) for line in strong]
    if face.write and write:
        rows.append(Row(text=OPENED, size=small, write=True))
    if extras:
        rows += [Row(text=line, size=small) for words in (face.keeps, face.place) for line in wrap(words, FONT, small, width)]
    return (*rows, *_hazard_rows(face, width, small, whole=whole))


def _hazard_rows(face: Face, width: float, size: float, *, whole: bool) -> list[Row]:
    """Signal word, H-codes, and where the rest is told. The signal word and the last are never left out."""
    if not face.hazard.see_sheet:
        return []
    for shown in range(len(face.hazard.codes), -1, -1):
        left_out = len(face.hazard.codes) - shown
        codes = ", ".join(face.hazard.codes[:shown]) + (f" and {left_out} more" if left_out and shown else "")
        words = ": ".join(part for part in (face.hazard.signal, codes) if part)
        lines = wrap(f"{words}. {SEE_SHEET}" if words else SEE_SHEET, FONT_BOLD, size, width)
        if len(lines) <= (6 if whole else 3) or shown == 0:
            return [Row(text=line, size=size, bold=bool(face.hazard.signal)) for line in lines]
    return []


def wrap(text: str, font: str, size: float, width: float) -> list[str]:
    """The text in lines that are no wider than ``width``: broken at blanks, and inside words that are wider themselves."""
    lines: list[str] = []
    line = ""
    for word in text.split(" "):
        joined = f"{line} {word}".strip()
        if stringWidth(joined, font, size) <= width:
            line = joined
            continue
        if stringWidth(word, font, size) > width:  # it is broken anyway: begin it beside what stands there
            word = joined
        elif line:
            lines.append(line)
        *full, line = _pieces(word, font, size, width)
        lines += full
    return [*lines, line] if line else lines


def _pieces(word: str, font: str, size: float, width: float) -> list[str]:
    pieces, piece = [], ""
    for char in word:
        if piece and stringWidth(piece + char, font, size) > width:
            pieces.append(piece)
            piece = ""
        piece += char
    return [*pieces, piece]


def shorten(text: str, font: str, size: float, width: float) -> str:
    """The text, or as much of it as fits on one line with an ellipsis."""
    if stringWidth(text, font, size) <= width:
        return text
    while text and stringWidth(f"{text}…", font, size) > width:
        text = text[:-1].rstrip()
    return f"{text}…"


# ------------------------------------------------------------ drawing


def _placed(plan: Plan) -> Iterator[tuple[Row, float]]:
    """Each row with its lower edge."""
    bottom = plan.text.top
    for row in plan.rows:
        bottom -= row.height
        yield row, bottom


def _draw_row(canvas: Canvas, row: Row, text: Box, bottom: float) -> None:
    base = bottom + row.size * 0.26 + (1 if row.write else 0)
    canvas.setFillGray(0)
    canvas.setFont(row.font, row.size)
    if not row.write:
        canvas.drawString(text.left, base, row.text)
        return
    canvas.setLineWidth(0.5)
    canvas.setStrokeGray(0.25)
    for words, left, right in _write_lines(row, text):
        canvas.drawString(left, base, words)
        canvas.line(left + stringWidth(f"{words} ", row.font, row.size), base - 0.6, right, base - 0.6)


def _write_lines(row: Row, text: Box) -> tuple[tuple[str, float, float], ...]:
    """Two lines to write on, or one where two would be too short: words, left and right end."""
    half = (text.width - GAP) / 2
    if half - stringWidth(f"{USE_BY} ", row.font, row.size) < LEAST_LINE:
        return ((row.text, text.left, text.right),)
    return ((row.text, text.left, text.left + half), (USE_BY, text.left + half + GAP, text.right))


@lru_cache(maxsize=512)
def square_modules(text: str) -> tuple[tuple[int, ...], ...]:
    """The dark (1) and light (0) modules of a QR code, without its quiet zone."""
    return tuple(tuple(row) for row in segno.make(text, micro=False, error="m").matrix)


def _draw_square(canvas: Canvas, text: str, plan: Plan) -> None:
    """All modules as one path, so that no hairline opens between them."""
    path = canvas.beginPath()
    module, quiet = plan.module, QUIET_SQUARE * plan.module
    for number, row in enumerate(square_modules(text)):
        bottom = plan.square.top - quiet - (number + 1) * module
        for start, length in _dark_runs(row):
            path.rect(plan.square.left + quiet + start * module, bottom, length * module, module)
    canvas.drawPath(path, stroke=0, fill=1)


def _dark_runs(row: Sequence[int]) -> Iterator[tuple[int, int]]:
    start = None
    for place, dark in enumerate((*row, 0)):
        if dark and start is None:
            start = place
        elif not dark and start is not None:
            yield start, place - start
            start = None


@lru_cache(maxsize=512)
def bar_widths(text: str) -> tuple[tuple[int, bool], ...]:
    """The bars (True) and spaces of a Code 128 in modules, without quiet zones; ``text`` is printable ASCII."""
    code = Code128(text, quiet=False)
    code.validate()
    code.encode()
    code.decompose()
    return tuple((ord(char.lower()) - ord("a") + 1, char.isupper()) for char in code.decomposed)


def _draw_bars(canvas: Canvas, text: str, box: Box, bar: float) -> None:
    path = canvas.beginPath()
    left = box.left + QUIET_BARS * bar
    for modules, is_bar in bar_widths(text):
        if is_bar:
            path.rect(left, box.bottom, modules * bar, box.height)
        left += modules * bar
    canvas.drawPath(path, stroke=0, fill=1)
