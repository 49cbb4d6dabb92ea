"""Accept this quote: what runs short, what must be ordered, and when the job could start. Nothing is written."""

from __future__ import annotations

from dataclasses import dataclass

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from costing.forms.jobs import StartForm
from costing.models import Quote, QuoteOption
from costing.snapshots import read_snapshot
from costing.tables.pricing import FixedTable
from costing.tables.what_if import effects_table
from finishing.models import Shop
from inventory.what_if import WhatIf, look_ahead


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownOption:
    """An option of the quote with what accepting it would do."""

    option: QuoteOption
    what_if: WhatIf
    table: FixedTable


@require_safe
@permission_required("costing.quote", raise_exception=True)
def quote_what_if(request: HttpRequest, pk: int) -> HttpResponse:
    """What accepting each option of a quote would do to the stock, for a start that may be chosen."""
    quote = get_object_or_404(Quote.objects.select_related("customer"), pk=pk)
    today = timezone.localdate()
    form = StartForm(request.GET if "starts_on" in request.GET else None, today=today)
    options = list(quote.options.order_by("position"))
    needs = {
        option.pk: {need.material_id: (need.name, need.quantity) for need in read_snapshot(option).needs} for option in options
    }
    ahead = look_ahead({pk for of in needs.values() for pk in of}, today=today, shop=Shop.current())
    shown = []
    for option in options:
        found = ahead.ask(needs[option.pk], on=form.start)
        table = effects_table(found, caption=f"Material for {option.label}", prefix=f"option-{option.position}-")
        shown.append(ShownOption(option=option, what_if=found, table=table))
    context = {
        "quote": quote,
        "form": form,
        "shown": shown,
        "today": today,
        "crumbs": [("Quotes", reverse("quotes")), (quote.label, quote.get_absolute_url())],
    }
    return render(request, "costing/quotes/what_if.html", context, status=422 if form.errors else 200)
