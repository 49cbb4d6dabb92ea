"""Where material went: from a lot to the batches and coats that hold it, and from a batch back to its lots.

Reads only, each in a constant number of queries. A coat took a lot either by its own issue (mixed as it was sprayed) or
through a batch that was mixed before; both ways end in the same rows.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch

from costing.models import Batch, BatchRest, BatchUse, CoatLog
from inventory.models import Lot, Movement


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatOfLot:
    """A log that holds material of a lot; ``log.step.job`` is the job."""

    lot: Lot
    log: CoatLog
    batch: Batch | None  # None: issued for this very log
    is_standing: bool  # False: the log or the mixing was taken back


@dataclass(frozen=True, slots=True, kw_only=True)
class LotIn:
    """So much of a lot went into a batch."""

    lot: Lot
    taken: Decimal  # stock units
    override_reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchTrace:
    """A batch from end to end."""

    batch: Batch  # with what is left
    is_standing: bool
    lots_in: tuple[LotIn, ...]  # with material and place
    coats_out: tuple[BatchUse, ...]  # that stand, with log, step and person
    rests: tuple[BatchRest, ...]


def coats_of_lots(lots: Iterable[Lot]) -> tuple[CoatOfLot, ...]:
    """Every log on which material of these lots was used, the latest first: components, and supplies too. Three queries."""
    moves = list(Movement.objects.filter(lot__in=list(lots), reverses__isnull=True, quantity__lt=0).select_related("lot"))
    by_posting: dict[int, list[Lot]] = {}
    for move in moves:
        kept = by_posting.setdefault(move.posting_id, [])
        if move.lot not in kept:
            kept.append(move.lot)
    logs = CoatLog.objects.with_reversed().filter(posting__in=by_posting).select_related("step__job", "by")
    found = [
        CoatOfLot(lot=lot, log=log, batch=None, is_standing=not log.is_reversed)
        for log in logs
        for lot in by_posting[log.posting_id or 0]
    ]
    standing = Batch.objects.standing().filter(posting__in=by_posting)
    uses = (
        BatchUse.objects.filter(batch__posting__in=by_posting)
        .select_related("batch")
        .prefetch_related(Prefetch("log", CoatLog.objects.with_reversed().select_related("step__job", "by")))
    )
    kept_batches = set(standing.values_list("pk", flat=True))
    found += [
        CoatOfLot(
            lot=lot,
            log=use.log,
            batch=use.batch,
            is_standing=use.batch_id in kept_batches and not use.log.is_reversed,
        )
        for use in uses
        for lot in by_posting[use.batch.posting_id]
    ]
    return tuple(sorted(found, key=lambda coat: (coat.log.done_at, coat.log.pk), reverse=True))


def batches_of_lots(lots: Iterable[Lot]) -> tuple[Batch, ...]:
    """Every batch into which these lots went, with what is left of it: a pot that still holds the lot. One query."""
    found = Batch.objects.with_left().filter(posting__movements__lot__in=list(lots)).distinct()
    return tuple(found.select_related("step__job", "by").order_by("-mixed_at", "-pk"))


def trace(batch: Batch) -> BatchTrace:
    """A batch with its lots, coats and rests. Five queries."""
    held = Batch.objects.with_left().select_related("step__job", "by", "posting").get(pk=batch.pk)
    moves = Movement.objects.filter(posting=held.posting_id).select_related("lot__material", "lot__location").order_by("pk")
    uses = held.uses.standing().select_related("log__step", "log__by").order_by("log__done_at", "pk")
    return BatchTrace(
        batch=held,
        is_standing=Batch.objects.standing().filter(pk=held.pk).exists(),
        lots_in=tuple(LotIn(lot=move.lot, taken=-move.quantity, override_reason=move.override_reason) for move in moves),
        coats_out=tuple(uses),
        rests=tuple(held.rests.select_related("by").order_by("at", "pk")),
    )
