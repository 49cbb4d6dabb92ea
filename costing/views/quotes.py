"""Quotes: the list, writing one, its page, its way to an answer, and its documents."""

from __future__ import annotations

from datetime import date
from typing import Any, cast

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from costing.cautions import cautions_of
from costing.choices import QuoteStatus
from costing.filters_quotes import QuoteFilter
from costing.forms.quotes import DeclineForm, FollowUpForm, QuoteForm, first_values, values_of
from costing.models import Estimate, Job, Quote
from costing.services.cost_moves import moved_costs
from costing.services.estimating import PricedOption, UnpricedOption, price_all
from costing.services.extras import agreed_total
from costing.services.quoting import (
    QuoteError,
    QuoteStateError,
    changes_since,
    create_quote,
    decline_quote,
    revise_quote,
    send_quote,
)
from costing.snapshots import read_snapshot
from costing.tables.quotes import QuoteTable, amount, changes_table, extras_table, options_table, state_badge, state_words
from costing.views.common import FirstStep, list_page
from finishing import show
from finishing.models import Shop, User

QUOTE = permission_required("costing.quote", raise_exception=True)
OPEN = frozenset({QuoteStatus.DRAFT, QuoteStatus.SENT})


@require_safe
@QUOTE
def quotes(request: HttpRequest) -> HttpResponse:
    """All quotes."""
    found = Quote.objects.select_related("customer").prefetch_related("options")
    narrowed = QuoteFilter(request.GET, queryset=found)
    return list_page(
        request,
        title="Quotes",
        lead="What was offered, to whom, and what became of it. A quote is written from an estimate.",
        table=QuoteTable(narrowed.qs, today=timezone.localdate(), empty_text="No quote fits. Show all."),
        narrowed=narrowed,
        first=FirstStep(
            title="No quote yet",
            text="A quote is written from an estimate: price a job first, then offer it under up to three systems.",
            link_words="To the estimates",
            url="" if found.exists() else reverse("estimates"),
        ),
    )


@require_http_methods(["GET", "HEAD", "POST"])
@QUOTE
def quote_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Write a quote from an estimate."""
    estimate = get_object_or_404(Estimate.objects.select_related("customer"), pk=pk)
    return _write(request, estimate, old=None)


@require_http_methods(["GET", "HEAD", "POST"])
@QUOTE
def quote_revise(request: HttpRequest, pk: int) -> HttpResponse:
    """Write the next revision of a quote, from its estimate as it is now."""
    old = get_object_or_404(Quote.objects.select_related("estimate").prefetch_related("options"), pk=pk)
    return _write(request, old.estimate, old=old)


def _write(request: HttpRequest, estimate: Estimate, *, old: Quote | None) -> HttpResponse:
    """The form of a quote, new or revised: shown, refused, or turned into a draft."""
    today, shop = timezone.localdate(), Shop.current()
    options = price_all(estimate, shop=shop, on=today)
    priced = [option for option in options if isinstance(option, PricedOption)]
    initial = first_values(estimate, priced, shop, today) if old is None else values_of(old, priced, shop, today)
    form = QuoteForm(request.POST or None, options=priced, today=today, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            made = _save(request, estimate, form, old=old, today=today)
        except QuoteStateError as error:
            messages.error(request, str(error))
            return redirect("quote", old.pk) if old is not None else redirect("estimate", estimate.pk)
        except QuoteError as error:
            form.refuse(error)
        else:
            messages.success(request, f"{made.label} is a draft now. Look at its PDF, then mark it as sent.")
            return redirect(made)
    context = {
        "form": form,
        "estimate": estimate,
        "old": old,
        "unpriced": [option for option in options if isinstance(option, UnpricedOption)],
        "back": old.get_absolute_url() if old is not None else estimate.get_absolute_url(),
        "crumbs": _crumbs(estimate) if old is None else [("Quotes", reverse("quotes")), (old.label, old.get_absolute_url())],
    }
    return render(request, "costing/quotes/write.html", context, status=422 if form.is_bound else 200)


def _crumbs(estimate: Estimate) -> list[tuple[str, str]]:
    return [("Estimates", reverse("estimates")), (estimate.name, estimate.get_absolute_url())]


def _save(request: HttpRequest, estimate: Estimate, form: QuoteForm, *, old: Quote | None, today: date) -> Quote:
    key, by = form.cleaned_data["key"], cast(User, request.user)
    if old is None:
        return create_quote(key=key, by=by, estimate=estimate, offer=form.offer(), on=today)
    return revise_quote(key=key, by=by, quote=old, offer=form.offer(), on=today)


@require_safe
@QUOTE
def quote(request: HttpRequest, pk: int) -> HttpResponse:
    """One quote: what it offers, where it stands, what it changed, its documents."""
    return quote_page(request, find_quote(pk))


def find_quote(pk: int) -> Quote:
    return get_object_or_404(
        Quote.objects.select_related("customer", "estimate", "created_by").prefetch_related("options", "extras"), pk=pk
    )


def quote_page(
    request: HttpRequest, found: Quote, *, decline: DeclineForm | None = None, follow_up: FollowUpForm | None = None
) -> HttpResponse:
    """The page of a quote, with a refused form where there is one."""
    refused = decline is not None or follow_up is not None
    today = timezone.localdate()
    with_costs = request.user.has_perm("costing.see_costs")
    changes = changes_since(found)
    lapsed = found.has_lapsed(today)
    job = Job.objects.filter(quote_option__quote=found).select_related("quote_option").first()
    context: dict[str, Any] = {
        "quote": found,
        "state": state_words(found, today),
        "badge": state_badge(found, today),
        "lapsed": lapsed,
        "days_left": (found.valid_until - today).days,
        "steps": _steps(found, lapsed=lapsed),
        "options": options_table(found, with_costs=with_costs),
        "extras": extras_table(found),
        "changes": changes_table(changes, found.currency) if changes else None,
        "revisions": Quote.objects.filter(number=found.number).exclude(pk=found.pk).order_by("revision"),
        "job": job,
        "agreed": amount(agreed_total(found, job.quote_option.total), found.currency) if job is not None else "",
        "moves": _moves(found) if with_costs and found.status in OPEN else (),
        "decline": decline or DeclineForm(),
        "follow_up": follow_up
        or FollowUpForm(initial={"follow_up_on": found.follow_up_on, "follow_up_note": found.follow_up_note}),
        "may_send": found.status == QuoteStatus.DRAFT and not lapsed,
        "awaits_answer": found.status == QuoteStatus.SENT,
        "may_accept": found.status == QuoteStatus.SENT and not lapsed,
        "may_revise": found.status not in {QuoteStatus.ACCEPTED, QuoteStatus.REPLACED},
        "crumbs": [("Quotes", reverse("quotes"))],
    }
    return render(request, "costing/quotes/quote.html", context, status=422 if refused else 200)


def _moves(found: Quote) -> list[dict[str, str]]:
    """Options whose cost has moved by more than the shop's share since they were frozen, in words."""
    return [
        {
            "label": move.option.label,
            "share": show.percent(abs(move.share)),
            "way": "more" if move.share > 0 else "less",
            "then": amount(move.option.cost, found.currency),
            "now": amount(move.cost, found.currency),
            "margin": show.percent(move.margin),
        }
        for move in moved_costs(found, share=Shop.current().cost_moved_share)
    ]


def _steps(found: Quote, *, lapsed: bool) -> list[dict[str, str]]:
    """The way of a quote as a line of steps."""
    order = {QuoteStatus.DRAFT: 0, QuoteStatus.SENT: 1}.get(QuoteStatus(found.status), 2)
    answer = {
        QuoteStatus.ACCEPTED: "Accepted",
        QuoteStatus.DECLINED: "Declined",
        QuoteStatus.REPLACED: "Replaced",
    }.get(QuoteStatus(found.status), "Lapsed without an answer" if lapsed else "Answer")
    words = ("Draft", "Sent", answer)
    return [
        {"words": word, "state": "done" if at < order or order == 2 else "now" if at == order else "later"}
        for at, word in enumerate(words)
    ]


@require_POST
@QUOTE
def quote_send(request: HttpRequest, pk: int) -> HttpResponse:
    """Note that the quote went out."""
    found = get_object_or_404(Quote, pk=pk)
    try:
        sent = send_quote(quote=found, on=timezone.localdate())
    except QuoteStateError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"{sent.label} is marked as sent.")
    return redirect("quote", pk)


@require_POST
@QUOTE
def quote_decline(request: HttpRequest, pk: int) -> HttpResponse:
    """Note that the customer said no, and why."""
    found = find_quote(pk)
    form = DeclineForm(request.POST)
    if not form.is_valid():
        return quote_page(request, found, decline=form)
    try:
        declined = decline_quote(quote=found, reason=form.cleaned_data["reason"], on=timezone.localdate())
    except QuoteStateError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"{declined.label} is noted as declined.")
    return redirect("quote", pk)


@require_safe
@QUOTE
def quote_pdf(request: HttpRequest, pk: int) -> HttpResponse:  # noqa: ARG001 - the framework's signature
    """The quote for the customer, as PDF."""
    from costing.documents.files import pdf_response, quote_name
    from costing.documents.quote_pdf import quote_pdf as make

    found = find_quote(pk)
    return pdf_response(make(found, Shop.current()), quote_name(found, "pdf"))


@require_safe
@QUOTE
def quote_xlsx(request: HttpRequest, pk: int) -> HttpResponse:  # noqa: ARG001 - the framework's signature
    """The quote for the customer, as a spreadsheet."""
    from costing.documents.files import quote_name, sheet_response
    from costing.documents.quote_xlsx import quote_xlsx as make

    found = find_quote(pk)
    return sheet_response(make(found, Shop.current()), quote_name(found, "xlsx"))


@require_safe
@permission_required("costing.see_costs", raise_exception=True)
def quote_cost_sheet(request: HttpRequest, pk: int, position: int, form: str) -> HttpResponse:  # noqa: ARG001 - the framework's signature
    """The cost sheet of one option as it was frozen; ``form`` is pdf or xlsx."""
    from costing.documents import cost_sheet_pdf, cost_sheet_xlsx
    from costing.documents.files import cost_sheet_name, pdf_response, sheet_response

    found = find_quote(pk)
    option = next((option for option in found.options.all() if option.position == position), None)
    if option is None:
        raise Http404
    snapshot, shop = read_snapshot(option), Shop.current()
    name = cost_sheet_name(snapshot, form, quote=found)
    if form == "pdf":
        data = cost_sheet_pdf.cost_sheet_pdf(snapshot, shop, reference=found.label, cautions=cautions_of(snapshot))
        return pdf_response(data, name)
    return sheet_response(cost_sheet_xlsx.cost_sheet_xlsx(snapshot, shop, reference=found.label), name)
