"""Logging work on a step of a job, made for a tablet beside the booth.

A script may keep a form while the network is gone and send it later (``X-Queue``): it is answered in JSON then.
"""

from __future__ import annotations

from typing import Any, cast
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from costing.cautions import cautions_for
from costing.forms.log import ZERO, LogForm, TakeBackForm
from costing.models import Batch, CoatLog, Defect, JobStep
from costing.services.coat_checks import mix_of
from costing.services.coat_log import take_back
from costing.services.spraying import Rest, spray_coat
from costing.services.work_errors import JobClosedError, LoggedMeanwhileError, WorkError
from costing.tables.jobs import clock
from costing.views.queue import accepted, is_queued, refused
from costing.wear import SOURCE as WEAR_SOURCE
from costing.wear import wear_for
from costing.work import JobView, StepView, lots_for, with_steps
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
        return _logged(request, made)
    if not step.job.is_open and (request.method != "POST" or is_queued(request)):
        return _closed(request, step)
    job = with_steps([step.job])[0]
    view = next(view for view in job.steps if view.step.pk == step.pk)
    form = _form(request, job, view)
    preview = "preview" in request.POST
    if request.method == "POST" and not preview and form.is_valid() and (log := _log(request, form, view)):
        return _logged(request, log, form.clock_words)
    if is_queued(request):
        return refused(form, logged=form.logged_meanwhile)
    context = {
        "step": step,
        "view": view,
        "form": form,
        "preview": preview,
        "cautions": cautions_for(line.material for line in view.materials),
        "wear": wear_for(line.material for line in view.materials),
        "wear_source": WEAR_SOURCE,
        "crumbs": [("Jobs", reverse("jobs")), (str(step.job), step.job.get_absolute_url())],
    }
    return render(request, "costing/log/log.html", context, status=422 if form.is_bound and form.errors and not preview else 200)


def _form(request: HttpRequest, job: JobView, view: StepView) -> LogForm:
    return LogForm(
        request.POST if request.method == "POST" else None,
        view=view,
        lots=lots_for(line.material_id for line in view.materials),
        by=cast(User, request.user),
        now=timezone.now(),
        pots=pots_for(job, view),
        defects=list(Defect.objects.filter(step=view.step)) if view.step.is_coat else [],
    )


def pots_for(job: JobView, view: StepView) -> list[Batch]:
    """Batches of the job that hold the mix of this coat, its own first, the latest first."""
    if not view.step.is_coat:
        return []
    mix = mix_of(view.step)
    fitting = [batch for other in job.steps if mix_of(other.step) == mix for batch in other.open_batches]
    return sorted(fitting, key=lambda batch: (batch.step_id == view.step.pk, batch.mixed_at), reverse=True)


def _closed(request: HttpRequest, step: JobStep) -> HttpResponse:
    error = JobClosedError(step.job)
    if is_queued(request):
        return JsonResponse({"ok": False, "words": [str(error)]}, status=422)
    messages.error(request, str(error))
    return redirect(step.job)


def _logged_before(request: HttpRequest, step: JobStep) -> CoatLog | None:
    """What this very form has logged already, when it arrives a second time."""
    try:
        key = UUID(request.POST.get("key", ""))
    except ValueError:
        return None
    return CoatLog.objects.filter(key=key, by=cast(User, request.user), step=step).first()


def _log(request: HttpRequest, form: LogForm, view: StepView) -> CoatLog | None:
    """The log, or None with what is wrong on the form."""
    try:
        return spray_coat(by=cast(User, request.user), step=view.step, **_said(form))
    except LoggedMeanwhileError as error:
        form.refuse(error)
        form.accept_what_was_logged(error.number)
    except (WorkError, StockError) as error:
        form.refuse(error)
    return None


def _said(form: LogForm) -> dict[str, Any]:
    """What the form says, as the service takes it."""
    said = form.cleaned_data
    components, supplies = form.uses()
    return {
        "key": said["key"],
        "done_at": said["done_at"],
        "mixed": said.get("mixed") if form.is_mixing else None,
        "components": components,
        "supplies": supplies,
        "pot": form.pot,
        "rest": Rest(litres=said.get("left_over") or ZERO, fate=said.get("rest_fate") or "throw"),
        "late_reason": said["late_reason"],
        "early_reason": said["early_reason"],
        "fills": said.get("fills") or 0,
        "minutes": said["minutes"],
        "wet_film": None,
        "booth": form.notes,
        "note": said["note"],
        "override_reason": said.get("override_reason", ""),
        "today": form.today,
        "finishes_step": said["finishes_step"],
        "seen_logs": said["seen"],
        "reworks": form.mend,
    }


def _logged(request: HttpRequest, log: CoatLog, clock_words: str = "") -> HttpResponse:
    mixed = f" {show.pour(log.mixed)} mixed." if log.mixed else ""
    words = f"Logged: {log.step.name}, {clock(log.done_at)}.{mixed} {clock_words}".strip()
    return accepted(request, words, url=reverse("spray_room"))


def may_take_back(user: User, log: CoatLog) -> bool:
    """The person who logged it, on the same day; the office and the owner at any time."""
    own_today = log.by_id == user.pk and timezone.localdate(log.created_at) == timezone.localdate()
    return user.has_perm("inventory.reverse") or (own_today and user.has_perm("costing.log_work"))


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required("costing.view", raise_exception=True)
def log_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a log back: it no longer counts, and what it took is in the stock or the pot again."""
    log = get_object_or_404(CoatLog.objects.select_related("step__job", "by"), pk=pk)
    user = cast(User, request.user)
    if not may_take_back(user, log):
        raise PermissionDenied
    form = TakeBackForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        try:
            reason = form.cleaned_data["reason"]
            take_back(log=log, by=user, reason=reason, at=timezone.now(), today=timezone.localdate())
        except (WorkError, StockError) as error:
            form.add_error("reason" if isinstance(error, WorkError) and error.field == "reason" else None, str(error))
        else:
            messages.success(request, f"Taken back: {log.step.name}, {clock(log.done_at)}. It no longer counts.")
            return redirect(log.step.job)
    crumbs = [("Jobs", reverse("jobs")), (str(log.step.job), log.step.job.get_absolute_url())]
    status = 422 if form.is_bound else 200
    return render(request, "costing/log/take_back.html", {"log": log, "form": form, "crumbs": crumbs}, status=status)
