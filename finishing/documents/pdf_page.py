"""The page of a PDF document: paper, fonts, the house rule, what stands at head and foot."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from finishing.documents import palette

PAGE_SIZES: dict[str, tuple[float, float]] = {"A4": A4, "letter": LETTER}
MARGIN = float(18 * mm)
FONT, FONT_BOLD = "DejaVuSans", "DejaVuSans-Bold"
_FONT_FILES = Path(__file__).parent / "fonts"


@lru_cache(maxsize=1)
def register_fonts() -> None:
    """Make the house fonts known; they are embedded as subsets, so that every reader shows the same page."""
    pdfmetrics.registerFont(TTFont(FONT, str(_FONT_FILES / "DejaVuSans.ttf")))
    pdfmetrics.registerFont(TTFont(FONT_BOLD, str(_FONT_FILES / "DejaVuSans-Bold.ttf")))
    pdfmetrics.registerFontFamily(FONT, normal=FONT, bold=FONT_BOLD, italic=FONT, boldItalic=FONT_BOLD)


def page_width(page_size: str) -> float:
    """The width between the margins, in points; an unknown paper is a ``ValueError``."""
    return paper_of(page_size)[0] - 2 * MARGIN


def paper_of(page_size: str) -> tuple[float, float]:
    """Width and height in points; an unknown paper is a ``ValueError``."""
    try:
        return PAGE_SIZES[page_size]
    except KeyError:
        raise ValueError(f"no paper called {page_size!r}; known: {', '.join(PAGE_SIZES)}") from None


class Coats(Flowable):
    """The house rule: three thin coats, each shorter than the one below it."""

    def __init__(self, width: float) -> None:
        super().__init__()
        self.width, self.height = width, 6.0

    def draw(self) -> None:
        """Paint from the ground up."""
        coats = ((palette.COAT_1, 1.0, 0.0), (palette.COAT_2, 0.62, 1.4), (palette.COAT_3, 0.31, 2.8))
        for colour, share, bottom in coats:
            self.canv.setFillColor(HexColor(colour))
            self.canv.rect(0, bottom, self.width * share, 1.4, stroke=0, fill=1)


def running_head(words: str) -> Callable[[Canvas, Any], None]:
    """What stands at the top of the second and later pages."""

    def paint(canvas: Canvas, template: Any) -> None:
        canvas.saveState()
        top = template.pagesize[1] - MARGIN
        canvas.setFont(FONT, 7.5)
        canvas.setFillColor(HexColor(palette.INK_SOFT))
        canvas.drawString(MARGIN, top - 7, words[:140])
        canvas.setStrokeColor(HexColor(palette.COAT_2))
        canvas.setLineWidth(0.8)
        canvas.line(MARGIN, top - 13, template.pagesize[0] - MARGIN, top - 13)
        canvas.restoreState()

    return paint


def numbered(foot: str) -> type[Canvas]:
    """A canvas that holds back its pages until it knows how many there are."""

    class Numbered(Canvas):
        def __init__(self, *args: Any, **kwargs: Any) -> None:
            super().__init__(*args, **kwargs)
            self._held: list[dict[str, Any]] = []

        def showPage(self) -> None:  # noqa: N802 - the library's name
            self._held.append(dict(self.__dict__))
            self._startPage()

        def save(self) -> None:
            for number, page in enumerate(self._held, start=1):
                self.__dict__.update(page)
                self._foot(number, len(self._held))
                super().showPage()
            super().save()

        def _foot(self, number: int, count: int) -> None:
            self.setFont(FONT, 7.5)
            self.setFillColor(HexColor(palette.INK_SOFT))
            self.drawString(MARGIN, MARGIN - 2, foot[:120])
            self.drawRightString(self._pagesize[0] - MARGIN, MARGIN - 2, f"page {number} of {count}")

    return Numbered
