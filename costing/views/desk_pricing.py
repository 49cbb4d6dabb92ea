"""The pricing desk: what an estimator should do next."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from costing.choices import QuoteStatus
from costing.models import CoatingSystem, Estimate, Quote
from costing.tables.quotes import amount

LISTED = 10
RECENT = timedelta(days=30)


@dataclass(frozen=True, slots=True, kw_only=True)
class DeskQuote:
    """A quote as the desk lists it."""

    quote: Quote
    price: str  # lowest price before tax
    days_left: int


@require_safe
@permission_required("costing.estimate", raise_exception=True)
def desk_pricing(request: HttpRequest) -> HttpResponse:
    """Estimates without a quote, drafts to send, answers awaited, what lapsed, what was accepted lately."""
    today = timezone.localdate()
    quotes = Quote.objects.select_related("customer").prefetch_related("options")
    waiting = Estimate.objects.filter(quotes__isnull=True).select_related("customer")
    drafts = quotes.filter(status=QuoteStatus.DRAFT, valid_until__gte=today).order_by("pk")
    sent = quotes.filter(status=QuoteStatus.SENT, valid_until__gte=today).order_by("valid_until", "pk")
    lapsed = quotes.filter(status__in=[QuoteStatus.DRAFT, QuoteStatus.SENT], valid_until__lt=today).order_by("-valid_until")
    accepted = quotes.filter(status=QuoteStatus.ACCEPTED, status_on__gte=today - RECENT).order_by("-status_on", "-pk")
    context = {
        "waiting": waiting[:LISTED],
        "drafts": _listed(drafts[:LISTED], today),
        "sent": _listed(sent[:LISTED], today),
        "lapsed": _listed(lapsed[:LISTED], today),
        "accepted": _listed(accepted[:LISTED], today),
        "counts": [
            ("Estimates without a quote", waiting.count(), ""),
            ("Drafts to send", drafts.count(), "draft"),
            ("Awaiting an answer", sent.count(), "sent"),
            ("Lapsed", lapsed.count(), "lapsed"),
        ],
        "has_systems": CoatingSystem.objects.filter(is_active=True).exists(),
        "has_estimates": Estimate.objects.exists(),
    }
    return render(request, "costing/desk_pricing/desk.html", context)


def _listed(quotes: Iterable[Quote], today: date) -> list[DeskQuote]:
    return [
        DeskQuote(
            quote=quote,
            price=amount(min((option.net for option in quote.options.all()), default=None), quote.currency),
            days_left=(quote.valid_until - today).days,
        )
        for quote in quotes
    ]
