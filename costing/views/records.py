"""Records: usage and VOC of a month, and the certificate of a job."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from costing.core.records import Month
from costing.documents.files import pdf_response, sheet_response
from costing.models import Job
from costing.records import OWN_DATA, Record, record
from costing.tables.pricing import FixedTable, plain_table
from finishing import show
from finishing.models import Shop

SEE = "costing.see_costs"
EARLIEST = 2000
_FIGURE, _TEXT = True, False


def _asked(request: HttpRequest) -> Month | None:
    """The month in the address, this month where none is named, None where it can't be read or is to come."""
    now = Month.of(timezone.localdate())
    text = request.GET.get("month", "")
    if not text:
        return now
    year, _, number = text.partition("-")
    try:
        month = Month(int(year), int(number))
    except ValueError:
        return None
    return month if month.year >= EARLIEST and month <= now else None


def _or_back(request: HttpRequest) -> Month | HttpResponse:
    month = _asked(request)
    if month is None:
        messages.error(request, "Write the month as year and number, for example 2026-05, and not one that is to come.")
        return redirect("records")
    return month


@require_safe
@permission_required(SEE, raise_exception=True)
def records(request: HttpRequest) -> HttpResponse:
    """Usage and VOC of a month and the twelve months that end with it, waste, and what was stored."""
    from costing.documents.record_docs import month_words, unknown_words

    month = _or_back(request)
    if isinstance(month, HttpResponse):
        return month
    found = record(month, today=timezone.localdate())
    now = Month.of(timezone.localdate())
    context = {
        "found": found,
        "words": month_words(month),
        "before": month_words(month.plus(-1)),
        "next": month_words(month.plus(1)) if month < now else "",
        "unknown": unknown_words(found.line.rolling),
        "own_data": OWN_DATA,
        "months": _months(found),
        "materials": _materials(found),
        "waste": _waste(found),
        "stored": _stored(found),
    }
    return render(request, "costing/records/records.html", context)


@require_safe
@permission_required(SEE, raise_exception=True)
def records_file(request: HttpRequest, ending: str) -> HttpResponse:
    """The record as PDF or as a spreadsheet."""
    from costing.documents.record_docs import month_words, record_pdf, record_xlsx

    month = _or_back(request)
    if isinstance(month, HttpResponse):
        return month
    found, shop = record(month, today=timezone.localdate()), Shop.current()
    name = f"usage-and-voc-{month_words(month)}.{ending}"
    if ending == "pdf":
        return pdf_response(record_pdf(found, shop=shop), name)
    return sheet_response(record_xlsx(found, shop=shop), name)


def _months(found: Record) -> FixedTable:
    from costing.documents.record_docs import month_words

    rows = [
        {
            "month": month_words(line.month),
            "used": show.volume(line.own.litres),
            "voc": show.quantity(line.own.voc_kg, "kg"),
            "used12": show.volume(line.rolling.litres),
            "voc12": show.quantity(line.rolling.voc_kg, "kg"),
        }
        for line in reversed(found.months)
    ]
    columns = (
        ("month", "Month", _TEXT),
        ("used", "Used", _FIGURE),
        ("voc", "VOC", _FIGURE),
        ("used12", "Used, 12 months", _FIGURE),
        ("voc12", "VOC, 12 months", _FIGURE),
    )
    return plain_table(columns, rows, caption="By month", prefix="months-", hide_caption=True)


def _materials(found: Record) -> FixedTable:
    rows = []
    for name, year in found.year_materials.items():
        own = found.materials.get(name)
        rows.append(
            {
                "name": name,
                "used": show.volume(own.litres) if own else "–",
                "voc": "not entered" if year.unknown else show.quantity(own.voc_kg, "kg") if own else "–",
                "used12": show.volume(year.litres),
                "voc12": "not entered" if year.unknown else show.quantity(year.voc_kg, "kg"),
            }
        )
    columns = (
        ("name", "Material", _TEXT),
        ("used", "Used in the month", _FIGURE),
        ("voc", "VOC in the month", _FIGURE),
        ("used12", "Used, 12 months", _FIGURE),
        ("voc12", "VOC, 12 months", _FIGURE),
    )
    return plain_table(columns, rows, caption="By material", prefix="materials-", hide_caption=True, empty="Nothing was used.")


def _waste(found: Record) -> FixedTable:
    rows = [
        {"kind": line.kind, "name": line.material or "mixes", "amount": show.quantity(line.amount, line.unit)}
        for line in found.waste
    ]
    columns = (("kind", "Kind", _TEXT), ("name", "Material", _TEXT), ("amount", "Amount", _FIGURE))
    return plain_table(columns, rows, caption="Waste", prefix="waste-", hide_caption=True, empty="Nothing was thrown away.")


def _stored(found: Record) -> FixedTable:
    rows = [
        {"day": show.day(day.day), "flammable": show.volume(day.flammable), "total": show.volume(day.total)}
        for day in reversed(found.stored)
    ]
    columns = (("day", "End of", _TEXT), ("flammable", "Flammable liquids", _FIGURE), ("total", "All liquids", _FIGURE))
    return plain_table(columns, rows, caption="Stored", prefix="stored-", hide_caption=True)


@require_safe
@permission_required("costing.view", raise_exception=True)
def certificate(request: HttpRequest, pk: int, ending: str) -> HttpResponse:  # noqa: ARG001 - a view
    """Lots, temperatures and film readings of a job, as PDF or as a spreadsheet."""
    from costing.documents.certificate import certificate_pdf, certificate_xlsx

    job = get_object_or_404(Job.objects.select_related("quote_option"), pk=pk)
    shop = Shop.current()
    name = f"certificate-{job.number}.{ending}"
    if ending == "pdf":
        return pdf_response(certificate_pdf(job, shop=shop), name)
    return sheet_response(certificate_xlsx(job, shop=shop), name)
