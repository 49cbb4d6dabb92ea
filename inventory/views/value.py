"""What the stock was worth at the end of a day: page, PDF and spreadsheet."""

from __future__ import annotations

from datetime import date

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_safe

from finishing.models import Shop
from inventory.forms.moves import today
from inventory.forms.value import ValueForm
from inventory.models import Movement
from inventory.tables_value import ValueTable, group_table
from inventory.value import StockValue, stock_value
from inventory.views.common import SEE_COSTS, may, paged

COSTS = may(SEE_COSTS)
PDF_TYPE = "application/pdf"
SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def _asked(request: HttpRequest) -> tuple[ValueForm, date | None]:
    """The form with what was asked for, and the day; today where nobody said one, None for a day that can't be."""
    if "on" not in request.GET:
        return ValueForm(), today()
    form = ValueForm({"on": request.GET["on"] or today()})
    return form, form.cleaned_data["on"] if form.is_valid() else None


@require_safe
@COSTS
def value(request: HttpRequest) -> HttpResponse:
    """The value of a day by kind, place and lot."""
    form, on = _asked(request)
    if on is None:
        return render(request, "inventory/value.html", {"form": form}, status=422)
    found = stock_value(on)
    context = {
        "form": form,
        "found": found,
        "kinds": group_table(found.by_kind, head="Kind", prefix="kinds-"),
        "places": group_table(found.by_place, head="Place", prefix="places-"),
        "lots": paged(request, ValueTable(found)),
        "is_empty": not found.lines and not Movement.objects.exists(),
    }
    return render(request, "inventory/value.html", context)


@require_safe
@COSTS
def value_pdf(request: HttpRequest) -> HttpResponse:
    """The same as PDF."""
    from inventory.documents.value_pdf import value_pdf as write

    found = _found_or_none(request)
    if found is None:
        return value(request)
    return _file(write(found, shop=Shop.current()), PDF_TYPE, f"stock-value-{found.on.isoformat()}.pdf")


@require_safe
@COSTS
def value_xlsx(request: HttpRequest) -> HttpResponse:
    """The same as a spreadsheet."""
    from inventory.documents.value_xlsx import value_xlsx as write

    found = _found_or_none(request)
    if found is None:
        return value(request)
    return _file(write(found, shop=Shop.current()), SHEET_TYPE, f"stock-value-{found.on.isoformat()}.xlsx")


def _found_or_none(request: HttpRequest) -> StockValue | None:
    _, on = _asked(request)
    return None if on is None else stock_value(on)


def _file(content: bytes, content_type: str, name: str) -> HttpResponse:
    disposition = content_disposition_header(as_attachment=True, filename=name) or "attachment"
    return HttpResponse(content, content_type=content_type, headers={"Content-Disposition": disposition})
