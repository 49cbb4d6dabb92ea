"""Sent quotes that await an answer, and the day on which to ask after one."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from costing.forms.quotes import FollowUpForm
from costing.services.following_up import awaiting_answer, plan_follow_up
from costing.services.quoting import QuoteError, QuoteStateError
from costing.tables.follow_up import FollowUpTable
from costing.views.common import FirstStep, list_page
from costing.views.quotes import QUOTE, find_quote, quote_page
from finishing import show
from finishing.models import Shop

PER_PAGE = 20  # each quote with its cost reckoned again, so few on a page


@require_safe
@QUOTE
def follow_ups(request: HttpRequest) -> HttpResponse:
    """Who owes an answer, since when, for how long the offer still stands, and whether its cost has moved."""
    waiting = awaiting_answer()
    table = FollowUpTable(
        waiting,
        today=timezone.localdate(),
        moved_share=Shop.current().cost_moved_share if request.user.has_perm("costing.see_costs") else None,
    )
    return list_page(
        request,
        title="Quotes to follow up",
        lead="Sent quotes that await an answer. Open one to set the day on which to ask after it.",
        table=table,
        per_page=PER_PAGE,
        first=FirstStep(
            title="No customer owes an answer",
            text="A quote stands here from the day it is marked as sent until it is accepted, declined or revised.",
            link_words="To the quotes",
            url="" if waiting.exists() else reverse("quotes"),
        ),
    )


@require_POST
@QUOTE
def quote_follow_up(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep or take away the reminder of a quote."""
    found = find_quote(pk)
    form = FollowUpForm(request.POST)
    if not form.is_valid():
        return quote_page(request, found, follow_up=form)
    on, note = form.cleaned_data["follow_up_on"], form.cleaned_data["follow_up_note"]
    try:
        kept = plan_follow_up(quote=found, on=on, note=note, today=timezone.localdate())
    except QuoteStateError as error:
        messages.error(request, str(error))
    except QuoteError as error:
        form.add_error(error.field or None, str(error))
        return quote_page(request, found, follow_up=form)
    else:
        until = f"is to be followed up on {show.day(kept.follow_up_on)}" if kept.follow_up_on else "has no reminder any more"
        messages.success(request, f"{kept.label} {until}.")
    return redirect("quote", pk)
