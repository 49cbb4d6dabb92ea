"""The stock value of a day on paper."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from finishing import show
from finishing.documents.letterhead import letterhead_of
from finishing.documents.pdf import Column, document, facts, heading, para, table
from finishing.models import Shop
from inventory.choices import StockUnit
from inventory.shown import cost_per
from inventory.tables_value import ROUNDING, with_rounding
from inventory.value import StockValue, ValueGroup, rounding

GROUPS = (Column(words="", share=5), Column(words="Lots", share=1, align="right"), Column(words="Value", share=2, align="right"))
LOTS = (
    Column(words="Material", share=3.2),
    Column(words="Lot", share=1.6),
    Column(words="Place then", share=1.9),
    Column(words="Quantity", share=1.4, align="right"),
    Column(words="Cost", share=1.7, align="right"),
    Column(words="Value", share=1.5, align="right"),
)
HOW = (
    "Each lot at its own unit cost, for what its movements up to the end of that day add up to. A reversal counts on its own "
    "day. What is entered later with an earlier day changes the figures of past days."
)


def value_pdf(found: StockValue, *, shop: Shop, invariant: bool = False) -> bytes:
    """The value by kind, place and lot as a PDF on the shop's paper; each total is the sum of the rows above it."""
    story = [
        facts([("Value", show.money(found.total)), ("Lots", str(len(found.lines)))], columns=2),
        para(HOW, "small"),
        *(para(words, "strong") for words in warnings_of(found)),
        heading("By kind"),
        _groups(found.by_kind, "Kind"),
        heading("By place"),
        _groups(found.by_place, "Place"),
        heading("By lot"),
        _lots(found),
    ]
    return document(
        title="Stock value",
        date=show.day(found.on),
        letterhead=letterhead_of(shop),
        page_size=shop.page_size,
        story=story,
        invariant=invariant,
    )


def warnings_of(found: StockValue) -> list[str]:
    """What makes the figures doubtful, in sentences."""
    below = found.below_nothing
    if not below:
        return []
    names = ", ".join(f"{line.material}, lot {line.number}" for line in below[:5])
    more = f" and {len(below) - 5} more" if len(below) > 5 else ""
    why = "Something was entered later with an earlier day; the lots count with what their movements say."
    return [f"Below nothing on that day: {names}{more}. {why}"]


def _groups(groups: Sequence[ValueGroup], head: str) -> object:
    columns = (Column(words=head, share=5), *GROUPS[1:])
    rows = [(group.words, str(group.lots or ""), show.money(group.value)) for group in with_rounding(groups)]
    total = sum((group.value for group in groups), Decimal(0))
    return table(columns, rows, totals=[("Total", str(sum(group.lots for group in groups)), show.money(total))])


def _lots(found: StockValue) -> object:
    rows = [
        (
            line.material,
            line.number,
            line.place,
            show.quantity(line.quantity, line.stock_unit),
            cost_per(line.unit_cost, StockUnit(line.stock_unit), of=line.quantity),
            show.money(line.value),
        )
        for line in found.lines
    ]
    off = rounding([line.value for line in found.lines], places=show.preferences().places)
    if off:
        rows.append((ROUNDING, "", "", "", "", show.money(off)))
    return table(LOTS, rows, totals=[("Total", "", "", "", "", show.money(found.total))])
