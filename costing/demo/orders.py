"""Loads the invented shop's purchase orders: one awaited, one of which a part came at another price."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from costing.demo.catalogue import read
from costing.demo.dates import from_today
from costing.demo.stock import demo_key
from finishing.models import User
from inventory.choices import PriceSource
from inventory.models import Pack, PurchaseOrder, Supplier
from inventory.services.order_receipts import ArrivedLine, receive_order
from inventory.services.orders import WantedLine, create_order, send_order
from inventory.services.prices import set_price
from inventory.services.scanning import enter_gtin


def load_orders(*, people: dict[str, User], today: date) -> list[PurchaseOrder]:
    """Write, send and partly receive the orders of the fixture; give packs their codes, and one another price."""
    data = read("orders.json")
    for code, gtin in data["gtins"].items():
        enter_gtin(pack=_pack(code), gtin=gtin)
    for code, price, since, source, note in data["prices"]:
        day = from_today(since, today) or today
        set_price(
            pack=_pack(code), price=Decimal(price), valid_from=day, source=PriceSource(source), by=people["office"], note=note
        )
    return [_order(row, by=people["office"], today=today) for row in data["orders"]]


def _order(row: dict[str, Any], *, by: User, today: date) -> PurchaseOrder:
    order = create_order(
        key=demo_key(row["what"]),
        by=by,
        supplier=Supplier.objects.get(name=row["supplier"]),
        lines=[WantedLine(pack=_pack(code), packs=packs) for code, packs in row["lines"]],
        note=row["note"],
    )
    sent_on = from_today(row["sent"], today) or today
    sent = send_order(order=order, by=by, on=sent_on, promised_on=from_today(row["promised"], today))
    if row["came"]:
        _receive(sent, row["came"], by=by, today=today)
    return sent


def _receive(order: PurchaseOrder, came: dict[str, Any], *, by: User, today: date) -> None:
    lines = {line.pack.supplier_code: line for line in order.lines.select_related("pack", "material__usual_location")}
    receive_order(
        key=demo_key(came["reference"]),
        by=by,
        on=from_today(came["on"], today) or today,
        order=order,
        reference=came["reference"],
        lines=[
            ArrivedLine(
                line=lines[code],
                packs=packs,
                lot_number=number,
                price=None if price is None else Decimal(price),
                made_on=from_today(made, today),
                expires_on=from_today(expires, today),
            )
            for code, packs, number, price, made, expires in came["lines"]
        ],
    )


def _pack(code: str) -> Pack:
    return Pack.objects.select_related("material", "supplier").get(supplier_code=code)
