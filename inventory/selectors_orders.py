"""Reads of purchase orders: what has come of them, what is still to come, how long suppliers take.

Each takes the same number of queries at any size. What was received is told by the movements of the lots that answer a line;
a reversed receipt gives back what it brought.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from statistics import fmean, stdev

from django.db.models import Exists, OuterRef, QuerySet, Sum

from finishing.show import day
from inventory.choices import OrderStatus, PostingKind
from inventory.models import Lot, Movement, PurchaseOrder, PurchaseOrderLine, Supplier

ZERO = Decimal(0)
OPEN = (OrderStatus.SENT, OrderStatus.PARTLY)
FEW = 5  # orders that a page names before it points to the list
LEAST_RECEIPTS = 3  # before an observed lead time is trusted (replenishment model, section 4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How far an order line has got. Packs are whole, since deliveries against an order are counted in packs."""

    line: PurchaseOrderLine
    received: Decimal  # stock units

    @property
    def came(self) -> int:
        """Packs that came."""
        return round(self.received / self.line.content)

    @property
    def to_come(self) -> int:
        """Packs still to come."""
        return max(self.line.packs - self.came, 0)

    @property
    def extra(self) -> int:
        """Packs more than ordered."""
        return max(self.came - self.line.packs, 0)

    @property
    def words(self) -> str:
        """How it stands, plainly."""
        if self.extra:
            return f"{self.extra} more than ordered"
        if not self.to_come:
            return "all here"
        return f"{self.to_come} still to come"


def standings(order: PurchaseOrder) -> list[Standing]:
    """Each line of an order and what came of it, in the order of the lines. Two queries."""
    lines = order.lines.select_related("material", "pack").order_by("position", "pk")
    came = _received(lot__order_line__order=order)
    return [Standing(line=line, received=came.get(line.pk, ZERO)) for line in lines]


def lots_of(order: PurchaseOrder) -> QuerySet[Lot]:
    """What came of an order, each lot with ``is_receipt_reversed``: booked and taken back. One query."""
    taken_back = Movement.objects.filter(lot=OuterRef("pk"), posting__kind=PostingKind.RECEIPT, reversed_by__isnull=False)
    lots = Lot.objects.filter(order_line__order=order, split_from__isnull=True).annotate(is_receipt_reversed=Exists(taken_back))
    return lots.select_related("material").order_by("received_on", "pk")


def on_order(on: date) -> dict[int, list[tuple[Decimal, date]]]:
    """By material: what is bought and not here yet, each part with the day on which it is promised. Two queries.

    Counts the lines of orders that are sent or partly received, less what came. What is overdue is looked for on ``on``.
    """
    came = _received(lot__order_line__order__status__in=OPEN)
    lines = PurchaseOrderLine.objects.filter(order__status__in=OPEN).select_related("order")
    found: dict[int, list[tuple[Decimal, date]]] = defaultdict(list)
    for line in lines.order_by("order__promised_on", "pk"):
        rest = line.quantity - came.get(line.pk, ZERO)
        if rest > 0:
            found[line.material_id].append((rest, max(line.order.promised_on or on, on)))
    return dict(found)


def in_drafts() -> dict[int, list[PurchaseOrderLine]]:
    """By pack: the lines of drafts that hold it. One query."""
    found: dict[int, list[PurchaseOrderLine]] = defaultdict(list)
    for line in (
        PurchaseOrderLine.objects.filter(order__status=OrderStatus.DRAFT).select_related("order").order_by("order__number")
    ):
        found[line.pack_id].append(line)
    return dict(found)


def _received(**which: object) -> Mapping[int, Decimal]:
    """By order line: what came of it, less what was reversed. One query."""
    moved = Movement.objects.filter(lot__order_line__isnull=False, **which).standing_for(PostingKind.RECEIPT)
    return dict(moved.order_by().values_list("lot__order_line").annotate(total=Sum("quantity")))


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadTime:
    """Days from sending an order to a receipt against it, as observed."""

    mean: float
    spread: float  # sample standard deviation
    days: tuple[int, ...]  # each delivery

    @property
    def receipts(self) -> int:
        """Deliveries behind it."""
        return len(self.days)


def observed_lead_time(supplier: Supplier) -> LeadTime | None:
    """How long a supplier really takes; ``None`` before three receipts. One query."""
    return observed_lead_times([supplier.pk]).get(supplier.pk)


def observed_lead_times(suppliers: Iterable[int] | None = None) -> dict[int, LeadTime]:
    """By supplier, for those with three receipts or more. One query.

    A delivery against an order is one receipt, however many lots it brought; reversed ones count nowhere.
    """
    moved = Movement.objects.filter(
        posting__kind=PostingKind.RECEIPT,
        reversed_by__isnull=True,
        lot__order_line__order__sent_on__isnull=False,
    )
    if suppliers is not None:
        moved = moved.filter(lot__order_line__order__supplier__in=list(suppliers))
    deliveries = moved.order_by().values_list(
        "lot__order_line__order__supplier", "posting", "lot__order_line__order", "posting__on", "lot__order_line__order__sent_on"
    )
    days: dict[int, list[int]] = defaultdict(list)
    for supplier_id, _posting, _order, received_on, sent_on in deliveries.distinct():
        if supplier_id is not None and sent_on is not None:
            days[supplier_id].append((received_on - sent_on).days)
    return {pk: _lead_time(taken) for pk, taken in days.items() if len(taken) >= LEAST_RECEIPTS}


def _lead_time(days: Sequence[int]) -> LeadTime:
    return LeadTime(mean=fmean(days), spread=stdev(days), days=tuple(days))


@dataclass(frozen=True, slots=True, kw_only=True)
class Awaited:
    """Orders that are sent and not wholly here."""

    overdue: Sequence[PurchaseOrder]  # promised for a day before today, the oldest promise first
    coming: Sequence[PurchaseOrder]

    @property
    def count(self) -> int:
        """All of them."""
        return len(self.overdue) + len(self.coming)

    @property
    def first(self) -> Sequence[PurchaseOrder]:
        """The few that come first, those that are late before all."""
        return [*self.overdue, *self.coming][:FEW]

    @property
    def more(self) -> int:
        """How many come after the first few."""
        return max(self.count - FEW, 0)

    @property
    def of_words(self) -> str:
        """How many the overdue ones are out of."""
        return f"of {self.count} awaited"

    @property
    def next_words(self) -> str:
        """When the next one is promised, if any is to come."""
        promised = next((order.promised_on for order in self.coming if order.promised_on), None)
        return f"the next on {day(promised)}" if promised else ""


def awaited(on: date) -> Awaited:
    """What is to come, split by whether its day has passed. One query."""
    orders = list(PurchaseOrder.objects.filter(status__in=OPEN).select_related("supplier").order_by("promised_on", "number"))
    late = [order for order in orders if order.promised_on is not None and order.promised_on < on]
    return Awaited(overdue=late, coming=[order for order in orders if order not in late])
