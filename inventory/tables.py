"""The lists of the inventory pages. Every table shows quantities and money the shop's way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.template.loader import get_template
from django.utils.html import format_html, format_html_join
from django.utils.safestring import mark_safe

from finishing.show import NOTHING, day, money, quantity
from finishing.templatetags.house import BADGES
from inventory.lot_states import mark_of
from inventory.models import Lot, Material, Movement, Pack, Posting, Supplier
from inventory.shown import per_unit, signed, signed_money

FIGURE = {"th": {"class": "num"}, "td": {"class": "num"}}
PER_PAGE = 25
SHOWN_MOVEMENTS = 3  # of a posting, in the list of stock moves


def badge(kind: str, words: str) -> str:
    """A state in words with a sign, for a table's cell."""
    look = BADGES[kind]
    return get_template("parts/badge.html").render({"tone": look.tone, "sign": look.sign, "words": words})


class HouseTable(tables.Table):
    """What all lists share: a caption for the screen reader, and columns of money only for those who may see costs."""

    caption = "List"
    caption_hidden = True
    MONEY: tuple[str, ...] = ()

    def __init__(self, *args: Any, costs: bool = True, exclude: Sequence[str] = (), **kwargs: Any) -> None:
        hidden = [*exclude, *([] if costs else self.MONEY)]
        super().__init__(*args, exclude=hidden, **kwargs)


@dataclass(frozen=True, slots=True, kw_only=True)
class StockRow:
    """A material with its stock, as the list of materials sorts and shows it."""

    pk: int
    name: str
    material: Material
    kind: str
    on_hand: Decimal
    usable: Decimal
    booked: Decimal
    value: Decimal
    next_expiry: date | None

    def get_absolute_url(self) -> str:
        """The material's page."""
        return self.material.get_absolute_url()


class MaterialTable(HouseTable):
    """Materials with their stock."""

    MONEY = ("value",)
    caption = "Materials"

    name = tables.Column(verbose_name="Material", linkify=True)
    kind = tables.Column()
    on_hand = tables.Column(verbose_name="On hand", attrs=FIGURE)
    usable = tables.Column(attrs=FIGURE)
    booked = tables.Column(attrs=FIGURE)
    value = tables.Column(attrs=FIGURE)
    next_expiry = tables.Column(verbose_name="Next expiry", attrs={"td": {"class": "nowrap"}}, default=NOTHING)

    class Meta:
        order_by = "name"
        empty_text = "No material fits these filters."

    def render_name(self, value: str, record: StockRow) -> str:
        """The name, and whether it is out of use."""
        return value if record.material.is_active else f"{value} (not in use)"

    def render_on_hand(self, value: Decimal, record: StockRow) -> str:
        """All that is in the building."""
        return quantity(value, record.material.stock_unit)

    def render_usable(self, value: Decimal, record: StockRow) -> str:
        """What may be used today; marked when it is less than what is booked."""
        shown = quantity(value, record.material.stock_unit)
        return format_html("{} {}", shown, badge("short", "short")) if value < record.booked else shown

    def render_booked(self, value: Decimal, record: StockRow) -> str:
        """What jobs still need."""
        return quantity(value, record.material.stock_unit) if value else NOTHING

    def render_value(self, value: Decimal) -> str:
        """At the cost of the very lots."""
        return money(value)

    def render_next_expiry(self, value: date) -> str:
        """The first day on which something goes out of date."""
        return day(value)

    def order_next_expiry(self, rows: Any, is_descending: bool) -> tuple[Any, bool]:
        """What never expires comes last."""
        return sorted(rows, key=lambda row: row.next_expiry or date.max, reverse=is_descending), True


class LotTable(HouseTable):
    """Lots with their state on a day."""

    MONEY = ("value",)
    caption = "Lots"

    number = tables.Column(verbose_name="Lot", linkify=True, attrs={"td": {"class": "nowrap"}})
    material = tables.Column(linkify=True, order_by=("material__name", "number"))
    state = tables.Column(empty_values=(), orderable=False, attrs={"td": {"class": "nowrap"}})
    on_hand = tables.Column(verbose_name="On hand", attrs=FIGURE)
    value = tables.Column(attrs=FIGURE, orderable=False)
    expires_on = tables.Column(verbose_name="Usable until", attrs={"td": {"class": "nowrap"}}, empty_values=())
    place = tables.Column(default=NOTHING, accessor="location", linkify=True, order_by=("location__name", "number"))

    class Meta:
        empty_text = "No lot fits these filters."

    def __init__(self, *args: Any, on: date, window: int, **kwargs: Any) -> None:
        self.on, self.window = on, window
        super().__init__(*args, **kwargs)

    def render_state(self, record: Lot) -> str:
        """One badge, and a second when the container is open."""
        mark = mark_of(record, on=self.on, window=self.window)
        shown = badge(mark.kind, mark.words)
        opened = record.opened_on and record.on_hand
        return format_html("{} {}", shown, badge("note", "opened")) if opened else shown

    def render_on_hand(self, value: Decimal, record: Lot) -> str:
        """What is left."""
        return quantity(value, record.material.stock_unit)

    def render_value(self, value: Decimal) -> str:
        """What is left, at the lot's cost."""
        return money(value)

    def render_expires_on(self, record: Lot) -> str:
        """The earlier of expiry and the end of open life."""
        return day(record.usable_until)


class MovementTable(HouseTable):
    """Movements, newest first."""

    MONEY = ("unit_cost", "value")
    caption = "Movements"
    FEW = ("unit_cost", "until")

    on = tables.Column(accessor="posting__on", verbose_name="Day", attrs={"td": {"class": "nowrap"}})
    kind = tables.Column(accessor="posting", verbose_name="What", linkify=("posting", [tables.A("posting_id")]))
    material = tables.Column(accessor="lot__material", linkify=True)
    lot = tables.Column(linkify=True)
    quantity = tables.Column(attrs=FIGURE)
    unit_cost = tables.Column(verbose_name="Cost", attrs=FIGURE)
    value = tables.Column(attrs=FIGURE)
    until = tables.Column(
        accessor="lot", verbose_name="Usable until", attrs={"td": {"class": "nowrap"}}, orderable=False, linkify=False
    )
    reference = tables.Column(accessor="posting", verbose_name="Reference or reason")
    by = tables.Column(accessor="posting__by")

    class Meta:
        orderable = False
        empty_text = "Nothing has moved yet."

    def render_reference(self, value: Posting) -> str:
        """What it was for and why: for a write-off also how it left the shop."""
        return " · ".join(words for words in (value.reference, value.reason) if words) or NOTHING

    def render_on(self, value: date) -> str:
        """The day it counts for."""
        return day(value)

    def render_kind(self, value: Posting) -> str:
        """What was done, with its number."""
        return str(value)

    def render_quantity(self, value: Decimal, record: Movement) -> str:
        """In or out, with its sign."""
        return signed(quantity(value, record.lot.material.stock_unit), value)

    def render_unit_cost(self, value: Decimal, record: Movement) -> str:
        """The cost of the lot, per litre or whatever the shop reads."""
        return per_unit(value, record.lot.material)

    def render_until(self, value: Lot) -> str:
        """The last day of use of the lot."""
        return day(value.usable_until)

    def render_value(self, value: Decimal) -> str:
        """The money that moved."""
        return signed_money(value)


class PackTable(HouseTable):
    """The packs of one material."""

    MONEY = ("price", "unit_price")
    caption = "Packs"

    description = tables.Column(verbose_name="Pack")
    supplier = tables.Column(linkify=True)
    content = tables.Column(attrs=FIGURE)
    price = tables.Column(attrs=FIGURE)
    unit_price = tables.Column(verbose_name="Price per unit", attrs=FIGURE)
    is_usual = tables.Column(verbose_name="State", empty_values=())
    edit = tables.TemplateColumn(
        '<a href="{% url "pack_edit" record.pk %}">Edit<span class="visually-hidden"> {{ record.description }}</span></a>',
        verbose_name="",
    )

    class Meta:
        orderable = False

    def render_content(self, value: Decimal, record: Pack) -> str:
        """What is in it."""
        return quantity(value, record.material.stock_unit)

    def render_price(self, value: Decimal) -> str:
        """For one pack."""
        return money(value)

    def render_unit_price(self, value: Decimal, record: Pack) -> str:
        """Per litre or whatever the shop reads."""
        return per_unit(value, record.material)

    def render_is_usual(self, record: Pack) -> str:
        """The usual pack, or one that is sold no more."""
        if not record.is_active:
            return badge("note", "not on sale")
        return badge("ok", "usual pack") if record.is_usual else NOTHING


class SupplierTable(HouseTable):
    """Suppliers and their terms."""

    MONEY = ("minimum_order", "delivery_charge")
    caption = "Suppliers"

    name = tables.Column(verbose_name="Supplier", linkify=True)
    lead_time_days = tables.Column(verbose_name="Lead time", attrs=FIGURE)
    pack_count = tables.Column(verbose_name="Packs on sale", attrs=FIGURE)
    minimum_order = tables.Column(verbose_name="Minimum order", attrs=FIGURE)
    delivery_charge = tables.Column(verbose_name="Delivery", attrs=FIGURE)
    phone = tables.Column(default=NOTHING, orderable=False)

    class Meta:
        order_by = "name"
        empty_text = "No supplier fits these filters."

    def render_name(self, value: str, record: Supplier) -> str:
        """The name, and whether the shop buys there no more."""
        return value if record.is_active else f"{value} (not in use)"

    def render_lead_time_days(self, value: Decimal, record: Supplier) -> str:
        """Mean and spread."""
        return f"{value.normalize():f} ± {record.lead_time_sd_days.normalize():f} days"

    def render_minimum_order(self, value: Decimal) -> str:
        """What an order has to be worth."""
        return money(value) if value else NOTHING

    def render_delivery_charge(self, value: Decimal) -> str:
        """What a delivery costs."""
        return money(value) if value else NOTHING


class SupplierPackTable(PackTable):
    """What one supplier sells."""

    caption = "What we buy here"

    material = tables.Column(linkify=True)

    class Meta:
        orderable = False
        sequence = ("material", "...")
        exclude = ("supplier",)


class PostingTable(HouseTable):
    """Postings, newest first."""

    caption = "Stock moves"

    kind = tables.Column(accessor="pk", verbose_name="What", linkify=("posting", [tables.A("pk")]), order_by="pk")
    on = tables.Column(verbose_name="Day", attrs={"td": {"class": "nowrap"}})
    moved = tables.Column(accessor="first_movements", verbose_name="What moved", orderable=False)
    reference = tables.Column(default=NOTHING)
    reason = tables.Column(default=NOTHING, orderable=False)
    by = tables.Column(order_by=("by__first_name", "by__username"))

    class Meta:
        empty_text = "Nothing moved that fits these filters."

    def render_kind(self, record: Posting) -> str:
        """What was done, with its number."""
        return str(record)

    def render_on(self, value: date) -> str:
        """The day it counts for."""
        return day(value)

    def render_moved(self, value: Sequence[Movement], record: Any) -> str:
        """How much of which lots; the first few where it moved many."""
        lines = [(signed(quantity(move.quantity, move.lot.material.stock_unit), move.quantity), move.lot) for move in value]
        shown = format_html_join(
            mark_safe("<br>"),
            '<span class="nowrap">{}</span> <a href="{}">{}, lot {}</a>',
            ((amount, lot.get_absolute_url(), lot.material, lot.number) for amount, lot in lines),
        )
        more = record.movement_count - len(value)
        return format_html("{}<br>and {} more", shown, more) if more > 0 else shown
