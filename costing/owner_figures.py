"""The owner's figures: what the stock is worth, what is offered and won, what is used, and what needs a decision.

Reads only, in a constant number of queries. Quantities are summed in SQL and multiplied in Python, where they are exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Max, Min, Sum
from django.urls import reverse

from costing.choices import JobStatus, QuoteStatus
from costing.models import Job, Quote, QuoteOption
from finishing import show
from inventory.choices import PostingKind
from inventory.models import Lot, Movement
from inventory.selectors import stock_lines

ZERO = Decimal(0)
SOON = timedelta(days=7)
LISTED = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class StockValue:
    """What is in stock, each lot at its own cost."""

    value: Decimal
    expiring: Decimal  # usable today, but not for longer than the shop's window
    expired: Decimal  # past its last day of use


@dataclass(frozen=True, slots=True, kw_only=True)
class Offers:
    """Quotes and their prices before tax."""

    count: int
    lowest: Decimal
    highest: Decimal  # differs from the lowest where quotes offer several systems


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """Something that waits for the owner: what, and where to act on it."""

    words: str
    note: str
    url: str
    link_words: str
    badge: str  # a kind of the house's badges
    badge_words: str


def stock_value(on: date, *, window: int) -> StockValue:
    """The value of all lots, and of those that end within ``window`` days or have ended. One query.

    A lot in quarantine counts by its last day of use like any other, as the list of lots does.
    """
    value = expiring = expired = ZERO
    last = on + timedelta(days=window)
    for lot in Lot.objects.in_stock().select_related("material").order_by():
        value += lot.value
        until = lot.usable_until
        if until is not None and until < on:
            expired += lot.value
        elif until is not None and until <= last:
            expiring += lot.value
    return StockValue(value=value, expiring=expiring, expired=expired)


def open_offers(on: date) -> Offers:
    """Quotes that await an answer: sent and not lapsed."""
    waiting = Quote.objects.filter(status=QuoteStatus.SENT, valid_until__gte=on)
    prices = list(waiting.annotate(least=Min("options__net"), most=Max("options__net")).values_list("least", "most").order_by())
    return Offers(
        count=len(prices),
        lowest=sum((least for least, _ in prices if least is not None), ZERO),
        highest=sum((most for _, most in prices if most is not None), ZERO),
    )


def accepted_since(first: date) -> Offers:
    """Quotes accepted on ``first`` or later, at the price of the option that was taken."""
    taken = QuoteOption.objects.filter(job__isnull=False, quote__status=QuoteStatus.ACCEPTED, quote__status_on__gte=first)
    prices = [net for (net,) in taken.values_list("net").order_by()]
    total = sum(prices, ZERO)
    return Offers(count=len(prices), lowest=total, highest=total)


def issued_between(first: date, before: date) -> Decimal:
    """Value of the material that was issued and has not come back, from ``first`` to before ``before``."""
    moves = Movement.objects.standing_for(PostingKind.ISSUE, PostingKind.RETURN).counting_in(since=first, before=before)
    rows = moves.order_by().values("unit_cost").annotate(total=Sum("quantity"))
    return sum((-row["total"] * row["unit_cost"] for row in rows), ZERO)


def decisions(on: date, *, expired: Decimal) -> list[Decision]:
    """What waits for a decision, the most pressing first."""
    return [
        *_expired(expired),
        *_short(on),
        *_to_close(Job.objects.filter(status=JobStatus.IN_WORK).with_every_step_done()),
        *_late(Job.objects.filter(status=JobStatus.BOOKED, starts_on__lt=on).order_by("starts_on", "pk")[:LISTED]),
        *_lapsing(on),
    ]


def _expired(value: Decimal) -> Iterator[Decision]:
    if value:
        yield Decision(
            words="Expired material is in stock",
            note=f"Worth {show.money(value)} at cost. Write it off; whether it may still be used is for its maker to say.",
            url=reverse("lots", query={"state": "expired"}),
            link_words="Show the lots",
            badge="expired",
            badge_words="expired",
        )


def _short(on: date) -> Iterator[Decision]:
    short = [line for line in stock_lines(on).values() if line.booked > line.usable]
    if short:
        materials = "1 material is" if len(short) == 1 else f"{len(short)} materials are"
        yield Decision(
            words=f"{materials} short of what jobs have booked",
            note="Less is usable today than open jobs still need.",
            url=reverse("reorder_list"),
            link_words="Show the reorder list",
            badge="short",
            badge_words="short",
        )


def _to_close(jobs: Iterable[Job]) -> Iterator[Decision]:
    for job in jobs:
        yield Decision(
            words=f"{job} has every step done",
            note="Close it, so that what is still booked for it becomes free.",
            url=job.get_absolute_url(),
            link_words=f"Open {job.number}",
            badge="done",
            badge_words="ready to close",
        )


def _late(jobs: Iterable[Job]) -> Iterator[Decision]:
    for job in jobs:
        yield Decision(
            words=f"{job} has not started",
            note=f"It was to start on {show.day(job.starts_on)}.",
            url=job.get_absolute_url(),
            link_words=f"Open {job.number}",
            badge="waiting",
            badge_words="late",
        )


def _lapsing(on: date) -> Iterator[Decision]:
    sent = Quote.objects.filter(status=QuoteStatus.SENT, valid_until__gte=on, valid_until__lte=on + SOON)
    for quote in sent.select_related("customer").order_by("valid_until", "pk")[:LISTED]:
        yield Decision(
            words=f"{quote.label} for {quote.customer} lapses on {show.day(quote.valid_until)}",
            note=quote.title,
            url=quote.get_absolute_url(),
            link_words=f"Open {quote.label}",
            badge="soon",
            badge_words="lapses soon",
        )
