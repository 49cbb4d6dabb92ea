"""Looks at a file of labels as a printer and a scanner would: pixels, and an independent decoder."""

from __future__ import annotations

import gc
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pypdfium2
import zxingcpp
from numpy.typing import NDArray

from inventory.documents.labels_draw import Box
from inventory.documents.labels_face import Face, Hazard

GTIN = "09506000134352"
PIXELS = 72  # points to the inch


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    """What the decoder found in the pictures of all pages."""

    squares: list[str]
    bars: list[str]


def pictures(pdf: bytes, dpi: int) -> Iterator[NDArray[np.uint8]]:
    """Each page in grey, as a printer of that many dots to the inch would see it."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        for page in document:
            yield np.asarray(page.render(scale=dpi / PIXELS, grayscale=True).to_numpy()).squeeze().copy()
            page.close()
    finally:
        document.close()


def decode(pdf: bytes, dpi: int) -> Read:
    """Every code on every page."""
    squares, bars = [], []
    for picture in pictures(pdf, dpi):
        for found in zxingcpp.read_barcodes(picture):
            (squares if found.format == zxingcpp.BarcodeFormat.QRCode else bars).append(found.text)
    return Read(squares=sorted(squares), bars=sorted(bars))


def lines(pdf: bytes) -> list[list[tuple[str, Box]]]:
    """The text of each page, piece by piece, with the box around its ink."""
    document = pypdfium2.PdfDocument(pdf)
    pages = []
    for page in document:
        text = page.get_textpage()
        pieces = []
        for number in range(text.count_rects()):
            left, bottom, right, top = text.get_rect(number)
            box = Box(left=left, bottom=bottom, width=right - left, height=top - bottom)
            pieces.append((text.get_text_bounded(left, bottom, right, top), box))
        pages.append(pieces)
        text.close()
        page.close()
    document.close()
    gc.collect()
    return pages


def words(pdf: bytes) -> list[str]:
    """The text of each page with single blanks."""
    return [" ".join(" ".join(text for text, _ in page).replace("\u00a0", " ").split()) for page in lines(pdf)]


def face(lot: str = "LOT7A", **changes: object) -> Face:
    """A label like any other; ``changes`` replace parts of it."""
    usual: dict[str, object] = {
        "name": "Clear coat, satin",
        "number": lot,
        "number_label": "Lot",
        "until": "Expires Mar\u00a05,\u00a02027",
        "write": True,
        "keeps": "Keeps 30 days once opened.",
        "place": "Shelf 3",
        "hazard": Hazard(signal="DANGER", codes=("H225", "H319", "H336"), see_sheet=True),
        "square": f"01{GTIN}1727030510{lot}",
        "bars": lot,
    }
    return Face(**{**usual, **changes})  # type: ignore[arg-type]


def texts(lengths: Sequence[int], alphabet: str = "ABCDEFGHJKLMNPQRSTUVWXYZ0123456789-") -> list[str]:
    """One text of each length, no two alike."""
    return ["".join(alphabet[(place * 7 + length) % len(alphabet)] for place in range(length)) for length in lengths]
