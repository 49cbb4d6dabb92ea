"""PDF documents in the house style: paper, fonts, letterhead, page numbers and the parts a document is built from.

Import this module inside the function that makes a document: it brings the drawing library with it. Every part that takes
text takes plain text; nothing that a person typed is read as markup.

    story = [heading("Work"), table(columns, rows, totals=totals), caution("Oily rags", "…", source="…")]
    data = document(title="Quote", number="Q-2026-004", letterhead=letterhead_of(shop), page_size="A4", story=story)
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Any
from xml.sax.saxutils import escape

from reportlab.graphics.shapes import Drawing
from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.lib.utils import ImageReader
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, Image, KeepTogether, PageTemplate, Paragraph, Spacer, Table

from finishing.documents import palette
from finishing.documents.letterhead import Letterhead, printable
from finishing.documents.pdf_page import (
    FONT,
    FONT_BOLD,
    MARGIN,
    Coats,
    numbered,
    page_width,
    paper_of,
    register_fonts,
    running_head,
)
from finishing.documents.pdf_table import Column, PagedTable

__all__ = [
    "Column",
    "bullets",
    "caution",
    "chart",
    "document",
    "facts",
    "heading",
    "keep",
    "page_width",
    "para",
    "register_fonts",
    "space",
    "table",
]


LOGO_WIDTH, LOGO_HEIGHT = 60 * mm, 20 * mm


@lru_cache(maxsize=1)
def styles() -> dict[str, ParagraphStyle]:
    """The paragraph styles of the house, by name."""
    register_fonts()
    ink, soft = HexColor(palette.INK), HexColor(palette.INK_SOFT)
    body = ParagraphStyle("body", fontName=FONT, fontSize=9, leading=13, textColor=ink)
    made = (
        body,
        ParagraphStyle("lead", parent=body, fontSize=10, leading=14.5),
        ParagraphStyle("small", parent=body, fontSize=7.5, leading=10.5, textColor=soft),
        ParagraphStyle("strong", parent=body, fontName=FONT_BOLD),
        ParagraphStyle("right", parent=body, alignment=TA_RIGHT),
        ParagraphStyle("label", parent=body, fontSize=7.5, leading=11, textColor=soft),
        ParagraphStyle("heading", parent=body, fontName=FONT_BOLD, fontSize=11, leading=15, spaceBefore=11, spaceAfter=4),
        ParagraphStyle("title", parent=body, fontName=FONT_BOLD, fontSize=19, leading=23),
        ParagraphStyle("shop", parent=body, fontName=FONT_BOLD, fontSize=11, leading=14),
        ParagraphStyle("contact", parent=body, fontSize=7.5, leading=10.5, textColor=soft, alignment=TA_RIGHT),
        ParagraphStyle("caution", parent=body, fontName=FONT_BOLD, textColor=HexColor(palette.WARN_INK)),
    )
    return {style.name: style for style in made}


# ------------------------------------------------------------------- parts


def markup(text: object) -> str:
    """Plain text as paragraph markup: everything escaped, line breaks kept."""
    return escape(printable(text)).replace("\n", "<br/>")


def para(text: object, style: str = "body") -> Paragraph:
    """A paragraph of plain text in a house style (body, lead, small, strong, right, label)."""
    return Paragraph(markup(text), styles()[style])


def heading(text: object) -> Paragraph:
    """A heading that goes to the next page where little room is left below it."""
    return Heading(markup(text), styles()["heading"])


def bullets(items: Iterable[object]) -> list[Paragraph]:
    """A list, one paragraph an item."""
    style = ParagraphStyle("bullet", parent=styles()["body"], leftIndent=10, bulletIndent=1)
    return [Paragraph(markup(item), style, bulletText="•") for item in items]


def space(points: float = 8) -> Spacer:
    """Empty height."""
    return Spacer(0, points)


def keep(*parts: Flowable) -> KeepTogether:
    """Parts that stay on one page where they fit on one."""
    return KeepTogether(list(parts))


def table(
    columns: Sequence[Column],
    rows: Sequence[Sequence[object]],
    *,
    totals: Sequence[Sequence[object]] = (),
    strong: Iterable[int] = (),
) -> PagedTable:
    """A table whose header repeats on every page; text wraps in its column.

    ``totals`` are bold rows at the end, kept with the last row. ``strong`` names rows (from 0) that are headings of a group.
    """
    register_fonts()
    return PagedTable(columns, rows, totals=totals, strong=frozenset(strong))


def facts(pairs: Iterable[tuple[object, object]], *, columns: int = 2) -> Table:
    """Labels with their values, in one to four columns, read across."""
    cells = [[para(label, "label"), para(value)] for label, value in pairs]
    rows = [cells[start : start + columns] for start in range(0, len(cells), columns)]
    padded: list[list[Any]] = [[*row, *[""] * (columns - len(row))] for row in rows] or [[""] * columns]
    made = Table(padded, colWidths=[f"{100 / columns}%"] * columns, hAlign="LEFT", spaceBefore=4, spaceAfter=6)
    made.setStyle(
        [("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0), ("TOPPADDING", (0, 0), (-1, -1), 0)]
    )
    return made


def caution(title: object, text: object, *, source: str = "") -> KeepTogether:
    """A hazard in brief, with its public source; it always defers to the safety data sheet."""
    defer = "Follow the product’s safety data sheet, local codes and licensed practice first."
    words = [
        para(f"Caution: {printable(title)}", "caution"),
        para(text),
        para(f"{defer} Source: {source}" if source else defer, "small"),
    ]
    box = Table([["", words]], colWidths=[6, "100%"], spaceBefore=6, spaceAfter=6)
    box.setStyle(
        [
            ("BACKGROUND", (0, 0), (0, 0), HexColor(palette.WARN_INK)),
            ("BACKGROUND", (1, 0), (1, 0), HexColor(palette.WARN_WASH)),
            ("BOX", (0, 0), (-1, -1), 0.6, HexColor(palette.WARN_INK)),
            ("LEFTPADDING", (1, 0), (1, 0), 10),
            ("TOPPADDING", (1, 0), (1, 0), 7),
            ("BOTTOMPADDING", (1, 0), (1, 0), 7),
        ]
    )
    return KeepTogether([box])


def chart(drawing: Drawing, *, width: float) -> Drawing:
    """A chart scaled to ``width`` points; the drawing handed in stays as it is."""
    register_fonts()
    scaled = drawing.copy()
    factor = width / drawing.width
    scaled.scale(factor, factor)
    scaled.width, scaled.height = width, drawing.height * factor
    scaled.hAlign = "LEFT"
    return scaled


# ---------------------------------------------------------------- document


def document(
    *,
    title: str,
    letterhead: Letterhead,
    page_size: str,
    story: Sequence[Flowable],
    number: str = "",
    date: str = "",
    meta: Sequence[tuple[str, str]] = (),
    invariant: bool = False,
) -> bytes:
    """The finished PDF.

    ``number`` and ``date`` stand beside the title as given (in the shop's locale), ``meta`` below it as labels and values.
    ``invariant`` leaves out clock and random marks, so that the same content gives the same bytes.
    """
    paper, width = paper_of(page_size), page_width(page_size)
    buffer = io.BytesIO()
    running = " · ".join(part for part in (printable(letterhead.name), printable(title), printable(number)) if part)
    template = BaseDocTemplate(
        buffer,
        pagesize=paper,
        leftMargin=MARGIN,
        rightMargin=MARGIN,
        topMargin=MARGIN,
        bottomMargin=MARGIN,
        title=" ".join(part for part in (printable(title), printable(number)) if part),
        author=printable(letterhead.name),
        creator="Finish Ledger",
        lang="en",
        invariant=1 if invariant else None,
    )
    register_fonts()
    first = Frame(MARGIN, MARGIN + 6 * mm, width, paper[1] - 2 * MARGIN - 6 * mm, 0, 0, 0, 0)
    later = Frame(MARGIN, MARGIN + 6 * mm, width, paper[1] - 2 * MARGIN - 14 * mm, 0, 0, 0, 0)
    template.addPageTemplates(
        [
            PageTemplate("first", frames=[first], pagesize=paper, autoNextPageTemplate="later"),
            PageTemplate("later", frames=[later], pagesize=paper, onPage=running_head(running)),
        ]
    )
    head = _head(letterhead, title=title, number=number, date=date, width=width)
    block = [facts(meta, columns=3)] if meta else []
    template.build([*head, *block, *story], canvasmaker=numbered(_foot_words(letterhead)))
    return buffer.getvalue()


def _head(letterhead: Letterhead, *, title: str, number: str, date: str, width: float) -> list[Flowable]:
    """The sender, three coats of a rule, and the title with its number and date."""
    sender = Table(
        [
            [
                [*_logo(letterhead), para(letterhead.name, "shop")],
                [para(line, "contact") for line in letterhead.contact_lines] or "",
            ]
        ],
        colWidths=[width * 0.5, width * 0.5],
    )
    sender.setStyle(
        [("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 0)]
    )
    beside = [para(words, "right") for words in (number, date) if words]
    named = Table([[para(title, "title"), beside or ""]], colWidths=[width * 0.62, width * 0.38], spaceBefore=10, spaceAfter=4)
    named.setStyle(
        [("VALIGN", (0, 0), (-1, -1), "BOTTOM"), ("LEFTPADDING", (0, 0), (-1, -1), 0), ("RIGHTPADDING", (0, 0), (-1, -1), 0)]
    )
    return [sender, Coats(width), named]


def _logo(letterhead: Letterhead) -> list[Flowable]:
    """The logo above the name, as large as its place allows without being stretched."""
    if not letterhead.logo:
        return []
    width, height = ImageReader(io.BytesIO(letterhead.logo)).getSize()
    scale = min(LOGO_WIDTH / width, LOGO_HEIGHT / height)
    drawn = Image(io.BytesIO(letterhead.logo), width=width * scale, height=height * scale, mask="auto", hAlign="LEFT")
    return [drawn, space(5)]


class Heading(Paragraph):
    """A paragraph that asks for a few lines of room below itself.

    The library's own "keep with next" would push a whole table to the next page to keep it with its heading.
    """

    room_below = 60.0

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:
        """The usual size, or one line more than there is where the page is nearly full."""
        width, height = super().wrap(available_width, available_height)
        frame = getattr(self, "_frame", None)
        at_top = frame is None or getattr(frame, "_atTop", True)
        if not at_top and height <= available_height < height + self.room_below:
            return width, available_height + 1
        return width, height

    def split(self, available_width: float, available_height: float) -> list[Flowable]:  # noqa: ARG002
        """Never cut: a heading moves as a whole."""
        return []


def _foot_words(letterhead: Letterhead) -> str:
    """How to reach the sender, at the foot of every page."""
    return " · ".join(printable(words).strip() for words in (letterhead.name, letterhead.phone, letterhead.email) if words)
