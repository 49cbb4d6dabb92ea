"""The reorder list on paper, one table a supplier, with the reason of every line."""

from __future__ import annotations

from finishing import show
from finishing.documents.letterhead import letterhead_of
from finishing.documents.pdf import Column, chart, document, facts, heading, keep, page_width, para, space, table
from finishing.models import Shop
from inventory.reorder import ReorderLine, ReorderList, SupplierOrder
from inventory.reorder_cover import cover_of
from inventory.stock_chart import stock_drawing

CHART_SHARE = 0.8  # of the page's width
COLUMNS = (
    Column(words="Material", share=2.8),
    Column(words="Pack", share=1.5),
    Column(words="Supplier’s code", share=1.7),
    Column(words="Packs", share=0.8, align="right"),
    Column(words="Price", share=1.2, align="right"),
    Column(words="Amount", share=1.3, align="right"),
    Column(words="Order by", share=1.7),
)


def reorder_pdf(found: ReorderList, *, shop: Shop, invariant: bool = False) -> bytes:
    """The list as a PDF."""
    story = []
    for order in found.orders:
        story += _supplier(order)
    if not found.orders:
        story.append(para("Nothing has to be ordered today.", "lead"))
    elif len(found.orders) > 1:
        story += [space(6), para(f"All suppliers together: {show.money(found.total)}", "strong")]
    if found.orders:
        lines = [line for order in found.orders for line in order.lines]
        story += [part for line in lines for part in _why(line, page_width(shop.page_size), first=line is lines[0])]
    if found.unbuyable:
        story += [heading("To mend before these can be bought"), *(_unbuyable(line) for line in found.unbuyable)]
    return document(
        title="Reorder list",
        letterhead=letterhead_of(shop),
        page_size=shop.page_size,
        story=story,
        date=show.day(found.on),
        meta=[("Lines", str(found.line_count)), ("Suppliers", str(len(found.orders)))],
        invariant=invariant,
    )


def _supplier(order: SupplierOrder) -> list[object]:
    rows = [
        (
            line.material.name,
            pack.pack.description,
            pack.pack.supplier_code,
            str(pack.count),
            show.money(pack.price),
            show.money(pack.amount),
            show.day(line.advice.order_by),
        )
        for line in order.lines
        for pack in line.packs
    ]
    contact = " · ".join(part for part in (order.supplier.contact, order.supplier.phone, order.supplier.email) if part)
    parts: list[object] = [heading(order.supplier.name)]
    if contact:
        parts.append(para(contact, "small"))
    parts.append(table(COLUMNS, rows, totals=_totals(order)))
    minimum = show.money(order.supplier.minimum_order)
    if order.missing > 0:
        parts.append(para(f"{show.money(order.missing)} short of this supplier’s minimum order of {minimum}."))
    elif order.supplier.minimum_order:
        parts.append(para(f"This supplier’s minimum order of {minimum} is reached."))
    parts.append(space(4))
    parts += [para(f"{line.material.name}: {line.summary}", "small") for line in order.lines]
    return parts


def _why(line: ReorderLine, width: float, *, first: bool) -> list[object]:
    """All reasons of a line with their numbers, what the purchase does, and the chart of its stock."""
    counts = [(pack.pack, pack.count) for pack in line.packs]
    shown = cover_of(line.material, line.advice, counts)
    drawn = stock_drawing(line.material, line.advice, bought=shown.cover, point=line.advice.point.quantity)
    image = chart(drawn, width=width * CHART_SHARE)
    head = [heading("Why, line by line")] if first else []
    return [
        keep(
            *head,
            para(line.material.name, "strong"),
            para(line.summary),
            para(shown.words),
            image,
        ),
        facts([(reason.words, reason.figure) for reason in line.reasons], columns=3),
        *(para(one.words) for one in line.doubts),
        space(8),
    ]


def _totals(order: SupplierOrder) -> list[tuple[str, ...]]:
    """What the goods cost, what bringing them costs, and both."""
    pairs = [("Total", order.total)]
    if order.delivery_charge:
        pairs = [("Goods", order.goods), ("Delivery charge", order.delivery_charge), *pairs]
    return [(words, "", "", "", "", show.money(amount), "") for words, amount in pairs]


def _unbuyable(line: ReorderLine) -> object:
    return keep(para(line.material.name, "strong"), para(f"{line.summary} {line.problem}"))
