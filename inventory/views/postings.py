"""Postings: what was booked, by whom, when, and how it is undone."""

from __future__ import annotations

from decimal import Decimal

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from inventory.choices import PostingKind
from inventory.errors import StockError
from inventory.filters import PostingFilter
from inventory.forms.moves import ReverseForm, today
from inventory.models import Movement, Posting
from inventory.services.order_receipts import reverse_posting
from inventory.services.prices import paid_otherwise
from inventory.shown import signed_money
from inventory.tables import MovementTable, PostingTable
from inventory.views.common import (
    crumbs,
    earlier_posting,
    may,
    paged,
    person,
    sees_costs,
    to_posting,
    with_first_movements,
    with_movement_count,
)

SAID_ABOVE = ("on", "kind", "reference", "by")


@require_safe
@may("inventory.view")
def stock_moves(request: HttpRequest) -> HttpResponse:
    """All postings, newest first."""
    counted = with_first_movements(with_movement_count(Posting.objects.select_related("by")))
    chosen = PostingFilter(request.GET, queryset=counted)
    table = paged(request, PostingTable(chosen.qs))
    is_empty = not table.rows and not Posting.objects.exists()
    return render(request, "inventory/stock_moves.html", {"table": table, "filter": chosen, "is_empty": is_empty})


def _movements(of: Posting) -> list[Movement]:
    related = (
        "posting__by",
        "lot__material",
        "lot__supplier",
        "lot__order_line__order",
        "reverses__posting",
        "reversed_by__posting",
        "booking",
    )
    return list(Movement.objects.filter(posting=of).select_related(*related).order_by("pk"))


@require_safe
@may("inventory.view")
def posting(request: HttpRequest, pk: int) -> HttpResponse:
    """One posting with its movements."""
    shown = get_object_or_404(Posting.objects.select_related("by"), pk=pk)
    movements, costs = _movements(shown), sees_costs(request)
    hidden = (*SAID_ABOVE, *(() if shown.kind == PostingKind.RECEIPT else MovementTable.FEW))
    undone_by = {m.reversed_by.posting for m in movements if hasattr(m, "reversed_by")}
    context = {
        "posting": shown,
        "movements": movements,
        "is_receipt": shown.kind == PostingKind.RECEIPT,
        "value": signed_money(sum((movement.value for movement in movements), Decimal(0))),
        "suppliers": sorted({str(m.lot.supplier) for m in movements if m.lot.supplier and shown.kind == PostingKind.RECEIPT}),
        "orders": sorted(
            {m.lot.order_line.order for m in movements if m.lot.order_line and not m.reverses}, key=lambda order: order.pk
        ),
        "paid_otherwise": paid_otherwise(shown) if costs else [],
        "table": MovementTable(movements, costs=costs, exclude=hidden, prefix="moves-"),
        "costs": costs,
        "undoes": next((m.reverses.posting for m in movements if m.reverses), None),
        "undone_by": next(iter(undone_by), None),
        "overrides": sorted({m.override_reason for m in movements if m.override_reason}),
        "bookings": sorted({str(m.booking) for m in movements if m.booking}),
        "can_reverse": shown.kind != PostingKind.REVERSAL and not undone_by,
        "crumbs": crumbs(("Stock moves", "stock_moves")),
    }
    return render(request, "inventory/posting.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.reverse")
def posting_reverse(request: HttpRequest, pk: int) -> HttpResponse:
    """Post the counter-movements of a posting, with a reason."""
    subject = get_object_or_404(Posting.objects.select_related("by"), pk=pk)
    form = ReverseForm(request.POST if request.method == "POST" else None)
    earlier = earlier_posting(request, PostingKind.REVERSAL) if request.method == "POST" else None
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        try:
            made = reverse_posting(key=data["key"], by=person(request), on=today(), posting=subject, reason=data["reason"])
        except StockError as error:
            form.refuse(error)
        else:
            return to_posting(request, made, again=earlier is not None)
    elif earlier is not None:
        return to_posting(request, earlier, again=True)
    movements = _movements(subject)
    context = {
        "posting": subject,
        "form": form,
        "table": MovementTable(movements, costs=sees_costs(request), exclude=(*SAID_ABOVE, *MovementTable.FEW), prefix="moves-"),
        "crumbs": [*crumbs(("Stock moves", "stock_moves")), (str(subject), posting_address(subject))],
    }
    return render(request, "inventory/posting_reverse.html", context)


def posting_address(of: Posting) -> str:
    """The page of a posting."""
    return reverse("posting", args=[of.pk])
