"""Logging work on a step of a job: a coat with what was mixed, or any other step, with time and supplies.

One log is one transaction: the lots are issued against the job's bookings, the log is written, and the job is in work.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from costing.choices import JobStatus
from costing.core.facts import StockUnit
from costing.core.plan import drawn_from_stock, share_of_mix
from costing.models import CoatLog, Job, JobStep, JobStepMaterial
from costing.services.work_errors import JobClosedError, LoggedMeanwhileError, MixError, UseRefusedError, WorkError
from finishing import show
from finishing.models import User
from inventory.errors import KeyUsedError, StockError
from inventory.models import Lot, Material, Posting
from inventory.services.ledger import IssueLine, issue

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
) -> CoatLog:
    """Log work on a step and issue what it used. ``mixed`` in L, ``minutes`` in min, ``wet_film`` in µm.

    The same key by the same person for the same step gives the first log again. ``seen_logs`` is how many logs the person
    saw; others since then raise LoggedMeanwhileError. Raises JobClosedError, MixError, WorkError, and what the ledger
    refuses: UseRefusedError where it is about one material, StockError otherwise.
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
    on = _day_of(done_at, today)
    _check_override(by, override_reason)
    log = CoatLog(
        key=key,
        step=step,
        by=by,
        done_at=done_at,
        mixed=mixed,
        fills=fills,
        minutes=minutes,
        wet_film=wet_film,
        note=note,
        finishes_step=finishes_step,
        posting=_issue(
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
    if job.status == JobStatus.BOOKED:
        job.status = JobStatus.IN_WORK
        job.save(update_fields=["status"])
    return log


def _check_nothing_new(step: JobStep, seen_logs: int | None) -> None:
    standing = step.logs.standing().select_related("by")
    number = standing.count()
    if seen_logs is not None and number != seen_logs:
        raise LoggedMeanwhileError(standing.order_by("-pk").first(), number=number)


def _day_of(done_at: datetime, today: date) -> date:
    on = timezone.localdate(done_at)
    if on > today:
        raise WorkError("This is in the future. Give the time at which the work was done.", field="done_at")
    if on < today - OLDEST:
        raise WorkError(f"This is more than {OLDEST.days} days ago. Check the day.", field="done_at")
    return on


def _check_override(by: User, override_reason: str) -> None:
    if override_reason and not by.has_perm("inventory.override_lot"):
        raise WorkError(
            "Only the office or the owner may use an expired or quarantined lot. Choose another lot, or ask them.",
            field="override_reason",
        )


def _issue(
    uses: Sequence[tuple[Use, IssueLine]], *, key: UUID, by: User, on: date, reference: str, override_reason: str
) -> Posting | None:
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
