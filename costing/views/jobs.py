"""Jobs: accepting a quote, the list, one job, and moving it on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import cast

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from costing.cautions import cautions_for
from costing.choices import JobStatus, QuoteStatus
from costing.filters_jobs import JobFilter
from costing.forms.jobs import AcceptForm, StatusForm
from costing.models import Job, Quote, QuoteOption
from costing.services.jobs import NEXT_STATUSES, accept_quote, set_job_status
from costing.services.work_errors import QuoteNotOpenError, WorkError
from costing.tables.jobs import STATUS_BADGES, JobTable, booked_table, log_table, steps_table, wanted_table
from costing.tables.pricing import FixedTable
from costing.views.common import FirstStep, list_page
from costing.views.log import may_take_back
from costing.work import JobView, booked_for, log_of, wanted_by, with_steps
from finishing.models import User
from inventory.errors import StockError

ACCEPT = "costing.accept_quote"
LOG = "costing.log_work"


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownStep:
    """A step on the line of progress."""

    words: str
    state: str  # done, now or later
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A button that moves a job on."""

    to: JobStatus
    words: str
    css: str
    question: str = ""


MOVES = {
    JobStatus.IN_WORK: Move(to=JobStatus.IN_WORK, words="Start work", css="button-main"),
    JobStatus.DONE: Move(
        to=JobStatus.DONE,
        words="Job is done",
        css="button-main",
        question="Close this job as done? Material that is still booked for it becomes free.",
    ),
    JobStatus.CANCELLED: Move(
        to=JobStatus.CANCELLED,
        words="Cancel the job",
        css="button-danger",
        question="Cancel this job? Its bookings are freed and nothing more can be logged on it.",
    ),
}


@require_safe
@permission_required("costing.view", raise_exception=True)
def jobs(request: HttpRequest) -> HttpResponse:
    """All jobs."""
    narrowed = JobFilter(request.GET, queryset=Job.objects.with_progress().in_order_of_work())
    may_accept = request.user.has_perm("costing.quote")
    return list_page(
        request,
        title="Jobs",
        lead="Accepted work: what is in work, what comes next, what is done.",
        table=JobTable(narrowed.qs),
        narrowed=narrowed,
        first=FirstStep(
            title="No job yet",
            text="A job begins when a customer accepts a quote: its steps and the material for them are planned by then.",
            link_words="To the quotes",
            url=reverse("quotes") if may_accept else "",
        ),
    )


@require_safe
@permission_required("costing.view", raise_exception=True)
def job(request: HttpRequest, pk: int) -> HttpResponse:
    """One job: steps, material, log, cautions."""
    found = get_object_or_404(Job.objects.select_related("quote_option__quote", "created_by", "closed_by"), pk=pk)
    view = with_steps([found])[0]
    booked = booked_for(found, timezone.localdate())
    may_log = found.is_open and request.user.has_perm(LOG)
    context = {
        "job": found,
        "view": view,
        "now": timezone.localtime(),
        "badge": STATUS_BADGES[JobStatus(found.status)],
        "progress": _progress(view),
        "steps": steps_table(view.steps, may_log=may_log),
        "material": booked_table(booked),
        "any_short": any(line.short for line in booked),
        "batches": [batch for step in view.steps for batch in step.batches],
        "log": log_table(
            log_of(found),
            sees_postings=request.user.has_perm("inventory.view"),
            may_take_back=lambda log: found.is_open and may_take_back(cast(User, request.user), log),
        ),
        "moves": _moves(request, found),
        "may_log": may_log,
        "cautions": cautions_for(line.material for step in view.steps for line in step.materials),
        "crumbs": [("Jobs", reverse("jobs"))],
    }
    return render(request, "costing/jobs/job.html", context)


def _progress(view: JobView) -> list[ShownStep]:
    following = view.next_step
    return [
        ShownStep(
            words=step.step.name,
            state="done" if step.is_done else "now" if step is following and view.job.is_open else "later",
            note="begun" if step.is_begun and not step.is_done else "",
        )
        for step in view.steps
    ]


def _may_move(request: HttpRequest, to: JobStatus) -> bool:
    """Those who accept quotes may cancel; starting and finishing is also for those who do the work."""
    if request.user.has_perm(ACCEPT):
        return True
    return to != JobStatus.CANCELLED and request.user.has_perm(LOG)


def _moves(request: HttpRequest, found: Job) -> list[Move]:
    return [MOVES[to] for to in NEXT_STATUSES[found.status] if _may_move(request, to)]


@require_POST
@permission_required("costing.view", raise_exception=True)
def job_status(request: HttpRequest, pk: int) -> HttpResponse:
    """Start a job, close it as done, or cancel it."""
    found = get_object_or_404(Job, pk=pk)
    form = StatusForm(request.POST)
    if not form.is_valid():
        messages.error(request, "A job can be started, done or cancelled. Use the buttons of this page.")
        return redirect(found)
    to = JobStatus(form.cleaned_data["to"])
    if not _may_move(request, to):
        raise PermissionDenied
    try:
        moved = set_job_status(job=found, to=to, by=cast(User, request.user), today=timezone.localdate())
    except WorkError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"{moved.number} is {moved.get_status_display().lower()}.")
    return redirect(found)


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required(ACCEPT, raise_exception=True)
def quote_accept(request: HttpRequest, pk: int) -> HttpResponse:
    """The customer takes an option: make the job and book its material."""
    quote = get_object_or_404(Quote.objects.select_related("customer"), pk=pk)
    options = list(quote.options.order_by("position"))
    today = timezone.localdate()
    form = AcceptForm(request.POST or None, options=options, extras=list(quote.extras.all()), today=today)
    if request.method == "POST" and form.is_valid() and (made := _accept(request, form, quote)):
        messages.success(request, f"{quote.label} is accepted. {made.number} is made and its material is booked.")
        return redirect(made)
    closed = quote.status != QuoteStatus.SENT or quote.has_lapsed(today)
    if closed and not form.is_bound:
        messages.error(request, str(QuoteNotOpenError(quote, today)))
        return redirect(quote)
    context = {
        "quote": quote,
        "form": form,
        "tables": _wanted_tables(options, form),
        "crumbs": [("Quotes", reverse("quotes")), (quote.label, quote.get_absolute_url())],
    }
    return render(request, "costing/jobs/accept.html", context, status=422 if form.is_bound else 200)


def _accept(request: HttpRequest, form: AcceptForm, quote: Quote) -> Job | None:
    """The job, or None with what is wrong on the form."""
    try:
        return accept_quote(
            key=form.cleaned_data["key"],
            by=cast(User, request.user),
            quote=quote,
            option=form.chosen,
            extras=form.chosen_extras,
            starts_on=form.cleaned_data["starts_on"],
            today=form.today,
        )
    except (WorkError, StockError) as error:
        form.add_error(error.field if error.field in {"option", "starts_on"} else None, str(error))
        return None


def _wanted_tables(options: Sequence[QuoteOption], form: AcceptForm) -> list[FixedTable]:
    day = form.start_shown
    return [
        wanted_table(
            wanted_by(option, starts_on=day, on=form.today),
            caption=f"Material for {option.label}",
            prefix=f"option-{option.position}-",
        )
        for option in options
    ]
