"""The owner's desk: how the shop stands, and what needs a decision."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.text import capfirst
from django.views.decorators.http import require_safe

from costing.choices import JobStatus
from costing.models import Job
from costing.owner_figures import Offers, StockValue, accepted_since, decisions, issued_between, open_offers, stock_value
from finishing import show
from finishing.models import Shop
from inventory.choices import PostingKind
from inventory.selectors_orders import awaited


@dataclass(frozen=True, slots=True, kw_only=True)
class Tile:
    """One figure with the list that it comes from."""

    label: str
    value: str
    note: str
    url: str
    link_words: str


@require_safe
@permission_required("finishing.change_shop", raise_exception=True)
def desk_owner(request: HttpRequest) -> HttpResponse:
    """Figures of today and of this month, and the short list of what waits for the owner."""
    today, shop = timezone.localdate(), Shop.current()
    stock = stock_value(today, window=shop.expiring_days)
    context = {
        "tiles": [*_stock_tiles(stock, shop), *_work_tiles(today), _orders_tile(today)],
        "decisions": decisions(today, expired=stock.expired),
        "is_new": not stock.value and not Job.objects.exists(),
    }
    return render(request, "costing/desks/owner.html", context)


def _stock_tiles(stock: StockValue, shop: Shop) -> list[Tile]:
    lots = reverse("lots")
    return [
        Tile(label="Stock value", value=show.money(stock.value), note="Every lot at its own cost.", url=lots, link_words="Lots"),
        Tile(
            label=f"Expires within {shop.expiring_days} days",
            value=show.money(stock.expiring),
            note="Usable today: use it first.",
            url=reverse("lots", query={"state": "soon"}),
            link_words="Lots that expire soon",
        ),
        Tile(
            label="Expired in stock",
            value=show.money(stock.expired),
            note="Past its last day of use.",
            url=reverse("lots", query={"state": "expired"}),
            link_words="Expired lots",
        ),
    ]


def _work_tiles(today: date) -> list[Tile]:
    first = today.replace(day=1)
    waiting, won = open_offers(today), accepted_since(first)
    issued = issued_between(first, today + timedelta(days=1))
    return [
        Tile(
            label="Quotes awaiting an answer",
            value=str(waiting.count),
            note=_range(waiting),
            url=reverse("quotes", query={"state": "sent"}),
            link_words="Open quotes",
        ),
        Tile(
            label="Accepted this month",
            value=str(won.count),
            note=f"{show.money(won.lowest)} before tax.",
            url=reverse("quotes", query={"state": "accepted"}),
            link_words="Accepted quotes",
        ),
        Tile(
            label="Jobs in work",
            value=str(Job.objects.filter(status=JobStatus.IN_WORK).count()),
            note=f"Booked besides: {Job.objects.filter(status=JobStatus.BOOKED).count()}.",
            url=reverse("jobs", query={"status": JobStatus.IN_WORK.value}),
            link_words="Jobs in work",
        ),
        Tile(
            label="Material issued this month",
            value=show.money(issued),
            note="At the cost of the lots, less what came back.",
            url=reverse("stock_moves", query={"kind": PostingKind.ISSUE.value, "since": first.isoformat()}),
            link_words="Issues of this month",
        ),
    ]


def _orders_tile(today: date) -> Tile:
    """What is awaited, or first of all what is late."""
    found, orders = awaited(today), reverse("purchase_orders")
    if found.overdue:
        late = f"{capfirst(found.of_words)}; the oldest was promised for {show.day(found.overdue[0].promised_on)}."
        return Tile(
            label="Orders overdue",
            value=str(len(found.overdue)),
            note=late,
            url=f"{orders}?state=overdue",
            link_words="Overdue orders",
        )
    note = capfirst(found.next_words) + "." if found.next_words else "Nothing is on its way."
    url = f"{orders}?state=awaited"
    return Tile(label="Orders awaited", value=str(found.count), note=note, url=url, link_words="Awaited orders")


def _range(offers: Offers) -> str:
    """The prices before tax as one amount, or as a range where quotes offer several systems."""
    if offers.lowest == offers.highest:
        return f"{show.money(offers.lowest)} before tax."
    return f"{show.money(offers.lowest)} to {show.money(offers.highest)} before tax, by the system chosen."
