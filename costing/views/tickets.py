"""The batch ticket of a coat, mixing the batch, and the page of a batch."""

from __future__ import annotations

from decimal import Decimal
from typing import cast
from uuid import UUID

import segno
from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from costing.choices import RestCause, RestFate
from costing.documents.files import pdf_response
from costing.forms.mix import MixForm, RestForm, TicketForm
from costing.models import Batch, JobStep
from costing.services.batches import mix_batch, put_back, throw_away, words_of
from costing.services.work_errors import JobClosedError, MixError, WorkError
from costing.tickets import Ticket, needed_litres, ticket
from costing.tracing import BatchTrace, trace
from costing.views.queue import accepted, is_queued, refused
from costing.wear import SOURCE as WEAR_SOURCE
from costing.work import StepView, lots_for, with_steps
from finishing.models import Shop, User
from inventory.errors import StockError

LOG = "costing.log_work"


def _view_of(pk: int) -> StepView:
    step = get_object_or_404(JobStep.objects.select_related("job", "setup"), pk=pk)
    found = next(view for view in with_steps([step.job])[0].steps if view.step.pk == step.pk)
    found.step.job, found.step.setup = step.job, step.setup
    return found


def _asked(request: HttpRequest) -> tuple[TicketForm, Decimal | None]:
    """The amount in the address; None where none is given or it can't be read (the form then says why)."""
    form = TicketForm(request.GET if "litres" in request.GET else None)
    litres = form.cleaned_data["litres"] if form.is_bound and form.is_valid() else None
    return form, litres


def address_of(request: HttpRequest, step: JobStep) -> str:
    """The address in the ticket's code: the page of this ticket on this server."""
    return request.build_absolute_uri(reverse("ticket", args=[step.pk]))


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required(LOG, raise_exception=True)
def batch_ticket(request: HttpRequest, pk: int) -> HttpResponse:
    """What to mix for a coat; sent as a form, the batch that was mixed."""
    view = _view_of(pk)
    made = _mixed_before(request, view)
    if made is not None:
        return _mixed(request, made)
    if not view.step.job.is_open:
        return _closed(request, view)
    amount, litres = _asked(request)
    lots = lots_for(line.material_id for line in view.materials)
    form = MixForm(
        request.POST if request.method == "POST" else None,
        view=view,
        lots=lots,
        by=cast(User, request.user),
        now=timezone.now(),
        litres=litres or needed_litres(view),
    )
    preview = "preview" in request.POST
    if request.method == "POST" and not preview and form.is_valid() and (batch := _mix(request, form)):
        return _mixed(request, batch, form.clock_words)
    if is_queued(request):
        return refused(form)
    try:
        found = ticket(view, lots=lots, on=form.today, litres=litres)
    except MixError as error:
        messages.error(request, str(error))
        return redirect(view.step.job)
    status = 422 if form.is_bound and form.errors and not preview else 200
    return render(request, "costing/batches/ticket.html", _context(request, found, form, amount), status=status)


def _context(request: HttpRequest, found: Ticket, form: MixForm, amount: TicketForm) -> dict[str, object]:
    code = segno.make(address_of(request, found.step), micro=False, error="m")
    return {
        "ticket": found,
        "step": found.step,
        "form": form,
        "amount": amount,
        "code": code.svg_data_uri(scale=4, border=4, light="#ffffff"),
        "address": address_of(request, found.step),
        "pots": found.view.open_batches,
        "wear_source": WEAR_SOURCE,
        "now": timezone.localtime(),
        "crumbs": [("Jobs", reverse("jobs")), (str(found.step.job), found.step.job.get_absolute_url())],
    }


def _closed(request: HttpRequest, view: StepView) -> HttpResponse:
    error = JobClosedError(view.step.job)
    if is_queued(request):
        return JsonResponse({"ok": False, "words": [str(error)]}, status=422)
    messages.error(request, str(error))
    return redirect(view.step.job)


def _mixed_before(request: HttpRequest, view: StepView) -> Batch | None:
    try:
        key = UUID(request.POST.get("key", ""))
    except ValueError:
        return None
    return Batch.objects.filter(key=key, by=cast(User, request.user), step=view.step).first()


def _mix(request: HttpRequest, form: MixForm) -> Batch | None:
    said = form.cleaned_data
    try:
        return mix_batch(
            key=said["key"],
            by=cast(User, request.user),
            step=form.view.step,
            mixed_at=said["mixed_at"],
            litres=said["mixed"],
            components=form.uses_of(form.components),
            override_reason=said.get("override_reason", ""),
            today=form.today,
            note=said["note"],
        )
    except (WorkError, StockError) as error:
        form.refuse(error)
    return None


def _mixed(request: HttpRequest, batch: Batch, clock_words: str = "") -> HttpResponse:
    until = batch.usable_until
    clock = f" It is good until {until:%H:%M}." if until else ""
    return accepted(request, f"{words_of(batch)}.{clock} {clock_words}".strip(), url=reverse("spray_room"))


@require_safe
@permission_required(LOG, raise_exception=True)
def batch_ticket_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The ticket on paper."""
    from costing.documents.ticket_pdf import ticket_pdf

    view = _view_of(pk)
    _, litres = _asked(request)
    lots = lots_for(line.material_id for line in view.materials)
    try:
        found = ticket(view, lots=lots, on=timezone.localdate(), litres=litres)
    except MixError as error:
        messages.error(request, str(error))
        return redirect(view.step.job)
    data = ticket_pdf(found, shop=Shop.current(), address=address_of(request, view.step), made_at=timezone.localtime())
    return pdf_response(data, f"ticket-{view.step.job.number}-{view.step.position}.pdf")


@require_http_methods(["GET", "HEAD", "POST"])
@permission_required("costing.view", raise_exception=True)
def batch(request: HttpRequest, pk: int) -> HttpResponse:
    """A batch from its lots to its coats; sent as a form, what became of the rest."""
    seen = trace(get_object_or_404(Batch, pk=pk))
    may_end = request.user.has_perm(LOG) and seen.is_standing
    is_one_part = len({move.lot.material_id for move in seen.lots_in}) == 1
    form = RestForm(request.POST if request.method == "POST" and may_end else None, batch=seen.batch, is_one_part=is_one_part)
    if form.is_bound and form.is_valid() and _end(request, form, seen):
        messages.success(request, f"Noted what became of the rest of {seen.batch.number}.")
        return redirect(seen.batch)
    step = seen.batch.step
    context = {
        "seen": seen,
        "batch": seen.batch,
        "form": form if may_end and (seen.batch.left or form.is_bound) else None,
        "now": timezone.localtime(),
        "crumbs": [("Jobs", reverse("jobs")), (str(step.job), step.job.get_absolute_url())],
    }
    return render(request, "costing/batches/batch.html", context, status=422 if form.is_bound else 200)


def _end(request: HttpRequest, form: RestForm, seen: BatchTrace) -> bool:
    said = form.cleaned_data
    given = {
        "key": said["key"],
        "by": cast(User, request.user),
        "batch": seen.batch,
        "litres": said["litres"],
        "at": timezone.now(),
        "today": timezone.localdate(),
        "note": said["note"],
    }
    try:
        if said["fate"] == RestFate.RETURNED:
            put_back(**given)
        else:
            throw_away(cause=RestCause(said["cause"]), **given)
    except (WorkError, StockError) as error:
        form.add_error(error.field if error.field in form.fields else None, str(error))
        return False
    return True
