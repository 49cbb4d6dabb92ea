"""Short ways to order and to receive."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone

from finishing.models import User
from inventory.models import Pack, Posting, PurchaseOrder
from inventory.services.order_receipts import ArrivedLine, receive_order
from inventory.services.orders import WantedLine, create_order, send_order

D = Decimal


def draft(by: User, *wanted: tuple[Pack, int]) -> PurchaseOrder:
    """A draft for so many of these packs."""
    lines = [WantedLine(pack=pack, packs=packs) for pack, packs in wanted]
    return create_order(key=uuid.uuid4(), by=by, supplier=wanted[0][0].supplier, lines=lines)


def sent(by: User, *wanted: tuple[Pack, int], ago: int = 5, promised_in: int | None = None) -> PurchaseOrder:
    """An order that was sent some days ago."""
    today = timezone.localdate()
    promise = None if promised_in is None else today + timedelta(days=promised_in)
    return send_order(order=draft(by, *wanted), by=by, on=today - timedelta(days=ago), promised_on=promise)


def receive(by: User, order: PurchaseOrder, *came: tuple[int, int], on: date | None = None, **more: Any) -> Posting:
    """So many packs for the lines at these places."""
    lines = list(order.lines.all())
    arrived = [ArrivedLine(line=lines[place], packs=packs, lot_number=f"L{place}-{packs}", **more) for place, packs in came]
    key = uuid.uuid4()
    return receive_order(key=key, by=by, on=on or timezone.localdate(), order=order, reference=f"DN {key}", lines=arrived)


def rows(order: PurchaseOrder, *given: dict[str, str]) -> dict[str, str]:
    """A delivery against an order as the browser sends it: one row a line, and two left empty."""
    lines = list(order.lines.all())
    every = [*({"line": str(lines[int(row.pop("at", "0"))].pk), **row} for row in map(dict, given)), {}, {}]
    data = {"rows-TOTAL_FORMS": str(len(every)), "rows-INITIAL_FORMS": "0"}
    for place, row in enumerate(every):
        for name in ("line", "packs", "lot_number", "made_on", "expires_on", "price", "containers"):
            data[f"rows-{place}-{name}"] = row.get(name, "")
    key = str(uuid.uuid4())
    return {"key": key, "reference": f"DN {key}", "on": timezone.localdate().isoformat(), **data}
