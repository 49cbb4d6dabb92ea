"""Logging work on a step of a job: a coat with what was mixed, or any other step, with time and supplies.

One log is one transaction: the lots are issued against the job's bookings, the log is written, and the job is in work.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from costing.choices import JobStatus
from costing.core.facts import StockUnit
from costing.core.plan import drawn_from_stock, share_of_mix
from costing.models import BatchUse, CoatLog, Defect, Job, JobStep, JobStepMaterial
from costing.services.coat_checks import NO_NOTES, BatchTake, BoothNotes, check_dry, check_takes
from costing.services.work_errors import JobClosedError, LoggedMeanwhileError, MixError, UseRefusedError, WorkError
from finishing import show
from finishing.fields import to_step
from finishing.models import User
from inventory.errors import KeyUsedError, StockError
from inventory.models import Lot, Material, Posting
from inventory.services.ledger import IssueLine, issue, reverse

OLDEST = timedelta(days=31)
ADDS_UP_WITHIN = Decimal("0.01")
"""Components that were measured one by one may differ from the stated mix by a hundredth, as a cup is read (common practice,
no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """What was used of one of the step's materials.

    ``amount`` is litres in the mix for a component, stock units for a supply. None lets a component follow the mix by its
    parts, and means none of a supply. ``lot`` None takes first expired first out.
    """

    line: JobStepMaterial
    amount: Decimal | None = None
    lot: Lot | None = None


@transaction.atomic
def log_coat(
    *,
    key: UUID,
    by: User,
    step: JobStep,
    done_at: datetime,
    mixed: Decimal | None,
    components: Sequence[Use],
    supplies: Sequence[Use],
    fills: int,
    minutes: Decimal,
    wet_film: Decimal | None,
    note: str,
    override_reason: str,
    today: date,
    finishes_step: bool = True,
    seen_logs: int | None = None,
    from_batches: Sequence[BatchTake] = (),
    early_reason: str = "",
    booth: BoothNotes = NO_NOTES,
    reworks: Defect | None = None,
) -> CoatLog:
    """Log work on a step and issue what it used. ``mixed`` in L, ``minutes`` in min, ``wet_film`` in µm.

    A coat is sprayed from what was mixed for this log (``mixed`` with ``components``) or ``from_batches`` mixed before.
    The same key by the same person for the same step gives the first log again. ``seen_logs`` is how many logs the person
    saw; others since then raise LoggedMeanwhileError. Raises JobClosedError, MixError, EarlyCoatError, BatchExpiredError,
    MoreThanMixedError, WorkError, and what the ledger refuses: UseRefusedError where it is about one material, StockError
    otherwise.
    """
    job = Job.objects.select_for_update().get(pk=step.job_id)
    made = CoatLog.objects.filter(key=key).first()
    if made is not None:
        if made.by_id != by.pk or made.step_id != step.pk:
            raise KeyUsedError("This form has logged something else already.")
        return made
    if not job.is_open:
        raise JobClosedError(job)
    _check_nothing_new(step, seen_logs)
    on = day_of(done_at, today, field="done_at")
    check_override(by, override_reason)
    booth.check()
    check_dry(step, begun_at=booth.started_at or done_at - timedelta(minutes=float(minutes)), reason=early_reason)
    if from_batches:
        if mixed is not None or components:
            raise MixError("This coat names batches that were mixed before. Log a further mix on its own.", field="mixed")
        check_takes(step, from_batches, done_at=done_at)
    log = CoatLog(
        key=key,
        step=step,
        by=by,
        done_at=done_at,
        mixed=mixed,
        fills=fills,
        minutes=minutes,
        wet_film=booth.mean_reading if wet_film is None else wet_film,
        note=note,
        finishes_step=finishes_step,
        early_reason=early_reason,
        reworks=reworks,
        **booth.as_fields(),
        posting=issue_uses(
            issued_uses(step, mixed=mixed, components=components, supplies=supplies),
            key=key,
            by=by,
            on=on,
            reference=f"{job.number} {step.name}"[:120],
            override_reason=override_reason,
        ),
    )
    log.full_clean(exclude=["posting", "step", "by"])
    log.save()
    for take in from_batches:
        BatchUse(batch=take.batch, log=log, litres=to_step(take.litres), late_reason=take.late_reason).save()
    put_in_work(job)
    return log


def _check_nothing_new(step: JobStep, seen_logs: int | None) -> None:
    standing = step.logs.standing().select_related("by")
    number = standing.count()
    if seen_logs is not None and number != seen_logs:
        raise LoggedMeanwhileError(standing.order_by("-pk").first(), number=number)


def day_of(moment: datetime, today: date, *, field: str) -> date:
    """The shop's day of a moment; WorkError at ``field`` for one that is to come or long past."""
    on = timezone.localdate(moment)
    if on > today:
        raise WorkError("This is in the future. Give the time at which the work was done.", field=field)
    if on < today - OLDEST:
        raise WorkError(f"This is more than {OLDEST.days} days ago. Check the day.", field=field)
    return on


def check_override(by: User, override_reason: str) -> None:
    """Refuse the reason of somebody who may not use an expired or quarantined lot."""
    if override_reason and not by.has_perm("inventory.override_lot"):
        raise WorkError(
            "Only the office or the owner may use an expired or quarantined lot. Choose another lot, or ask them.",
            field="override_reason",
        )


def put_in_work(job: Job) -> None:
    """The first work on a job starts it."""
    if job.status == JobStatus.BOOKED:
        job.status = JobStatus.IN_WORK
        job.save(update_fields=["status"])


def issue_uses(
    uses: Sequence[tuple[Use, IssueLine]], *, key: UUID, by: User, on: date, reference: str, override_reason: str
) -> Posting | None:
    """Issue what was used in one posting; None where nothing was. UseRefusedError names the use that the ledger refuses."""
    if not uses:
        return None
    lines = [line for _, line in uses]
    try:
        return issue(key=key, by=by, on=on, lines=lines, reference=reference, override_reason=override_reason)
    except StockError as error:
        if error.line is None:
            raise
        raise UseRefusedError(uses[error.line][0].line, error) from error


def issued_uses(
    step: JobStep, *, mixed: Decimal | None, components: Sequence[Use], supplies: Sequence[Use]
) -> list[tuple[Use, IssueLine]]:
    """What leaves the stock for each use, components first; a use of nothing is left out.

    Raises MixError where the components do not make the mix.
    """
    _check_belongs(step, [*components, *supplies])
    amounts = [drawn(use.line.material, litres) for use, litres in zip(components, mix_litres(mixed, components), strict=True)]
    amounts += [use.amount or Decimal(0) for use in supplies]
    return [
        (use, IssueLine(material=use.line.material, quantity=amount, booking=use.line.booking, lot=use.lot))
        for use, amount in zip([*components, *supplies], amounts, strict=True)
        if amount
    ]


def _check_belongs(step: JobStep, uses: Iterable[Use]) -> None:
    strangers = [use.line for use in uses if use.line.step_id != step.pk]
    if strangers:
        raise ValueError(f"{strangers[0].material} is not planned for {step}")


def mix_litres(mixed: Decimal | None, components: Sequence[Use]) -> list[Decimal]:
    """Litres of each component in a mix: what was measured, or its share of the mix by parts.

    A step without components mixes nothing. Raises MixError where nothing was mixed, or where what was measured does not
    add up to the mix: a wrong sum is a wrong ratio.
    """
    if not components:
        return []
    if mixed is None or mixed <= 0:
        raise MixError("Say how much was mixed, more than 0.", field="mixed")
    shares = share_of_mix(mixed, [use.line.parts or Decimal(0) for use in components])
    litres = [share if use.amount is None else use.amount for use, share in zip(components, shares, strict=True)]
    total = sum(litres, Decimal(0))
    if abs(total - mixed) > mixed * ADDS_UP_WITHIN:
        raise MixError(
            f"The components come to {show.volume(total)}, the mix to {show.volume(mixed)}. "
            "Mend one of them, or clear a component to let it follow the mix.",
            field="mixed",
        )
    return litres


def drawn(material: Material, litres: Decimal) -> Decimal:
    """What so many litres in the mix take from stock, the heel included, in the material's stock unit."""
    if material.stock_unit == StockUnit.KILOGRAM and material.density is None:
        raise MixError(f"{material.name} is kept in kg and its density is not known. Enter the density first.", field="mixed")
    return drawn_from_stock(
        litres, yield_fraction=material.yield_fraction, unit=StockUnit(material.stock_unit), density=material.density
    )


@transaction.atomic
def take_back(*, log: CoatLog, by: User, reason: str, at: datetime, today: date) -> CoatLog:
    """Take a log back: it no longer counts, what it issued returns to the stock, what it took of a batch is in the pot again.

    A log that was taken back already is left as it is. Raises WorkError without a reason or on a closed job, and what the
    ledger refuses.
    """
    job = Job.objects.select_for_update().get(pk=log.step.job_id)
    held = CoatLog.objects.with_reversed().select_related("posting", "step").get(pk=log.pk)
    if held.is_reversed:
        return held
    if not reason.strip():
        raise WorkError("Say why it is taken back.", field="reason")
    if not job.is_open:
        raise JobClosedError(job)
    if held.posting is not None:
        reverse(key=uuid5(held.key, "taken back"), by=by, on=today, posting=held.posting, reason=reason)
    held.withdrawn_at, held.withdrawn_by, held.withdrawn_reason = at, by, reason.strip()
    held.full_clean(exclude=["posting", "step", "by"])
    held.save(update_fields=["withdrawn_at", "withdrawn_by", "withdrawn_reason"])
    return held
