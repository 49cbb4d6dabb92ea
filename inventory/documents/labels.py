"""A sheet of labels as a PDF, to be printed at its own size."""

from __future__ import annotations

import io
from collections.abc import Sequence

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from finishing.documents.pdf_page import register_fonts
from inventory.documents.labels_draw import Box, draw_label
from inventory.documents.labels_face import Face
from inventory.documents.labels_sheet import PAPERS, Cell, Sheet

HINT = "Print at 100 %, not fitted to the page"


def labels_pdf(faces: Sequence[Face], sheet: Sheet, *, first: int = 1, edges: bool = False, invariant: bool = False) -> bytes:
    """The labels in the order given, from position ``first`` of the first sheet on.

    ``edges`` draws the edge of every label, to hold a print on plain paper against the sheet. ``invariant`` leaves out clock
    and random marks. Raises ``NoRoomError`` when a label can't hold what must stand on it.
    """
    register_fonts()
    width, height = (float(side) * mm for side in PAPERS[sheet.paper])
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(width, height), invariant=1 if invariant else None, pageCompression=1)
    canvas.setTitle("Labels")
    canvas.setSubject(HINT)
    canvas.setCreator("Finish Ledger")
    canvas.setViewerPreference("PrintScaling", "None")
    page = 0
    for face, cell in zip(faces, sheet.cells(len(faces), first=first), strict=True):
        if cell.page > page:
            canvas.showPage()
            page = cell.page
        box = _box(cell, height)
        if edges:
            canvas.setStrokeGray(0.6)
            canvas.setLineWidth(0.3)
            canvas.rect(box.left, box.bottom, box.width, box.height, stroke=1, fill=0)
        draw_label(canvas, face, box, page_height=height)
    canvas.save()
    return buffer.getvalue()


def _box(cell: Cell, page_height: float) -> Box:
    left, top, width, height = (float(length) * mm for length in (cell.left, cell.top, cell.width, cell.height))
    return Box(left=left, bottom=page_height - top - height, width=width, height=height)
