"""The table of quotes that await an answer."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import django_tables2 as tables

from costing.models import Customer, Quote
from costing.services.cost_moves import moved_costs
from finishing import show


def days_words(days: int) -> str:
    """1 day, 2 days."""
    return "1 day" if days == 1 else f"{days} days"


def sent_words(sent: date, today: date) -> str:
    """How long ago a quote went out."""
    days = (today - sent).days
    return "today" if days <= 0 else f"{days_words(days)} ago"


def validity_words(until: date, today: date) -> str:
    """How long an offer stands, or since when it does not."""
    days = (until - today).days
    if days < 0:
        return f"lapsed {days_words(-days)} ago"
    return "last day today" if days == 0 else f"{days_words(days)} left"


def reminder_words(on: date, today: date) -> str:
    """The day of a reminder, and whether it has come."""
    if on > today:
        return show.day(on)
    return "today" if on == today else f"{show.day(on)}, overdue"


class FollowUpTable(tables.Table):
    """Sent quotes; ``moved_share`` None leaves out what their cost has done since, for those who may not see costs."""

    number = tables.Column(verbose_name="Quote", linkify=True, order_by=("number", "revision"))
    customer = tables.Column(linkify=lambda record: record.customer.get_absolute_url())
    contact = tables.Column(accessor="customer", verbose_name="Contact", orderable=False)
    status_on = tables.Column(verbose_name="Sent")
    valid_until = tables.Column(verbose_name="Validity")
    cost = tables.Column(verbose_name="Cost since", empty_values=(), orderable=False)
    follow_up_on = tables.Column(verbose_name="Follow up on", default=show.NOTHING)

    class Meta:
        model = Quote
        fields = ["number", "customer", "contact", "status_on", "valid_until", "cost", "follow_up_on"]
        caption = "Quotes that await an answer"

    def __init__(self, *args: Any, today: date, moved_share: Decimal | None, **kwargs: Any) -> None:
        super().__init__(*args, exclude=() if moved_share is not None else ("cost",), **kwargs)
        self.today, self.moved_share = today, moved_share

    def render_number(self, record: Quote) -> str:
        """The number as printed, and what it is about."""
        return f"{record.label} {record.title}"

    def render_contact(self, value: Customer) -> str:
        """Whom to ask, and how."""
        return ", ".join(part for part in (value.contact, value.phone, value.email) if part) or show.NOTHING

    def render_status_on(self, value: date) -> str:
        """Days since it went out."""
        return sent_words(value, self.today)

    def render_valid_until(self, value: date) -> str:
        """Days that are left."""
        return validity_words(value, self.today)

    def render_follow_up_on(self, record: Quote, value: date) -> str:
        """The day, whether it has come, and the note."""
        words = reminder_words(value, self.today)
        return f"{words}: {record.follow_up_note}" if record.follow_up_note else words

    def render_cost(self, record: Quote) -> str:
        """The moves beyond the shop's share, by option where there are several."""
        moves = moved_costs(record, share=self.moved_share or Decimal(0))
        several = len(record.options.all()) > 1
        words = (
            f"{f'{move.option.label}: ' if several else ''}{show.percent(abs(move.share))} {'up' if move.share > 0 else 'down'}"
            for move in moves
        )
        return "; ".join(words) or "as quoted"
