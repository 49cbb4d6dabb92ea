"""Actual cost of a job beside its estimate, and defects with what they cost."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import cast

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from costing.actuals import Actual, actual_of
from costing.choices import DefectCause, DefectKind
from costing.defect_costs import by_kind, defect_costs
from costing.forms.defects import DefectForm
from costing.models import Defect, Job, JobStep
from costing.services.defects import note_defect
from costing.services.work_errors import WorkError
from costing.tables.pricing import FixedTable, plain_table
from costing.variance_words import amount, sentences, whole_story
from costing.wording import GROUP_WORDS
from finishing import show
from finishing.models import User
from finishing.money import round_money

COSTS = "costing.see_costs"
ZERO = Decimal(0)
YEAR = timedelta(days=365)
_FIGURE, _TEXT = True, False


@require_safe
@permission_required(COSTS, raise_exception=True)
def job_cost(request: HttpRequest, pk: int) -> HttpResponse:
    """What the job has cost so far, by group, and where the money went."""
    job = get_object_or_404(Job.objects.select_related("quote_option"), pk=pk)
    actual = actual_of(job)
    context = {
        "job": job,
        "actual": actual,
        "story": whole_story(actual),
        "why": sentences(actual),
        "groups": _group_table(actual),
        "materials": _variance_table(actual),
        "defects": defect_costs(Defect.objects.filter(step__job=job)),
        "crumbs": [("Jobs", reverse("jobs")), (str(job), job.get_absolute_url())],
    }
    return render(request, "costing/jobs/cost.html", context)


def _group_table(actual: Actual) -> FixedTable:
    rows = [
        {
            "group": GROUP_WORDS[line.group],
            "estimate": show.money(line.estimate),
            "actual": show.money(line.actual),
            "off": _signed(line.difference),
        }
        for line in actual.lines
        if line.estimate or line.actual
    ]
    total = {
        "group": "True cost",
        "estimate": show.money(actual.estimate),
        "actual": show.money(actual.actual),
        "off": _signed(actual.actual - actual.estimate),
    }
    columns = (
        ("group", "Group", _TEXT),
        ("estimate", "Estimate", _FIGURE),
        ("actual", "Actual", _FIGURE),
        ("off", "More or less", _FIGURE),
    )
    return plain_table(columns, rows, caption="By group", prefix="groups-", total=total, hide_caption=True)


def _variance_table(actual: Actual) -> FixedTable:
    rows = [
        {
            "name": each.name,
            "standard": f"{amount(each.standard_quantity, each.unit)} at {show.money(each.standard_price)}",
            "actual": f"{amount(each.actual_quantity, each.unit)} at {show.money(each.actual_price)}",
            "price": _signed(each.price),
            "quantity": _signed(each.quantity),
            "total": _signed(each.total),
        }
        for each in (*actual.materials, *actual.labour)
    ]
    variances = (*actual.materials, *actual.labour)
    total = {
        "name": "Direct cost",
        "standard": show.money(sum((each.standard_cost for each in variances), ZERO)),
        "actual": show.money(sum((each.actual_cost for each in variances), ZERO)),
        "price": _signed(sum((each.price for each in variances), ZERO)),
        "quantity": _signed(sum((each.quantity for each in variances), ZERO)),
        "total": _signed(sum((each.total for each in variances), ZERO)),
    }
    columns = (
        ("name", "Material or labour class", _TEXT),
        ("standard", "As estimated", _FIGURE),
        ("actual", "As it is", _FIGURE),
        ("price", "Price, rate", _FIGURE),
        ("quantity", "Quantity, efficiency", _FIGURE),
        ("total", "Together", _FIGURE),
    )
    return plain_table(columns, rows, caption="Variances", prefix="variances-", total=total, hide_caption=True)


def _signed(money: Decimal) -> str:
    """A difference with its sign, + for dearer."""
    shown = round_money(money, show.preferences().places)
    return f"+{show.money(shown)}" if shown > 0 else show.money(shown)


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required("costing.log_work", raise_exception=True)
def defect_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Note a defect on a coat; what mends it is logged on the same coat."""
    step = get_object_or_404(JobStep.objects.select_related("job"), pk=pk)
    form = DefectForm(request.POST if request.method == "POST" else None, now=timezone.now())
    if form.is_bound and form.is_valid() and (made := _note(request, form, step)):
        messages.success(request, f"Noted: {made}. Log what mends it on this coat, and choose the defect there.")
        return redirect(step.job)
    context = {
        "step": step,
        "form": form,
        "crumbs": [("Jobs", reverse("jobs")), (str(step.job), step.job.get_absolute_url())],
    }
    return render(request, "costing/jobs/defect.html", context, status=422 if form.is_bound else 200)


def _note(request: HttpRequest, form: DefectForm, step: JobStep) -> Defect | None:
    said = form.cleaned_data
    try:
        return note_defect(
            key=said["key"],
            by=cast(User, request.user),
            step=step,
            kind=DefectKind(said["kind"]),
            cause=DefectCause(said["cause"]),
            area=said["area"],
            found_at=said["found_at"],
            today=timezone.localdate(),
            note=said["note"],
        )
    except WorkError as error:
        form.add_error(error.field if error.field in form.fields else None, str(error))
        return None


@require_safe
@permission_required(COSTS, raise_exception=True)
def defects(request: HttpRequest) -> HttpResponse:
    """What defects cost in the last twelve months, by kind, and each of them."""
    costs = defect_costs(Defect.objects.filter(found_at__gt=timezone.now() - YEAR))
    kinds = by_kind(costs)
    rows = [
        {
            "kind": row.kind,
            "count": show.number(row.count, 0),
            "minutes": show.minutes(row.minutes),
            "material": show.money(row.material),
            "labour": show.money(row.labour),
            "cost": show.money(row.cost),
        }
        for row in kinds
    ]
    columns = (
        ("kind", "Defect", _TEXT),
        ("count", "Times", _FIGURE),
        ("minutes", "Work", _FIGURE),
        ("material", "Material", _FIGURE),
        ("labour", "Labour", _FIGURE),
        ("cost", "Cost", _FIGURE),
    )
    total = {"kind": "All", "cost": show.money(sum((row.cost for row in kinds), ZERO)), "count": show.number(len(costs), 0)}
    context = {
        "table": plain_table(columns, rows, caption="By kind", prefix="kinds-", total=total, hide_caption=True),
        "costs": costs,
    }
    return render(request, "costing/jobs/defects.html", context)
