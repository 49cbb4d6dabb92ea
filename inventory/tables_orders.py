"""The lists about purchase orders and what packs cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.utils.html import format_html

from finishing import show
from finishing.models import User
from finishing.money import round_money
from finishing.show import NOTHING, day, money
from inventory.choices import OrderStatus, PriceSource
from inventory.models import Pack, PackPrice, PurchaseOrder, PurchaseOrderLine
from inventory.selectors_orders import OPEN, Standing
from inventory.services.prices import Paid
from inventory.shown import per_unit
from inventory.tables import FIGURE, HouseTable, badge

TOTAL_WORDS = {"tf": {"class": "nowrap"}}
NOWRAP = {"td": {"class": "nowrap"}}
BADGE_OF = {
    OrderStatus.DRAFT: "note",
    OrderStatus.SENT: "waiting",
    OrderStatus.PARTLY: "waiting",
    OrderStatus.CLOSED: "done",
    OrderStatus.CANCELLED: "empty",
}


def amount_of(line: PurchaseOrderLine) -> Decimal:
    """What a line costs, rounded as it is shown: totals add up what stands above them."""
    return round_money(line.amount, show.preferences().places)


def total_of(lines: Sequence[PurchaseOrderLine]) -> Decimal:
    """What an order costs without tax."""
    return sum((amount_of(line) for line in lines), Decimal(0))


def state_badge(order: PurchaseOrder, on: date) -> str:
    """Where an order stands, in words with a sign; an order that is late says so."""
    shown = badge(BADGE_OF[OrderStatus(order.status)], str(order.get_status_display()).lower())
    if is_overdue(order, on):
        return format_html("{} {}", shown, badge("bad", "overdue"))
    return format_html("{} {}", shown, badge("note", "closed short")) if is_short(order) else shown


def is_overdue(order: PurchaseOrder, on: date) -> bool:
    """True for what is awaited and was promised for a day that has passed."""
    return order.status in OPEN and order.promised_on is not None and order.promised_on < on


def is_short(order: PurchaseOrder) -> bool:
    """True for an order that somebody closed before all of it came."""
    return order.status == OrderStatus.CLOSED and bool(order.close_reason)


class OrderTable(HouseTable):
    """Purchase orders, newest first."""

    caption = "Purchase orders"

    number = tables.Column(verbose_name="Order", linkify=True, attrs=NOWRAP)
    supplier = tables.Column(linkify=True, order_by=("supplier__name", "-number"))
    status = tables.Column(verbose_name="State", attrs=NOWRAP)
    line_count = tables.Column(verbose_name="Lines", attrs=FIGURE, empty_values=(), orderable=False)
    amount = tables.Column(attrs=FIGURE, empty_values=(), orderable=False)
    sent_on = tables.Column(verbose_name="Sent", attrs=NOWRAP, default=NOTHING)
    promised_on = tables.Column(verbose_name="Promised for", attrs=NOWRAP, default=NOTHING)

    class Meta:
        empty_text = "No order fits these filters."

    def __init__(self, *args: Any, on: date, **kwargs: Any) -> None:
        self.on = on
        super().__init__(*args, **kwargs)

    def render_number(self, record: PurchaseOrder) -> str:
        """As printed."""
        return record.label

    def render_status(self, record: PurchaseOrder) -> str:
        """Where it stands."""
        return state_badge(record, self.on)

    def render_line_count(self, record: PurchaseOrder) -> str:
        """How many lines it has; read beforehand for all orders of the page."""
        return str(len(record.lines.all()))

    def render_amount(self, record: PurchaseOrder) -> str:
        """Without tax."""
        return money(total_of(list(record.lines.all())))

    def render_sent_on(self, value: date) -> str:
        """The day it went out."""
        return day(value)

    def render_promised_on(self, value: date) -> str:
        """The day it should come."""
        return day(value)


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRow:
    """A line of an order as its page shows it."""

    standing: Standing
    is_draft: bool
    is_over: bool  # nothing of it is awaited any more

    @property
    def line(self) -> PurchaseOrderLine:
        """The line itself."""
        return self.standing.line

    @property
    def state(self) -> str:
        """What came of it, in words."""
        if self.is_draft:
            return NOTHING
        if self.is_over and self.standing.to_come:
            return badge("note", f"{self.standing.to_come} did not come")
        if self.standing.extra:
            return badge("warning", self.standing.words)
        return badge("waiting" if self.standing.to_come else "done", self.standing.words)


class OrderLineTable(HouseTable):
    """The lines of one order."""

    caption = "What is ordered"

    material = tables.Column(accessor="line__material", linkify=True, footer="Total without tax", attrs=TOTAL_WORDS)
    pack = tables.Column(accessor="line__pack", verbose_name="Pack", linkify=False)
    packs = tables.Column(accessor="line__packs", verbose_name="Packs", attrs=FIGURE)
    price = tables.Column(accessor="line__price", verbose_name="Price of one", attrs=FIGURE)
    amount = tables.Column(
        accessor="line",
        attrs={**FIGURE, "tf": {"class": "num"}},
        linkify=False,
        footer=lambda table: money(total_of([row.line for row in table.data])),
    )
    came = tables.Column(accessor="standing__came", verbose_name="Came", attrs=FIGURE)
    state = tables.Column(attrs=NOWRAP)

    class Meta:
        orderable = False
        sequence = ("material", "pack", "packs", "came", "state", "price", "amount")

    def render_pack(self, value: Pack) -> str:
        """What it is, and the supplier's code for it."""
        if not value.supplier_code:
            return value.description
        return format_html('{} <span class="mono nowrap">{}</span>', value.description, value.supplier_code)

    def render_price(self, value: Decimal) -> str:
        """Of one pack."""
        return money(value)

    def render_amount(self, value: PurchaseOrderLine) -> str:
        """Rounded as it is added up."""
        return money(amount_of(value))


@dataclass(frozen=True, slots=True, kw_only=True)
class PaidPrice:
    """What was paid for a lot, as the price table shows it."""

    paid: Paid

    @property
    def source(self) -> str:
        """How it is known."""
        return str(PriceSource.RECEIPT.label)

    @property
    def by(self) -> User:
        """Who booked the delivery."""
        return self.paid.by

    @property
    def valid_from(self) -> date:
        """The day of the delivery."""
        return self.paid.on

    @property
    def pack(self) -> Pack:
        """What was bought."""
        return self.paid.pack

    @property
    def price(self) -> Decimal:
        """For one pack."""
        return self.paid.price

    @property
    def note(self) -> str:
        """The lot, with the way to it."""
        return format_html('<a href="{}">Lot {}</a>', self.paid.lot.get_absolute_url(), self.paid.lot.number)


class PriceTable(HouseTable):
    """What the packs of a material cost over time, newest first."""

    caption = "What the packs cost"

    valid_from = tables.Column(verbose_name="From", attrs=NOWRAP)
    pack = tables.Column(verbose_name="Pack")
    price = tables.Column(attrs=FIGURE)
    unit_price = tables.Column(accessor="price", verbose_name="Price per unit", attrs=FIGURE)
    source = tables.Column(verbose_name="How we know")
    by = tables.Column(default=NOTHING)
    note = tables.Column(default=NOTHING)

    class Meta:
        orderable = False

    def render_valid_from(self, value: date) -> str:
        """The first day of this price."""
        return day(value)

    def render_pack(self, record: PackPrice) -> str:
        """The pack and who sells it."""
        return f"{record.pack.description}, {record.pack.supplier.name}"

    def render_price(self, value: Decimal) -> str:
        """For one pack."""
        return money(value)

    def render_unit_price(self, value: Decimal, record: PackPrice) -> str:
        """Per litre or whatever the shop reads, by what the pack holds now."""
        return per_unit(value / record.pack.content, record.pack.material)

    def render_source(self, record: PackPrice | PaidPrice) -> str:
        """Typed, paid or from a list."""
        return str(PriceSource(record.source).label) if isinstance(record, PackPrice) else record.source
