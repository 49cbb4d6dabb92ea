"""Putting off a line of the reorder list, taking that back, and what was put off before."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory.errors import StockError
from inventory.forms.reorder import SnoozeForm
from inventory.models import Material, Snooze
from inventory.services.snoozing import SnoozeError, end_snooze, snooze
from inventory.tables_snoozes import SnoozeTable
from inventory.views.common import crumbs, may, paged, person

BUY = may("inventory.buy")
TRAIL = ("Reorder list", "reorder_list")


@require_http_methods(["GET", "HEAD", "POST"])
@BUY
def reorder_snooze(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep a material off the list up to a day, with the reason."""
    material = get_object_or_404(Material, pk=pk)
    form = SnoozeForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        data = form.cleaned_data
        try:
            snooze(material=material, by=person(request), today=timezone.localdate(), **data)
        except StockError as error:
            form.refuse(error)
        else:
            messages.success(request, f"{material.name} is off the list. It stands below under “Snoozed” until its day.")
            return redirect("reorder_list")
    context = {"material": material, "form": form, "crumbs": crumbs(TRAIL)}
    return render(request, "inventory/reorder/snooze.html", context, status=422 if form.is_bound else 200)


@require_safe
@BUY
def reorder_snoozes(request: HttpRequest) -> HttpResponse:
    """Everything that was ever put off, the latest first."""
    rows = Snooze.objects.select_related("material", "by", "ended_by")
    table = paged(request, SnoozeTable(rows, on=timezone.localdate()))
    return render(request, "inventory/reorder/snoozes.html", {"table": table, "crumbs": crumbs(TRAIL)})


@require_POST
@BUY
def reorder_snooze_end(request: HttpRequest, pk: int) -> HttpResponse:
    """Let a material back on the list."""
    found = get_object_or_404(Snooze.objects.select_related("material"), pk=pk)
    try:
        end_snooze(snooze=found, by=person(request), today=timezone.localdate())
    except SnoozeError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"{found.material.name} is reckoned with again.")
    return redirect("reorder_list")
