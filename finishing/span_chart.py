"""Spans of time as bars under each other: what goes on when. Drawn once for the page and for paper, like the other charts.

Import this module inside the function that draws: it brings the drawing library along.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.graphics.shapes import Drawing, Line, Rect
from reportlab.lib.colors import HexColor
from reportlab.pdfbase.pdfmetrics import stringWidth

from finishing.charts import _SIZE, _colour, _key, _key_rows, _shortened, _text
from finishing.documents import palette
from finishing.documents.pdf_page import FONT, register_fonts


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """A stretch of a row, on the chart's own scale; ``part`` is its place in the key. A thin one takes a third of the height."""

    start: float
    end: float
    part: int = 0
    thin: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class BarRow:
    """A row of bars and its name."""

    words: str
    bars: tuple[Bar, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """A stretch of the scale with a name above; a shaded one lies behind the bars."""

    words: str
    start: float
    end: float
    shaded: bool = False


def span_chart(
    rows: Sequence[BarRow], fields: Sequence[Field], parts: Sequence[str], *, width: float = 640, row_height: float = 22
) -> Drawing:
    """Rows of bars over a scale from 0 to the end of the last field. Raises ValueError for a bar that runs backwards."""
    if any(bar.end < bar.start for row in rows for bar in row.bars):
        raise ValueError("a bar ends before it starts")
    register_fonts()
    key = _key_rows(parts, width)
    left = min(max((stringWidth(row.words, FONT, _SIZE) for row in rows), default=0.0) + 10, width * 0.3)
    end = max((field.end for field in fields), default=1.0)
    scale = (width - left - 4) / end
    body = row_height * len(rows)
    drawing = Drawing(width, body + 30 + 18 * len(key))
    _key(drawing, key, drawing.height)
    for field in fields:
        x, long = left + field.start * scale, (field.end - field.start) * scale
        if field.shaded:
            drawing.add(Rect(x, 0, long, body, fillColor=HexColor(palette.LINE), strokeColor=None))
        elif long >= stringWidth(field.words, FONT, _SIZE):
            drawing.add(_text(x, body + 6, field.words, soft=True))
        drawing.add(Line(x, 0, x, body, strokeColor=HexColor(palette.LINE_STRONG), strokeWidth=0.4))
    for number, row in enumerate(rows):
        y = body - row_height * (number + 1)
        drawing.add(_text(0, y + row_height / 2 - 4, _shortened(row.words, left - 8)))
        drawing.add(Line(0, y, width, y, strokeColor=HexColor(palette.LINE), strokeWidth=0.4))
        for bar in row.bars:
            high = row_height * (0.24 if bar.thin else 0.64)
            drawing.add(
                Rect(
                    left + bar.start * scale,
                    y + (row_height - high) / 2,
                    max((bar.end - bar.start) * scale, 1.0),
                    high,
                    fillColor=_colour(bar.part),
                    strokeColor=None,
                )
            )
    return drawing
