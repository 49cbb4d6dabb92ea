"""Recall pages: from lots to customers, and from a job to its lots."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from costing.documents.files import pdf_response, sheet_response
from costing.forms.recall import RecallForm
from costing.models import Job
from costing.recall import Recall, lots_of
from costing.recall import recall as recall_of
from costing.recall_words import balance_words, doubts, title_of
from costing.tables.recall import CustomerTable, JobLotTable, JobPartTable, RecalledLotTable, TraceTable
from finishing.models import Shop
from inventory.models import Lot
from inventory.views.common import may, paged

RECALL = may("costing.recall")
ASKED = ("number", "supplier", "lot")


def _asked(request: HttpRequest) -> tuple[RecallForm, Recall | None]:
    """The form with what was asked for, and what was found; None where nothing was asked for or found."""
    if not any(request.GET.get(name) for name in ASKED):
        return RecallForm({"number": ""}) if "number" in request.GET else RecallForm(), None
    form = RecallForm(request.GET)
    return form, recall_of(form.cleaned_data["lots"]) if form.is_valid() else None


@require_safe
@RECALL
def recall(request: HttpRequest) -> HttpResponse:
    """Where a lot or a lot number went, and whom to call."""
    form, found = _asked(request)
    context = {"form": form, "is_empty": not form.is_bound and not Lot.objects.exists()}
    if found is None:
        return render(request, "costing/recall/recall.html", context, status=422 if form.is_bound else 200)
    sets_aside = request.user.has_perm("inventory.quarantine")
    context |= {
        "found": found,
        "title": title_of(found.lots),
        "balances": [balance_words(balance) for balance in found.balances],
        "doubts": doubts(found),
        "held": len(found.in_stock),
        "stayed_in": len({part.job.pk for part in found.parts if part.stayed > 0}),
        "lots": paged(request, RecalledLotTable(found.lots, sets_aside=sets_aside, prefix="lots-")),
        "customers": paged(request, CustomerTable(found.customers, prefix="customers-")),
        "jobs": paged(request, JobPartTable(found.parts, prefix="jobs-")),
        "traces": paged(request, TraceTable(found.traces, prefix="moves-")),
        "query": "&".join(part for part in request.GET.urlencode().split("&") if part.split("=")[0] in ASKED),
    }
    return render(request, "costing/recall/recall.html", context)


@require_safe
@RECALL
def recall_pdf(request: HttpRequest) -> HttpResponse:
    """The same as PDF."""
    from costing.documents.recall_pdf import recall_pdf as write

    _, found = _asked(request)
    if found is None:
        return recall(request)
    return pdf_response(write(found, shop=Shop.current(), on=timezone.localdate()), _name(found, "pdf"))


@require_safe
@RECALL
def recall_xlsx(request: HttpRequest) -> HttpResponse:
    """The same as a spreadsheet."""
    from costing.documents.recall_xlsx import recall_xlsx as write

    _, found = _asked(request)
    if found is None:
        return recall(request)
    return sheet_response(write(found, shop=Shop.current(), on=timezone.localdate()), _name(found, "xlsx"))


def _name(found: Recall, ending: str) -> str:
    return f"recall-{slugify(found.lots[0].number)[:40] or 'lot'}.{ending}"


# ---------------------------------------------------------------- from a job


@require_safe
@RECALL
def job_lots(request: HttpRequest, pk: int) -> HttpResponse:
    """All lots that went into a job."""
    job = get_object_or_404(Job, pk=pk)
    parts = lots_of(job)
    traces = sorted((trace for part in parts for trace in part.traces), key=lambda trace: (trace.flow.on, trace.flow.pk))
    context = {
        "job": job,
        "parts": parts,
        "lots": paged(request, JobLotTable(parts, prefix="lots-")),
        "traces": paged(request, TraceTable(traces, prefix="moves-")),
        "crumbs": [("Jobs", reverse("jobs")), (str(job), job.get_absolute_url())],
    }
    return render(request, "costing/recall/job_lots.html", context)


@require_safe
@RECALL
def job_lots_pdf(request: HttpRequest, pk: int) -> HttpResponse:  # noqa: ARG001
    """The same as PDF."""
    from costing.documents.recall_pdf import job_lots_pdf as write

    job = get_object_or_404(Job, pk=pk)
    data = write(job, lots_of(job), shop=Shop.current(), on=timezone.localdate())
    return pdf_response(data, f"lots-{job.number}.pdf")


@require_safe
@RECALL
def job_lots_xlsx(request: HttpRequest, pk: int) -> HttpResponse:  # noqa: ARG001
    """The same as a spreadsheet."""
    from costing.documents.recall_xlsx import job_lots_xlsx as write

    job = get_object_or_404(Job, pk=pk)
    data = write(job, lots_of(job), shop=Shop.current(), on=timezone.localdate())
    return sheet_response(data, f"lots-{job.number}.xlsx")
