"""A purchase order on paper, for the supplier."""

from __future__ import annotations

from datetime import date
from typing import Any

from finishing import show
from finishing.documents.letterhead import letterhead_of
from finishing.documents.pdf import Column, document, facts, heading, para, space, table
from finishing.models import Shop
from inventory.choices import OrderStatus
from inventory.models import PurchaseOrder
from inventory.tables_orders import amount_of, total_of

COLUMNS = (
    Column(words="", share=0.4, align="right"),
    Column(words="Your code", share=1.6),
    Column(words="Material", share=3.0),
    Column(words="Pack", share=1.6),
    Column(words="Packs", share=0.8, align="right"),
    Column(words="Price of one", share=1.3, align="right"),
    Column(words="Amount", share=1.4, align="right"),
)


def order_pdf(order: PurchaseOrder, *, shop: Shop, on: date, invariant: bool = False) -> bytes:
    """The order as a PDF on the shop's paper; what is not noted as sent bears the day ``on``, since this is what goes out."""
    lines = list(order.lines.select_related("material", "pack"))
    rows = [
        (
            str(number),
            line.pack.supplier_code,
            line.material.name,
            line.pack.description,
            str(line.packs),
            show.money(line.price),
            show.money(amount_of(line)),
        )
        for number, line in enumerate(lines, start=1)
    ]
    story: list[Any] = [*_address(order), facts(_terms(order, shop), columns=2), space(4)]
    totals = [("", "", "Total without tax", "", "", "", show.money(total_of(lines)))]
    if order.supplier.delivery_charge:
        totals.append(("", "", "Delivery charge, besides", "", "", "", show.money(order.supplier.delivery_charge)))
    story.append(table(COLUMNS, rows, totals=totals))
    if order.note:
        story += [heading("Note"), para(order.note)]
    story += [space(6), para(f"Please put {order.label} on the delivery note and the invoice.", "strong")]
    return document(
        title="Purchase order",
        number=order.label,
        date=show.day(order.sent_on or on),
        letterhead=letterhead_of(shop),
        page_size=shop.page_size,
        story=story,
        invariant=invariant,
    )


def _address(order: PurchaseOrder) -> list[Any]:
    """Whom it goes to."""
    supplier = order.supplier
    words = "\n".join(part for part in (supplier.name, supplier.contact, supplier.email, supplier.phone) if part)
    parts: list[Any] = [para(words), space(8)]
    if order.status == OrderStatus.CANCELLED:
        parts += [para(f"Cancelled on {show.day(order.closed_on)}. Please do not deliver.", "strong"), space(4)]
    return parts


def _terms(order: PurchaseOrder, shop: Shop) -> list[tuple[str, str]]:
    deliver = "\n".join(line.strip() for line in (shop.name, *shop.address.splitlines()) if line.strip())
    return [
        ("Our account number", order.supplier.account_number or show.NOTHING),
        ("Delivery wished for", show.day(order.wished_on) if order.wished_on else "as soon as possible"),
        ("Deliver to", deliver),
        ("Currency", show.preferences().currency),
    ]
