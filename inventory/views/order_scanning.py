"""Codes scanned while a delivery is received against an order."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST
from django_htmx.http import HttpResponseClientRedirect

from inventory.core.gs1 import ScanProblem
from inventory.forms.moves import today
from inventory.forms.order_receipts import MOST_ROWS
from inventory.forms.scanned import typed_rows
from inventory.forms.scanned_orders import COLUMNS, ArrivalBeingTyped, counted_words, place_on_order
from inventory.models import PurchaseOrder
from inventory.selectors_orders import OPEN, standings
from inventory.services.orders import state_words
from inventory.services.scanning_orders import OnOrder, understand_for
from inventory.views.common import may
from inventory.views.order_receipts import receive_page
from inventory.views.scanning import FULL, read_words, refused


@require_POST
@may("inventory.receive")
def purchase_order_scan(request: HttpRequest, pk: int) -> HttpResponse:
    """Read one code into the row of the order line whose pack has it. Nothing is checked or booked, nothing typed is lost."""
    order = get_object_or_404(PurchaseOrder.objects.select_related("supplier"), pk=pk)
    if order.status not in OPEN:
        messages.error(request, f"{state_words(order)} Nothing is awaited of it.")
        is_part = getattr(request, "htmx", False)
        return HttpResponseClientRedirect(order.get_absolute_url()) if is_part else redirect(order)
    awaited = standings(order)
    rows = typed_rows(request.POST, columns=COLUMNS, most=MOST_ROWS)
    found = understand_for(request.POST.get("scan", ""), awaited=awaited, today=today())
    if isinstance(found, ScanProblem):
        said = refused(request, found)
    elif found.refusal:
        said = {"problem": found.refusal}
    else:
        placed = place_on_order(rows, found)
        said = {"problem": FULL} if placed.row is None else _said(found, placed.row, placed.added)
        over = counted_words(rows, found, awaited)
        said["notes"] = [*found.notes, *([over] if over else [])]
    context = receive_page(order, ArrivalBeingTyped(awaited, request.POST, rows))
    return render(request, "inventory/orders/receive.html", {**context, "scanned": said})


def _said(found: OnOrder, row: int, added: bool) -> dict[str, Any]:
    """What the page says about a code that was read."""
    return {
        "row": row,
        "added": found.packs if added else "",
        "words": read_words(found),
        "unknown": found.gtin if found.is_unknown_article else "",
    }
