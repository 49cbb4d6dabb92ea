"""A coat as a finisher tells it in one go: out of which pot, what was left over, and what became of that.

One transaction over the verbs of batches and the log, each with a key of its own made from the one of the form, so that a
form that arrives twice acts once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid5

from django.db import transaction

from costing.choices import RestCause
from costing.models import Batch, CoatLog, JobStep
from costing.services.batches import mix_batch, put_back, standing, throw_away
from costing.services.coat_checks import BatchTake
from costing.services.coat_log import Use, log_coat
from costing.services.work_errors import WorkError
from finishing import show
from finishing.models import User


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """What was left over, L, and what became of it."""

    litres: Decimal = Decimal(0)
    fate: str = "throw"  # throw, keep or back


@transaction.atomic
def spray_coat(
    *,
    key: UUID,
    by: User,
    step: JobStep,
    done_at: datetime,
    minutes: Decimal,
    mixed: Decimal | None,
    components: Sequence[Use],
    pot: Batch | None,
    rest: Rest,
    late_reason: str,
    override_reason: str,
    today: date,
    **more: Any,
) -> CoatLog:
    """Log a coat out of a pot, or out of a new mix; what is left over is kept, thrown away or put back.

    ``more`` goes to ``log_coat``. A new mix with something left over becomes a batch, mixed when the work began; without, it
    is issued with the log itself. Raises what ``log_coat``, ``mix_batch``, ``throw_away`` and ``put_back`` raise.
    """
    made = CoatLog.objects.filter(key=key, by=by, step=step).first()
    if made is not None:
        return made
    if pot is None and rest.litres and mixed is not None:
        began = done_at - timedelta(minutes=float(minutes))
        pot = mix_batch(
            key=uuid5(key, "mix"),
            by=by,
            step=step,
            mixed_at=began,
            litres=mixed,
            components=components,
            override_reason=override_reason,
            today=today,
        )
    takes: tuple[BatchTake, ...] = ()
    if pot is not None:
        held = standing(pot)
        if rest.litres >= held.left:
            raise WorkError(
                f"{held.number} holds {show.pour(held.left)}: with {show.pour(rest.litres)} left over nothing was sprayed.",
                field="left_over",
            )
        takes = (BatchTake(batch=held, litres=held.left - rest.litres, late_reason=late_reason),)
    log = log_coat(
        key=key,
        by=by,
        step=step,
        done_at=done_at,
        minutes=minutes,
        mixed=None if takes else mixed,
        components=() if takes else components,
        from_batches=takes,
        override_reason=override_reason,
        today=today,
        **more,
    )
    if pot is not None and rest.litres:
        _end(pot, rest, key=uuid5(key, "rest"), by=by, at=done_at, today=today)
    return log


def _end(pot: Batch, rest: Rest, *, key: UUID, by: User, at: datetime, today: date) -> None:
    if rest.fate == "back":
        put_back(key=key, by=by, batch=pot, litres=rest.litres, at=at, today=today)
    elif rest.fate == "throw":
        cause = RestCause.POT_LIFE if pot.is_expired(at) else RestCause.LEFT_OVER
        throw_away(key=key, by=by, batch=pot, litres=rest.litres, cause=cause, at=at, today=today)
