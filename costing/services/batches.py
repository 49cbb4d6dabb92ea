"""Mixing a batch, and what becomes of what is left of it.

One verb is one transaction. The components leave the stock when they are mixed, against the job's bookings; the coats that
are logged later say how much of the batch they took; the rest is thrown away or, where it is one part, put back.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from uuid import UUID

from django.db import transaction

from costing.choices import RestCause, RestFate
from costing.core.facts import StockUnit
from costing.core.plan import drawn_from_stock
from costing.models import Batch, BatchRest, Job, JobStep
from costing.services.coat_checks import A_MINUTE
from costing.services.coat_log import (
    Use,
    check_override,
    day_of,
    issue_uses,
    issued_uses,
    put_in_work,
)
from costing.services.work_errors import BatchGoneError, JobClosedError, MixError, MoreThanMixedError, WorkError
from finishing import show
from finishing.fields import to_step
from finishing.models import User
from inventory.errors import KeyUsedError
from inventory.services.ledger import return_stock


@transaction.atomic
def mix_batch(
    *,
    key: UUID,
    by: User,
    step: JobStep,
    mixed_at: datetime,
    litres: Decimal,
    components: Sequence[Use],
    override_reason: str,
    today: date,
    note: str = "",
) -> Batch:
    """Mix ``litres`` for a coat and issue its components. Its pot life runs from ``mixed_at``.

    The same key by the same person for the same step gives the first batch again. Raises JobClosedError, MixError, WorkError,
    and what the ledger refuses: UseRefusedError where it is about one component, StockError otherwise.
    """
    job = Job.objects.select_for_update().get(pk=step.job_id)
    made = Batch.objects.filter(key=key).first()
    if made is not None:
        if made.by_id != by.pk or made.step_id != step.pk:
            raise KeyUsedError("This form has mixed something else already.")
        return made
    if not job.is_open:
        raise JobClosedError(job)
    if not components:
        raise MixError(f"{step.name} has no mix planned.", field="mixed")
    on = day_of(mixed_at, today, field="mixed_at")
    check_override(by, override_reason)
    posting = issue_uses(
        issued_uses(step, mixed=litres, components=components, supplies=()),
        key=key,
        by=by,
        on=on,
        reference=f"{job.number} {step.name}, batch"[:120],
        override_reason=override_reason,
    )
    if posting is None:
        raise MixError("Say how much was mixed, more than 0.", field="mixed")
    batch = Batch(
        key=key,
        step=step,
        by=by,
        mixed_at=mixed_at,
        litres=litres,
        pot_life_min=step.pot_life_min,
        induction_min=step.induction_min,
        posting=posting,
        note=note,
    )
    batch.full_clean(exclude=["posting", "step", "by"])
    batch.save()
    put_in_work(job)
    return batch


@transaction.atomic
def throw_away(
    *,
    key: UUID,
    by: User,
    batch: Batch,
    litres: Decimal | None,
    cause: RestCause,
    at: datetime,
    today: date,
    note: str = "",
) -> BatchRest:
    """Throw away what is left of a batch, or ``litres`` of it. Allowed on a closed job too: rests outlast the work.

    Raises MoreThanMixedError, BatchGoneError, WorkError.
    """
    return _end(key=key, by=by, batch=batch, litres=litres, fate=RestFate.THROWN, cause=cause, at=at, today=today, note=note)


@transaction.atomic
def put_back(
    *, key: UUID, by: User, batch: Batch, litres: Decimal | None, at: datetime, today: date, note: str = ""
) -> BatchRest:
    """Put what is left of a batch of one part back into the lot that most of it came from, for the booking it was drawn for.

    Raises WorkError for a mix of several parts (it cannot be parted again) and what ``throw_away`` and the ledger raise.
    """
    moves = list(batch.posting.movements.select_related("lot__material", "booking").order_by("quantity", "pk"))
    if len({move.lot.material_id for move in moves}) != 1:
        raise WorkError("A mix of several parts can’t go back into a can. Throw the rest away.", field="fate")
    rest = _end(
        key=key,
        by=by,
        batch=batch,
        litres=litres,
        fate=RestFate.RETURNED,
        cause=RestCause.LEFT_OVER,
        at=at,
        today=today,
        note=note,
    )
    if rest.posting_id is None:
        material = moves[0].lot.material
        quantity = drawn_from_stock(
            rest.litres, yield_fraction=Decimal(1), unit=StockUnit(material.stock_unit), density=material.density
        )
        rest.posting = return_stock(
            key=key,
            by=by,
            on=day_of(at, today, field="at"),
            lot=moves[0].lot,
            quantity=quantity,
            reference=f"{batch.step.job.number} {batch.number}",
            booking=moves[0].booking,
            reason="Rest of a batch of one part",
        )
        rest.save(update_fields=["posting"])
    return rest


def _end(
    *,
    key: UUID,
    by: User,
    batch: Batch,
    litres: Decimal | None,
    fate: RestFate,
    cause: RestCause,
    at: datetime,
    today: date,
    note: str,
) -> BatchRest:
    Job.objects.select_for_update().get(pk=batch.step.job_id)
    made = BatchRest.objects.filter(key=key).first()
    if made is not None:
        if made.by_id != by.pk or made.batch_id != batch.pk or made.fate != fate:
            raise KeyUsedError("This form has been used for something else already.")
        return made
    held = standing(batch)
    day_of(at, today, field="at")
    if at < held.mixed_at - A_MINUTE:
        raise WorkError(f"{held.number} was mixed later than that.", field="at")
    gone = held.left if litres is None else to_step(litres)
    if gone <= 0:
        raise WorkError(f"Nothing is left of {held.number}.", field="litres")
    if gone > held.left:
        raise MoreThanMixedError(held, gone)
    rest = BatchRest(key=key, batch=held, litres=gone, fate=fate, cause=cause, by=by, at=at, note=note)
    rest.full_clean(exclude=["batch", "by", "posting"])
    rest.save()
    return rest


def standing(batch: Batch) -> Batch:
    """The batch afresh with what is left of it. Raises BatchGoneError when its mixing was taken back.

    Whoever changes what is left holds the lock of its job.
    """
    held = Batch.objects.standing().with_left().select_related("step__job", "by").filter(pk=batch.pk).first()
    if held is None:
        raise BatchGoneError(batch)
    return held


def words_of(batch: Batch) -> str:
    """A batch in a sentence: “M-0012, 1.2 L mixed at 10:12”."""
    return f"{batch.number}, {show.pour(batch.litres)} mixed at {batch.mixed_local:%H:%M}"
