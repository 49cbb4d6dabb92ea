"""Deliveries against purchase orders: booked through the ledger, in parts, with more or less than ordered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import UUID

from django.db import transaction

from finishing.models import User
from finishing.show import day
from inventory.choices import OrderStatus
from inventory.errors import DayError, QuantityError, StockError
from inventory.models import Posting, PurchaseOrder, PurchaseOrderLine
from inventory.selectors_orders import OPEN
from inventory.services import ledger
from inventory.services.checks import at_line, exact_cost
from inventory.services.deliveries import receive_delivery
from inventory.services.orders import MOST_PACKS, OrderStateError, lock_orders, settle, state_words


@dataclass(frozen=True, slots=True, kw_only=True)
class ArrivedLine:
    """One lot that came for an order line."""

    line: PurchaseOrderLine
    packs: int
    lot_number: str
    made_on: date | None = None
    expires_on: date | None = None
    price: Decimal | None = None  # paid for one pack; None: as ordered
    containers: int | None = None  # None: as many as packs

    def as_receipt(self) -> ledger.ReceiptLine:
        """The lot as the ledger takes it; raises ``QuantityError``."""
        line = self.line
        if not 1 <= self.packs <= MOST_PACKS:
            raise QuantityError(f"Write how many packs came: 1 to {MOST_PACKS:,}.", value=self.packs, field="packs")
        price = line.price if self.price is None else exact_cost(self.price, field="price")
        return ledger.ReceiptLine(
            material=line.material,
            quantity=line.content * self.packs,
            unit_cost=price / line.content,
            lot_number=self.lot_number,
            made_on=self.made_on,
            expires_on=self.expires_on,
            location=line.material.usual_location,
            containers=self.packs if self.containers is None else self.containers,
            pack=line.pack,
            order_line=line,
        )


@transaction.atomic
def receive_order(
    *,
    key: UUID,
    by: User,
    on: date,
    order: PurchaseOrder,
    reference: str,
    lines: Sequence[ArrivedLine],
    accept_expired_reason: str = "",
    knowing: int | None = None,
) -> Posting:
    """Book what came of an order, and let its status follow. One transaction; the same form again gives the first posting.

    More than ordered is taken in: it is here. Refused for an order that is no longer, or not yet, awaited, and for a delivery
    note that was booked before, unless ``knowing`` names that posting.
    """
    [current] = lock_orders([order.pk])
    is_new = not Posting.objects.filter(key=key).exists()
    if is_new:
        _check_awaited(current, on)
    arrived = []
    for place, line in enumerate(lines):
        with at_line(place):
            if line.line.order_id != current.pk:
                raise StockError(f"This line is not on {current.label}.", field="line")
            arrived.append(line.as_receipt())
    posting = receive_delivery(
        key=key,
        by=by,
        on=on,
        supplier=current.supplier,
        reference=reference,
        lines=arrived,
        accept_expired_reason=accept_expired_reason,
        knowing=knowing,
    )
    if is_new:
        settle(current, by=by, on=on)
    return posting


def _check_awaited(order: PurchaseOrder, on: date) -> None:
    if order.status == OrderStatus.DRAFT:
        raise OrderStateError(f"{state_words(order)} Mark it as sent first.")
    if order.status not in OPEN:
        raise OrderStateError(f"{state_words(order)} What came all the same is received without an order.")
    if order.sent_on is not None and on < order.sent_on:
        raise DayError(f"This lies before the order was sent, on {day(order.sent_on)}.", on=on, field="on")


@transaction.atomic
def reverse_posting(*, key: UUID, by: User, on: date, posting: Posting, reason: str) -> Posting:
    """Reverse a posting, and open again the orders whose delivery it was. One transaction."""
    counter = ledger.reverse(key=key, by=by, on=on, posting=posting, reason=reason)
    answered = posting.movements.filter(lot__order_line__isnull=False).order_by()
    for order in lock_orders(answered.values_list("lot__order_line__order", flat=True).distinct()):
        settle(order, by=by, on=on)
    return counter
