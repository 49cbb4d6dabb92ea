"""The list of quotes and the tables of one quote."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import django_tables2 as tables

from costing.choices import QuoteStatus
from costing.models import Quote
from costing.services.quoting import PriceChange
from costing.tables.columns import RIGHT
from costing.tables.pricing import FixedTable, plain_table
from finishing import show


def amount(value: Decimal | None, currency: str) -> str:
    """Money in the currency that the quote was written in, whatever the shop uses today."""
    return show.money(value, replace(show.preferences(), currency=currency))


def state_words(quote: Quote, today: date) -> str:
    """Where an offer stands, lapsed included."""
    return "Lapsed" if quote.has_lapsed(today) else str(quote.get_status_display())


STATE_BADGES = {
    QuoteStatus.DRAFT: "note",
    QuoteStatus.SENT: "waiting",
    QuoteStatus.ACCEPTED: "done",
    QuoteStatus.DECLINED: "bad",
    QuoteStatus.REPLACED: "empty",
}


def state_badge(quote: Quote, today: date) -> str:
    """The badge that goes with the words."""
    return "expired" if quote.has_lapsed(today) else STATE_BADGES[QuoteStatus(quote.status)]


class QuoteTable(tables.Table):
    """Quotes, newest first."""

    number = tables.Column(verbose_name="Quote", linkify=True, order_by=("number", "revision"))
    status = tables.Column(verbose_name="State")
    prices = tables.Column(verbose_name="Before tax", empty_values=(), orderable=False, attrs=RIGHT)

    class Meta:
        model = Quote
        fields = ["number", "title", "customer", "valid_until", "status", "prices"]
        caption = "Quotes"

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today

    def render_number(self, record: Quote) -> str:
        """The number as printed."""
        return record.label

    def render_valid_until(self, value: date) -> str:
        """The shop's way."""
        return show.day(value)

    def render_status(self, record: Quote) -> str:
        """Lapsed follows from the day."""
        return state_words(record, self.today)

    def render_prices(self, record: Quote) -> str:
        """The lowest price offered."""
        nets = [option.net for option in record.options.all()]
        return f"{'from ' if len(nets) > 1 else ''}{amount(min(nets, default=None), record.currency)}"


def options_table(quote: Quote, *, with_costs: bool) -> FixedTable:
    """What a quote offers; cost and margin for those who may see them."""
    rows = [
        {
            "label": option.label if option.label == option.system_name else f"{option.label} ({option.system_name})",
            "area": show.area(option.area),
            "net": amount(option.net, quote.currency),
            "tax": amount(option.tax, quote.currency),
            "total": amount(option.total, quote.currency),
            "cost": amount(option.cost, quote.currency),
            "margin": show.percent((option.net - option.cost) / option.net) if option.net else show.NOTHING,
        }
        for option in quote.options.all()
    ]
    columns = [
        ("label", "Option", False),
        ("area", "Area", True),
        ("net", "Price before tax", True),
        ("tax", quote.tax_name, True),
        ("total", "Price with tax", True),
    ]
    if with_costs:
        columns += [("cost", "True cost", True), ("margin", "Margin", True)]
    return plain_table(columns, rows, caption="What is offered", prefix="options-", hide_caption=True)


def extras_table(quote: Quote) -> FixedTable | None:
    """What the customer may add, and after acceptance what was taken; None without extras."""
    answered = quote.status == QuoteStatus.ACCEPTED
    rows = [
        {
            "name": extra.name,
            "net": amount(extra.net, quote.currency),
            "tax": amount(extra.tax, quote.currency),
            "total": amount(extra.total, quote.currency),
            "chosen": "taken" if extra.chosen else "not taken",
        }
        for extra in quote.extras.all()
    ]
    columns = [("name", "Extra", False), ("net", "Price before tax", True), ("tax", quote.tax_name, True)]
    columns += [("total", "Price with tax", True)]
    if answered:
        columns += [("chosen", "Answer", False)]
    return plain_table(columns, rows, caption="Optional extras", prefix="extras-", hide_caption=True) if rows else None


def changes_table(changes: Sequence[PriceChange], currency: str) -> FixedTable:
    """What a revision changed."""
    rows = [
        {
            "label": change.label,
            "before": amount(change.before, currency) if change.before is not None else "not offered",
            "after": amount(change.after, currency) if change.after is not None else "no longer offered",
            "difference": _signed(change.difference, currency),
        }
        for change in changes
    ]
    columns = (
        ("label", "Option", False),
        ("before", "Before", True),
        ("after", "Now", True),
        ("difference", "Difference", True),
    )
    return plain_table(
        columns, rows, caption="What this revision changed, prices before tax", prefix="changes-", hide_caption=True
    )


def _signed(value: Decimal | None, currency: str) -> str:
    if value is None:
        return show.NOTHING
    if not value:
        return "no change"
    return f"{'+' if value > 0 else '−'}{amount(abs(value), currency)}"
