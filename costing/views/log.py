"""Logging work on a step of a job, made for a tablet beside the booth."""

from __future__ import annotations

from typing import cast
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from costing.cautions import cautions_for
from costing.forms.log import LogForm
from costing.models import CoatLog, JobStep
from costing.services.coat_log import log_coat as log_work
from costing.services.work_errors import JobClosedError, LoggedMeanwhileError, WorkError
from costing.tables.jobs import clock
from costing.work import StepView, lots_for, with_steps
from finishing import show
from finishing.models import User
from inventory.errors import StockError


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required("costing.log_work", raise_exception=True)
def log_coat(request: HttpRequest, pk: int) -> HttpResponse:
    """Log a coat or any other step. A form sent with ``preview`` only works out the amounts again."""
    step = get_object_or_404(JobStep.objects.select_related("job"), pk=pk)
    made = _logged_before(request, step)
    if made is not None:
        return _to_spray_room(request, made)
    if not step.job.is_open and request.method != "POST":
        messages.error(request, str(JobClosedError(step.job)))
        return redirect(step.job)
    view = next(view for view in with_steps([step.job])[0].steps if view.step.pk == step.pk)
    form = LogForm(
        request.POST if request.method == "POST" else None,
        view=view,
        lots=lots_for(line.material_id for line in view.materials),
        by=cast(User, request.user),
        now=timezone.now(),
    )
    preview = "preview" in request.POST
    if request.method == "POST" and not preview and form.is_valid() and (log := _log(request, form, view)):
        return _to_spray_room(request, log)
    context = {
        "step": step,
        "view": view,
        "form": form,
        "preview": preview,
        "cautions": cautions_for(line.material for line in view.materials),
        "crumbs": [("Jobs", reverse("jobs")), (str(step.job), step.job.get_absolute_url())],
    }
    return render(request, "costing/log/log.html", context, status=422 if form.is_bound and form.errors and not preview else 200)


def _logged_before(request: HttpRequest, step: JobStep) -> CoatLog | None:
    """What this very form has logged already, when it arrives a second time."""
    try:
        key = UUID(request.POST.get("key", ""))
    except ValueError:
        return None
    return CoatLog.objects.filter(key=key, by=cast(User, request.user), step=step).first()


def _log(request: HttpRequest, form: LogForm, view: StepView) -> CoatLog | None:
    """The log, or None with what is wrong on the form."""
    said = form.cleaned_data
    components, supplies = form.uses()
    try:
        return log_work(
            key=said["key"],
            by=cast(User, request.user),
            step=view.step,
            done_at=said["done_at"],
            mixed=said.get("mixed"),
            components=components,
            supplies=supplies,
            fills=said.get("fills") or 0,
            minutes=said["minutes"],
            wet_film=said.get("wet_film"),
            note=said["note"],
            override_reason=said.get("override_reason", ""),
            today=form.today,
            finishes_step=said["finishes_step"],
            seen_logs=said["seen"],
        )
    except LoggedMeanwhileError as error:
        form.refuse(error)
        form.accept_what_was_logged(error.number)
    except (WorkError, StockError) as error:
        form.refuse(error)
    return None


def _to_spray_room(request: HttpRequest, log: CoatLog) -> HttpResponse:
    mixed = f" {show.pour(log.mixed)} mixed." if log.mixed else ""
    messages.success(request, f"Logged: {log.step.name}, {clock(log.done_at)}.{mixed}")
    return redirect("spray_room")
