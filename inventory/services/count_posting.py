"""A count becomes part of the books: its differences as one posting, itself a record that never changes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from finishing.fields import to_step
from finishing.models import User
from inventory.choices import CountStatus
from inventory.counts import Reckoning, lines_of, reckon
from inventory.errors import NotEnoughStockError, StockError
from inventory.errors_counts import CountClosedError, LinesError, StaleCountError
from inventory.models import CountLine, Posting, StockCount
from inventory.services import ledger
from inventory.services.checks import kept_text
from inventory.services.counting import lock_count
from inventory.services.ledger import CountDifference, locked_lots

WHY = "Say in a few words why this differs so much."


@dataclass(frozen=True, slots=True, kw_only=True)
class Posted:
    """The posted count, and whether this very person had posted it before."""

    count: StockCount
    again: bool = False


@transaction.atomic
def post_count(*, key: UUID, by: User, count: StockCount, seen: str, reasons: Mapping[int, str]) -> Posted:
    """Post the differences of a count and close it.

    ``seen`` is the fingerprint of the figures that the person looked at; ``reasons`` are by line, and a large difference
    needs one. Lines that nobody counted stay as the books have them. Raises ``StaleCountError``, ``LinesError``,
    ``CountClosedError`` or another ``StockError``.
    """
    kept = lock_count(count)
    if kept.status == CountStatus.POSTED and kept.posted_by_id == by.pk:
        return Posted(count=kept, again=True)
    if not kept.is_open:
        raise CountClosedError(kept)
    lines = lines_of(kept)
    _lock_lots(lines)
    reckoning = reckon(lines)
    if reckoning.fingerprint != seen:
        raise StaleCountError
    if not reckoning.counted:
        raise StockError("Nothing has been counted yet. Enter at least one line, or cancel the count.")
    _keep_reasons(reckoning, reasons)
    _refuse_less_than_nothing(reckoning)
    kept.posting = _post(key, by, kept, reckoning)
    _freeze(kept, by, reckoning)
    return Posted(count=kept)


def _lock_lots(lines: list[CountLine]) -> None:
    """Lock the lots in the order of their numbers, and take their balances as they are under the lock."""
    lots = locked_lots(Q(pk__in=[line.lot_id for line in lines]))
    for line in lines:
        line.lot = lots[line.lot_id]


def _keep_reasons(reckoning: Reckoning, reasons: Mapping[int, str]) -> None:
    """Put the reasons into the lines; raises ``LinesError`` where one is missing or too long."""
    problems: dict[int, str] = {}
    for row in reckoning.differing:
        try:
            row.line.reason = kept_text(CountLine, "reason", reasons.get(row.line.pk, row.line.reason))
        except StockError as error:
            problems[row.line.pk] = str(error)
            continue
        if row.is_large and not row.line.reason:
            problems[row.line.pk] = WHY
    if problems:
        raise LinesError(problems)


def _refuse_less_than_nothing(reckoning: Reckoning) -> None:
    """More went out since a lot was counted than was found in it: that count can't be right."""
    problems = {row.line.pk: row.contradiction for row in reckoning.differing if row.contradiction}
    if problems:
        raise LinesError(problems)


def _post(key: UUID, by: User, count: StockCount, reckoning: Reckoning) -> Posting | None:
    rows = sorted(reckoning.differing, key=lambda row: row.line.lot_id)
    if not rows:
        return None
    differences = [CountDifference(lot=row.line.lot, quantity=row.difference) for row in rows]
    try:
        return ledger.count_difference(
            key=key, by=by, on=timezone.localdate(), differences=differences, reference=f"Count {count.label}"
        )
    except NotEnoughStockError as error:
        raise LinesError({rows[error.line or 0].line.pk: str(error)}) from error


def _freeze(count: StockCount, by: User, reckoning: Reckoning) -> None:
    """Note in lines and count what was posted. The lines first: those of a posted count can't be changed."""
    for row in reckoning.counted:
        row.line.book_when_counted = row.book
    CountLine.objects.bulk_update([row.line for row in reckoning.counted], ["book_when_counted", "reason"])
    count.status, count.posted_by, count.posted_at = CountStatus.POSTED, by, timezone.now()
    count.counted_lines, count.accurate_lines = len(reckoning.counted), reckoning.accurate
    count.difference_value = to_step(reckoning.net)
    count.save(
        update_fields=[
            *("status", "posted_by", "posted_at", "posting"),
            *("counted_lines", "accurate_lines", "difference_value"),
        ]
    )
