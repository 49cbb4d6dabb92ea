"""A document drawn with reportlab alone: the baseline for the house's PDF kit.

It is given the text of a finished document, ready to print, and draws the same words and table rows on the same paper in the same
fonts, in the plainest way that the library offers.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any
from unittest.mock import patch
from xml.sax.saxutils import escape

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import KeepTogether, Paragraph, SimpleDocTemplate, Table, TableStyle

from finishing.documents import pdf
from finishing.documents.letterhead import Letterhead
from finishing.documents.pdf_page import FONT, FONT_BOLD, MARGIN, PAGE_SIZES, register_fonts
from finishing.documents.pdf_table import PagedTable

LONGEST_PLAIN = 40  # characters; a longer cell gets a paragraph, so that it wraps

BODY = ParagraphStyle("bare body", fontName=FONT, fontSize=9, leading=13)
STRONG = ParagraphStyle("bare strong", parent=BODY, fontName=FONT_BOLD)
CELL = ParagraphStyle("bare cell", parent=BODY, fontSize=8.5, leading=11.5)
GRID = TableStyle(
    [
        ("FONT", (0, 0), (-1, -1), FONT, 8.5),
        ("FONT", (0, 0), (-1, 0), FONT_BOLD, 7.5),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, "#999999"),
    ]
)
TOP = TableStyle([("VALIGN", (0, 0), (-1, -1), "TOP")])


@dataclass(frozen=True, slots=True, kw_only=True)
class BareTable:
    """Rows of text and the columns' shares of the width."""

    rows: list[list[str]]
    shares: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sketch:
    """All that a document says: its head, and its text and tables in order."""

    letterhead: Letterhead
    title: str
    number: str
    date: str
    page_size: str
    parts: list[str | BareTable]

    @property
    def words(self) -> list[str]:
        """Every word of it, as often as it stands there; what repeats from page to page counts once."""
        said = [self.letterhead.name, *self.letterhead.contact_lines, self.title, self.number, self.date]
        for part in self.parts:
            said += [part] if isinstance(part, str) else [cell for row in part.rows for cell in row]
        return " ".join(said).split()


def sketch_of(make: Callable[[], object]) -> Sketch:
    """The text of the document that ``make`` hands to the house's kit."""
    with patch.object(pdf, "document", return_value=b"") as handed:
        make()
    given = handed.call_args.kwargs
    return Sketch(
        letterhead=given["letterhead"],
        title=given["title"],
        number=given.get("number", ""),
        date=given.get("date", ""),
        page_size=given["page_size"],
        parts=list(_parts(given["story"])),
    )


def _parts(story: Iterable[Any]) -> Iterator[str | BareTable]:
    for flowable in story:
        if isinstance(flowable, KeepTogether):
            yield from _parts(flowable._content)
        elif isinstance(flowable, PagedTable):
            rows, totals, _ = flowable._raw
            head = [column.words for column in flowable.columns]
            shares = tuple(column.share for column in flowable.columns)
            yield BareTable(rows=[head, *([_text(cell) for cell in row] for row in (*rows, *totals))], shares=shares)
        elif isinstance(flowable, Table):
            yield BareTable(rows=[[_text(cell) for cell in row] for row in flowable._cellvalues], shares=(1.0,) * flowable._ncols)
        elif text := _text(flowable):
            yield text


def _text(part: Any) -> str:
    """The words of a cell or a paragraph; none of a rule or a gap."""
    if isinstance(part, list | tuple):
        return "\n".join(filter(None, map(_text, part)))
    if isinstance(part, Paragraph):
        return "".join("\n" if getattr(piece, "lineBreak", False) else piece.text for piece in part.frags)
    return part if isinstance(part, str) else ""


def bare_pdf(sketch: Sketch, *, pages: int) -> bytes:
    """The document as PDF. How many pages it will have is told, which the kit finds out by itself."""
    register_fonts()
    buffer = io.BytesIO()
    paper = PAGE_SIZES[sketch.page_size]
    width = paper[0] - 2 * MARGIN
    head = sketch.letterhead
    template = SimpleDocTemplate(
        buffer, pagesize=paper, leftMargin=MARGIN, rightMargin=MARGIN, topMargin=MARGIN, bottomMargin=MARGIN
    )
    named = [[_paragraph(sketch.title, STRONG), [_paragraph(sketch.number), _paragraph(sketch.date)]]]
    story: list[Any] = [
        Table([[_paragraph(head.name, STRONG), [_paragraph(line) for line in head.contact_lines]]], style=TOP),
        Table(named, colWidths=[width / 2] * 2, style=TOP),
    ]
    story += [_paragraph(part) if isinstance(part, str) else _table(part, width) for part in sketch.parts]

    def foot(canvas: Any, document: Any) -> None:
        canvas.setFont(FONT, 7.5)
        canvas.drawString(MARGIN, MARGIN - 2, " · ".join(filter(None, (head.name, head.phone, head.email))))
        canvas.drawRightString(paper[0] - MARGIN, MARGIN - 2, f"page {document.page} of {pages}")

    def later(canvas: Any, document: Any) -> None:
        foot(canvas, document)
        canvas.drawString(MARGIN, paper[1] - MARGIN, " · ".join((head.name, sketch.title, sketch.number)))

    template.build(story, onFirstPage=foot, onLaterPages=later)
    return buffer.getvalue()


def _paragraph(text: str, style: ParagraphStyle = BODY) -> Paragraph:
    return Paragraph(escape(text).replace("\n", "<br/>"), style)


def _table(table: BareTable, width: float) -> Table:
    whole = sum(table.shares)
    cells: Sequence[Sequence[Any]] = [
        [_paragraph(text, CELL) if len(text) > LONGEST_PLAIN else text for text in row] for row in table.rows
    ]
    return Table(cells, colWidths=[width * share / whole for share in table.shares], style=GRID)
