"""Jobs: made from an accepted quote, started, finished or cancelled."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from uuid import UUID

from django.db import transaction

from costing.choices import JobStatus, QuoteStatus
from costing.models import Job, JobStep, JobStepMaterial, Operation, Quote, QuoteExtra, QuoteOption, SpraySetup
from costing.services.extras import choose_extras
from costing.services.work_errors import (
    MaterialGoneError,
    OptionMissingError,
    QuoteNotOpenError,
    StatusChangeError,
    WorkError,
)
from costing.snapshots import FrozenStep, Snapshot, read_snapshot
from finishing import show
from finishing.models import User
from inventory.errors import KeyUsedError
from inventory.models import Booking, Material
from inventory.services.bookings import book, close_bookings

LATEST_START = timedelta(days=730)

NEXT_STATUSES: Mapping[str, tuple[JobStatus, ...]] = {
    JobStatus.BOOKED: (JobStatus.IN_WORK, JobStatus.CANCELLED),
    JobStatus.IN_WORK: (JobStatus.DONE, JobStatus.CANCELLED),
    JobStatus.DONE: (),
    JobStatus.CANCELLED: (),
}
"""Where a job may go from each status."""


@transaction.atomic
def accept_quote(
    *,
    key: UUID,
    by: User,
    quote: Quote,
    option: QuoteOption,
    starts_on: date,
    today: date,
    extras: Sequence[QuoteExtra] = (),
) -> Job:
    """Turn an offered option into a job with its steps, and book what it needs by ``starts_on``; note the extras taken.

    The same key by the same person for the same option gives the first job again. Raises QuoteNotOpenError for a quote that
    is not on offer, OptionMissingError, MaterialGoneError, KeyUsedError, and WorkError for a day that makes no sense or
    an extra of another quote.
    """
    quote = Quote.objects.select_for_update().get(pk=quote.pk)
    made = Job.objects.filter(key=key).first()
    if made is not None:
        if made.created_by_id != by.pk or made.quote_option_id != option.pk:
            raise KeyUsedError("This form has made another job already.")
        return made
    if quote.status != QuoteStatus.SENT or quote.has_lapsed(today):
        raise QuoteNotOpenError(quote, today)
    if option.quote_id != quote.pk:
        raise OptionMissingError(quote, option)
    _check_start(starts_on, today)
    snapshot = read_snapshot(option)
    materials = _materials_of(snapshot)
    job = Job(
        key=key,
        quote_option=option,
        title=quote.title,
        customer_name=quote.customer.name,
        starts_on=starts_on,
        created_by=by,
    )
    job.full_clean()
    job.save()
    bookings = {
        need.material_id: book(
            material=materials[need.material_id], quantity=need.quantity, needed_on=starts_on, holder=job.holder
        )
        for need in snapshot.needs
    }
    choose_extras(quote, extras)
    _make_steps(job, snapshot.performed_steps, bookings)
    quote.status, quote.status_on = QuoteStatus.ACCEPTED, today
    quote.save(update_fields=["status", "status_on"])
    return job


def _check_start(starts_on: date, today: date) -> None:
    if starts_on < today:
        raise WorkError(f"A job can’t start in the past. Give {show.day(today)} or a later day.", field="starts_on")
    if starts_on > today + LATEST_START:
        raise WorkError(
            f"This is more than two years away. Give a day up to {show.day(today + LATEST_START)}.", field="starts_on"
        )


def _materials_of(snapshot: Snapshot) -> dict[int, Material]:
    found = Material.objects.in_bulk([need.material_id for need in snapshot.needs])
    gone = [need.name for need in snapshot.needs if need.material_id not in found]
    if gone:
        raise MaterialGoneError(gone)
    return found


def _make_steps(job: Job, planned: Iterable[FrozenStep], bookings: Mapping[int, Booking]) -> None:
    as_described = list(job.quote_option.system.operations.order_by("position", "pk"))
    pairs = [
        (_step_of(job, position, frozen, _described(frozen, as_described)), frozen)
        for position, frozen in enumerate(planned, start=1)
    ]
    JobStep.objects.bulk_create([step for step, _ in pairs])
    JobStepMaterial.objects.bulk_create(
        JobStepMaterial(
            step=step,
            material_id=line.material_id,
            planned=line.quantity,
            parts=line.parts,
            driver=line.driver or "",
            per_driver=line.per_driver,
            whole_units=line.whole_units,
            booking=bookings[line.material_id],
        )
        for step, frozen in pairs
        for line in frozen.materials
        if line.material_id in bookings
    )


def _described(frozen: FrozenStep, operations: Sequence[Operation]) -> Operation | None:
    """The operation behind a frozen step as its system describes it today; None where the system was changed since."""
    if frozen.position > len(operations):
        return None
    operation = operations[frozen.position - 1]
    return operation if operation.name == frozen.name else None


def _step_of(job: Job, position: int, frozen: FrozenStep, described: Operation | None) -> JobStep:
    coat = frozen.coat
    return JobStep(
        job=job,
        position=position,
        name=frozen.name,
        kind=frozen.kind,
        area=round(frozen.area, 6),
        planned_minutes=round(frozen.labour_minutes, 2),
        dry_minutes=round(frozen.waiting_minutes, 2),
        planned_mix=None if coat is None else round(coat.mixed, 6),
        planned_fills=0 if coat is None else coat.fills,
        planned_batches=0 if coat is None else coat.batches,
        wet_film=None if coat is None else round(coat.wet_film, 2),
        pot_life_min=None if coat is None or coat.pot_life is None else max(1, round(coat.pot_life)),
        setup_name="" if coat is None else coat.setup_name,
        setup=None if coat is None else SpraySetup.objects.filter(name=coat.setup_name).first(),
        # No figure of the offer hangs on it, so it is taken as the system says on the day of accepting.
        induction_min=described.induction_min if coat and described else 0,
    )


@transaction.atomic
def set_job_status(*, job: Job, to: JobStatus, by: User, today: date) -> Job:
    """Start, finish or cancel a job. Done and cancelled give back what is still booked.

    A job that stands there already is left as it is. Raises StatusChangeError for a step that is not in NEXT_STATUSES.
    """
    job = Job.objects.select_for_update().get(pk=job.pk)
    if job.status == to:
        return job
    if to not in NEXT_STATUSES[job.status]:
        raise StatusChangeError(job, to)
    job.status = to
    if not job.is_open:
        job.closed_on, job.closed_by = today, by
        close_bookings(holder=job.holder)
    job.save(update_fields=["status", "closed_on", "closed_by"])
    return job
