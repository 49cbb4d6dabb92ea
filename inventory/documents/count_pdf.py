"""A count sheet on paper: every lot with a line to write on, place by place."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable

from finishing import show
from finishing.documents import palette
from finishing.documents.letterhead import letterhead_of
from finishing.documents.pdf import Column, document, heading, para, space, table
from finishing.models import Shop
from inventory.counts import clock, count_groups
from inventory.forms.fields import typed_unit
from inventory.models import CountLine, StockCount

WRITE_HEIGHT = 19.0  # points: room for handwriting
SPARE_LINES = 4
_LINE, _NAME, _LOT = (Column(words="Line", share=1.5), Column(words="Material", share=3.2), Column(words="Lot number", share=1.9))
_BOOK = Column(words="Books say", share=1.2, align="right")
_COUNTED, _UNIT, _REMARK = (
    *(Column(words="Counted", share=1.7), Column(words="Unit", share=0.7)),
    Column(words="Remark", share=2.2),
)

_SPARE = (Column(words="Material", share=3.2), Column(words="Lot number", share=2), _COUNTED, _UNIT, _REMARK)


class WriteLine(Flowable):
    """An empty line to write on, as wide as its cell."""

    def wrap(self, available_width: float, available_height: float) -> tuple[float, float]:  # noqa: ARG002
        """As high as a pencil needs."""
        self.width, self.height = available_width, WRITE_HEIGHT
        return self.width, self.height

    def draw(self) -> None:
        """The line, a little above the cell's edge."""
        self.canv.setStrokeColor(HexColor(palette.INK))
        self.canv.setLineWidth(0.7)
        self.canv.line(0, 2, self.width, 2)


def count_pdf(count: StockCount, lines: Sequence[CountLine], *, shop: Shop, printed: datetime, invariant: bool = False) -> bytes:
    """The sheet of a count on the shop's paper; ``printed`` is the moment at which the books were read."""
    story: list[Any] = [*_how(count)]
    story += [
        para("Counted by ____________________________   on ____________________   at ______________ o’clock", "lead"),
        space(4),
    ]
    for place, found in count_groups(lines):
        story += [heading(place), table(_columns(count), [_row(count, line) for line in found])]
    story += [
        heading("Found, but not on this sheet"),
        para("Write down every container that is not listed above. Do not correct the list itself.", "small"),
        table(_SPARE, [[WriteLine() for _ in _SPARE] for _ in range(SPARE_LINES)]),
    ]
    return document(
        title="Count sheet, blind" if count.is_blind else "Count sheet",
        number=count.label,
        date=f"printed {clock(printed)}",
        letterhead=letterhead_of(shop),
        page_size=shop.page_size,
        story=story,
        meta=[("What is counted", count.scope), ("Opened", f"{clock(count.opened_at)} by {count.opened_by}")],
        invariant=invariant,
    )


def _how(count: StockCount) -> list[Any]:
    words = "Count what stands there, opened and unopened containers together, and write it down in the unit of the line. "
    words += "Write 0 where nothing is left. Leave a line empty only where nobody has looked."
    if not count.is_blind:
        words += " What the books say is as of printing."
    parts: list[Any] = [para(words), space(4)]
    return [*parts, para(f"Note: {count.note}"), space(4)] if count.note else parts


def _columns(count: StockCount) -> tuple[Column, ...]:
    book = () if count.is_blind else (_BOOK,)
    return (_LINE, _NAME, _LOT, *book, _COUNTED, _UNIT, _REMARK)


def _row(count: StockCount, line: CountLine) -> list[Any]:
    lot, material = line.lot, line.lot.material
    book = [] if count.is_blind else [show.quantity(lot.on_hand, material.stock_unit)]
    unit = typed_unit(material.unit, show.preferences().units)
    return [line.label, material.name, lot.number, *book, WriteLine(), unit, WriteLine()]
