"""Purchase orders: drafted, sent, closed short or cancelled. What came of them is booked in ``order_receipts``.

A number is one above the highest so far; the database keeps numbers apart, and a number that two people took at once is
taken again by the second. Status moves under a lock, so that a stale page is refused in words. Every refusal is a
``StockError`` with the form field, and the line, that it belongs to; nothing is written then.
"""

from __future__ import annotations

import math
import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import Max
from django.utils import timezone

from finishing.models import User
from finishing.show import day
from inventory.choices import OrderStatus
from inventory.errors import DayError, KeyUsedError, QuantityError, StockError
from inventory.models import Pack, PurchaseOrder, PurchaseOrderLine, Supplier
from inventory.selectors_orders import OPEN, standings
from inventory.services.checks import at_line, exact_cost, kept_text, past_day

MOST_LINES = 200
MOST_PACKS = 10_000
LONGEST_WAIT = timedelta(days=730)
_TRIES = 20


class OrderError(StockError):
    """An order that can't be written as it is."""


class OrderStateError(OrderError):
    """A change that the order's state no longer allows: somebody was faster, or it is over."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedLine:
    """So many packs to order. Without a price the pack's own is taken."""

    pack: Pack
    packs: int
    price: Decimal | None = None  # of one pack, without tax


def create_order(
    *,
    key: UUID,
    by: User,
    supplier: Supplier,
    lines: Sequence[WantedLine],
    wished_on: date | None = None,
    note: str = "",
) -> PurchaseOrder:
    """Write a draft. The same key by the same person for the same supplier gives the first draft again.

    Raises ``KeyUsedError`` for a key of somebody else or of another supplier, ``StockError`` for lines that can't be ordered.
    """
    for _ in range(_TRIES):
        with transaction.atomic():
            made = PurchaseOrder.objects.filter(key=key).first()
            if made is not None:
                if made.created_by_id != by.pk or made.supplier_id != supplier.pk:
                    raise KeyUsedError("This form belongs to another order.")
                return made
            rows = _checked_lines(lines, supplier)
            order = PurchaseOrder(key=key, supplier=supplier, created_by=by, **_checked_head(wished_on, note))
            order.number = (PurchaseOrder.objects.aggregate(highest=Max("number"))["highest"] or 0) + 1
            try:
                with transaction.atomic():
                    order.save(force_insert=True)
            except IntegrityError:
                continue  # the number, or the key, was taken a moment ago: look again
            _write_lines(order, rows)
            return order
    raise OrderError("Many orders are being written at this moment. Send the form again; nothing was saved.")


@transaction.atomic
def create_orders(*, key: UUID, by: User, lines: Sequence[WantedLine]) -> list[PurchaseOrder]:
    """One draft for each supplier of these lines, all or none.

    The key and the supplier together make the draft's own key, so that the same list sent twice makes each draft once. A
    refusal names the line's place in ``lines``.
    """
    if not lines:
        raise OrderError("There is nothing to order.", field="lines")
    orders = []
    for supplier in sorted({line.pack.supplier for line in lines}, key=lambda supplier: supplier.name):
        places = [place for place, line in enumerate(lines) if line.pack.supplier_id == supplier.pk]
        try:
            own_key = uuid.uuid5(key, str(supplier.pk))
            orders.append(create_order(key=own_key, by=by, supplier=supplier, lines=[lines[place] for place in places]))
        except StockError as error:
            error.line = places[error.line] if error.line is not None else None
            raise
    return orders


@transaction.atomic
def update_draft(*, order: PurchaseOrder, lines: Sequence[WantedLine], wished_on: date | None, note: str) -> PurchaseOrder:
    """Write a draft anew: its lines, the day wished for, the note. Only a draft can be changed."""
    current = _locked(order)
    if current.status != OrderStatus.DRAFT:
        raise _stale(current, "Its lines can’t be changed any more.")
    rows = _checked_lines(lines, current.supplier)
    for name, value in _checked_head(wished_on, note).items():
        setattr(current, name, value)
    current.save(update_fields=["wished_on", "note"])
    current.lines.all().delete()
    _write_lines(current, rows)
    return current


@transaction.atomic
def send_order(*, order: PurchaseOrder, by: User, on: date, promised_on: date | None = None) -> PurchaseOrder:
    """Note that a draft went out. Without a promise the supplier's lead time from that day on is taken.

    The lines keep their prices; what a pack holds is taken as of now. Refused when a pack is no longer on sale.
    """
    current = _locked(order)
    if current.status != OrderStatus.DRAFT:
        raise _stale(current, "Nothing was changed.")
    past_day(on, what="An order")
    promise = promised_on or default_promise(current.supplier, on)
    _check_promise(promise, on)
    lines = list(current.lines.select_related("pack__material", "pack__supplier"))
    if not lines:
        raise OrderError("There is nothing on this order yet.", field="lines")
    for place, line in enumerate(lines):
        with at_line(place):
            _check_on_sale(line.pack)
        if line.content != line.pack.content:
            line.content = line.pack.content
            line.save(update_fields=["content"])
    current.status, current.sent_on, current.sent_by, current.promised_on = OrderStatus.SENT, on, by, promise
    current.save(update_fields=["status", "sent_on", "sent_by", "promised_on"])
    return current


def default_promise(supplier: Supplier, sent_on: date) -> date:
    """The day after the supplier's stated lead time, in whole days."""
    return sent_on + timedelta(days=math.ceil(supplier.lead_time_days))


@transaction.atomic
def set_promise(*, order: PurchaseOrder, promised_on: date) -> PurchaseOrder:
    """Note another day for which the supplier promised it."""
    current = _locked(order)
    if current.status not in OPEN or current.sent_on is None:
        raise _stale(current, "Nothing was changed.")
    _check_promise(promised_on, current.sent_on)
    current.promised_on = promised_on
    current.save(update_fields=["promised_on"])
    return current


@transaction.atomic
def close_order(*, order: PurchaseOrder, by: User, on: date, reason: str) -> PurchaseOrder:
    """Close an order of which a part came and the rest will not, with the reason."""
    why = kept_text(
        PurchaseOrder, "close_reason", reason, required="Say why the rest is not awaited any more.", shown_as="reason"
    )
    current = _locked(order)
    if current.status == OrderStatus.SENT:
        raise OrderStateError(f"Nothing of {current.label} has come yet. Cancel it instead.", field="reason")
    if current.status != OrderStatus.PARTLY:
        raise _stale(current, "Nothing was changed.")
    return _end(current, OrderStatus.CLOSED, by=by, on=on, reason=why)


@transaction.atomic
def cancel_order(*, order: PurchaseOrder, by: User, on: date, reason: str) -> PurchaseOrder:
    """Cancel a draft, or an order that was sent and of which nothing came, with the reason."""
    why = kept_text(PurchaseOrder, "close_reason", reason, required="Say why it is cancelled.", shown_as="reason")
    current = _locked(order)
    if current.status == OrderStatus.PARTLY:
        raise OrderStateError(f"A part of {current.label} has come. Close it short instead.", field="reason")
    if current.status not in (OrderStatus.DRAFT, OrderStatus.SENT):
        raise _stale(current, "Nothing was changed.")
    return _end(current, OrderStatus.CANCELLED, by=by, on=on, reason=why)


def settle(order: PurchaseOrder, *, by: User, on: date) -> PurchaseOrder:
    """Let the status of a locked order follow from what came of it. One that somebody closed short stays closed."""
    if order.status not in OPEN and (order.status != OrderStatus.CLOSED or order.close_reason):
        return order
    lines = standings(order)
    if all(not line.to_come for line in lines):
        status = OrderStatus.CLOSED
    else:
        status = OrderStatus.PARTLY if any(line.received > 0 for line in lines) else OrderStatus.SENT
    if status == order.status:
        return order
    if status == OrderStatus.CLOSED:
        return _end(order, status, by=by, on=on, reason="")
    order.status, order.closed_on, order.closed_by = status, None, None
    order.save(update_fields=["status", "closed_on", "closed_by"])
    return order


def lock_orders(ids: Iterable[int]) -> list[PurchaseOrder]:
    """These orders, locked in the order of their numbers until the transaction ends."""
    found = PurchaseOrder.objects.select_for_update(of=("self",)).select_related("supplier").filter(pk__in=list(ids))
    return list(found.order_by("pk"))


def _locked(order: PurchaseOrder) -> PurchaseOrder:
    return lock_orders([order.pk])[0]


def _end(order: PurchaseOrder, status: OrderStatus, *, by: User, on: date, reason: str) -> PurchaseOrder:
    order.status, order.closed_on, order.closed_by, order.close_reason = status, on, by, reason
    order.save(update_fields=["status", "closed_on", "closed_by", "close_reason"])
    return order


def _stale(order: PurchaseOrder, then: str) -> OrderStateError:
    return OrderStateError(f"{state_words(order)} {then}")


def state_words(order: PurchaseOrder) -> str:
    """Where an order stands, in a sentence."""
    return {
        OrderStatus.DRAFT: f"{order.label} is still a draft.",
        OrderStatus.SENT: f"{order.label} was sent on {day(order.sent_on)}.",
        OrderStatus.PARTLY: f"A part of {order.label} has come.",
        OrderStatus.CLOSED: f"{order.label} was closed on {day(order.closed_on)}.",
        OrderStatus.CANCELLED: f"{order.label} was cancelled on {day(order.closed_on)}.",
    }[OrderStatus(order.status)]


def _check_promise(promised_on: date, sent_on: date) -> None:
    if promised_on < sent_on:
        raise DayError(f"This lies before the order was sent, on {day(sent_on)}.", on=promised_on, field="promised_on")
    if promised_on > sent_on + LONGEST_WAIT:
        raise DayError("This lies more than two years after the order.", on=promised_on, field="promised_on")


def _checked_head(wished_on: date | None, note: str) -> dict[str, date | str | None]:
    today = timezone.localdate()
    if wished_on is not None and wished_on < today:
        raise DayError(f"This day has passed. Choose {day(today)} or later.", on=wished_on, field="wished_on")
    if wished_on is not None and wished_on > today + LONGEST_WAIT:
        raise DayError("This lies more than two years ahead.", on=wished_on, field="wished_on")
    return {"wished_on": wished_on, "note": kept_text(PurchaseOrder, "note", note)}


def _checked_lines(lines: Sequence[WantedLine], supplier: Supplier) -> list[PurchaseOrderLine]:
    """The lines as rows, unsaved; refused where one can't be ordered from this supplier."""
    if not lines:
        raise OrderError("There is nothing to order: write how many packs of something.", field="lines")
    if len(lines) > MOST_LINES:
        raise OrderError(f"An order has at most {MOST_LINES} lines. Make two of it.", field="lines")
    rows: list[PurchaseOrderLine] = []
    for place, line in enumerate(lines):
        with at_line(place):
            if any(row.pack_id == line.pack.pk for row in rows):
                raise OrderError("This pack stands on the order already. Write one line for it.", field="pack")
            rows.append(_checked_line(line, supplier, position=place + 1))
    return rows


def _checked_line(line: WantedLine, supplier: Supplier, *, position: int) -> PurchaseOrderLine:
    pack = line.pack
    if pack.supplier_id != supplier.pk:
        raise OrderError(f"This pack is sold by {pack.supplier.name}, not by {supplier.name}.", field="pack")
    _check_on_sale(pack)
    if not 1 <= line.packs <= MOST_PACKS:
        raise QuantityError(f"Order 1 to {MOST_PACKS:,} packs.", value=line.packs, field="packs")
    if line.packs < pack.minimum_packs:
        words = f"{supplier.name} sells at least {pack.minimum_packs} of these."
        raise QuantityError(words, value=line.packs, field="packs")
    price = pack.price if line.price is None else exact_cost(line.price, field="price")
    return PurchaseOrderLine(
        position=position, material=pack.material, pack=pack, packs=line.packs, content=pack.content, price=price
    )


def _check_on_sale(pack: Pack) -> None:
    name = f"{pack.description} of {pack.material.name}"
    if not pack.supplier.is_active:
        raise OrderError(f"{pack.supplier.name} is not in use any more.", field="pack")
    if not pack.is_active or not pack.material.is_active:
        raise OrderError(f"{name} is no longer on sale. Take it off the order, or mark the pack as on sale.", field="pack")


def _write_lines(order: PurchaseOrder, rows: Sequence[PurchaseOrderLine]) -> None:
    for row in rows:
        row.order = order
    PurchaseOrderLine.objects.bulk_create(rows)
