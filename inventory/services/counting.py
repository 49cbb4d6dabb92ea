"""Counts: opened, entered, cancelled. Nothing here moves stock; ``count_posting`` does, through the ledger.

What a line is compared with is what the books said when the lot was counted: it is taken under the lot's lock, so that no
movement slips in between. Refusals are ``StockError``; nothing is written then.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Max, Q
from django.utils import timezone

from finishing.models import User
from finishing.show import quantity
from inventory.choices import CountStatus
from inventory.counts import books_when_counted, clock
from inventory.errors import KeyUsedError, StockError
from inventory.errors_counts import (
    CountClosedError,
    LinesError,
    LotBusyError,
    LotNotAddableError,
    MomentError,
    NothingToCountError,
)
from inventory.models import CountFind, CountLine, Location, Lot, Material, Movement, StockCount
from inventory.services.checks import exact_quantity, kept_text
from inventory.services.ledger import locked_lots


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What somebody found of one line; ``counted`` None takes an entry back, ``reason`` None leaves it as it is."""

    line: int
    counted: Decimal | None  # stock units
    reason: str | None = None
    seen: str | None = None  # the line's version that the page showed; None: whatever it is


@dataclass(slots=True, kw_only=True)
class Entered:
    """The lines as they are now, which of them changed, and what stands against the others, by line."""

    lines: dict[int, CountLine]
    saved: set[int] = field(default_factory=set)
    problems: dict[int, str] = field(default_factory=dict)


@transaction.atomic
def open_count(
    *,
    key: UUID,
    by: User,
    location: Location | None = None,
    materials: Iterable[Material] | None = None,
    is_blind: bool = False,
    note: str = "",
) -> StockCount:
    """Open a count with a line for every lot in stock: in a place, of chosen materials, or in the whole shop.

    The same key by the same person finds the first count. Raises ``NothingToCountError``, ``LotBusyError`` for a lot on
    another open count, ``TextError`` or ``KeyUsedError``.
    """
    words = kept_text(StockCount, "note", note)
    asked = Lot.objects.in_stock()
    if location is not None:
        asked = asked.filter(location=location)
    if materials is not None:
        asked = asked.filter(material__in=list(materials))
    lots = list(asked.select_for_update(of=("self",)).select_related("material", "location").order_by("pk"))
    earlier = StockCount.objects.filter(key=key).first()
    if earlier is not None:
        if earlier.opened_by_id != by.pk:
            raise KeyUsedError("Somebody else has sent this form.")
        return earlier
    if not lots:
        raise NothingToCountError("No lot with stock is there to be counted.")
    _refuse_busy(lots)
    count = StockCount.objects.create(
        key=key, location=location, is_selection=materials is not None, is_blind=is_blind, opened_by=by, note=words
    )
    lots.sort(key=lambda lot: (lot.location.name if lot.location else "", lot.material.name, lot.number, lot.pk))
    CountLine.objects.bulk_create(CountLine(count=count, lot=lot, book=lot.on_hand) for lot in lots)
    return count


@transaction.atomic
def open_counts(
    *, key: UUID, by: User, locations: Sequence[Location], is_blind: bool = False, note: str = ""
) -> list[StockCount]:
    """Open a count for each of several places, all or none; places in which the books have nothing are passed over.

    Raises as ``open_count`` does, ``NothingToCountError`` when all of them are empty.
    """
    locked_lots(Q(location__in=locations, on_hand__gt=0))  # all at once, in the order in which everybody locks lots
    counts = []
    for location in locations:
        own = uuid5(key, str(location.pk))
        with suppress(NothingToCountError):
            counts.append(open_count(key=own, by=by, location=location, is_blind=is_blind, note=note))
    if not counts:
        raise NothingToCountError("By the books nothing stands there, so there is nothing to count.")
    return counts


@transaction.atomic
def add_lot(*, count: StockCount, lot: Lot) -> CountLine:
    """Add a lot that was found though it is not on the list; a lot that is on it already is answered with its line.

    Raises ``LotNotAddableError`` for a lot that has stock in another place in the books, ``LotBusyError`` or
    ``CountClosedError``.
    """
    kept = _open(count)
    found = Lot.objects.select_for_update(of=("self",)).select_related("material", "location").get(pk=lot.pk)
    line = CountLine.objects.filter(count=kept, lot=found).first()
    if line is not None:
        return line
    elsewhere = found.location is not None and found.location_id != kept.location_id
    if kept.location is not None and found.on_hand and elsewhere:
        left = quantity(found.on_hand, found.material.stock_unit)
        why = f"In the books lot {found.number} stands in {found.location} with {left}. Note first that it was moved here."
        raise LotNotAddableError(found, why)
    _refuse_busy([found])
    return CountLine.objects.create(count=kept, lot=found, book=found.on_hand)


@transaction.atomic
def enter_lines(*, count: StockCount, by: User, entries: Sequence[Entry], counted_at: datetime | None = None) -> Entered:
    """Note what was found, line by line; lines with a problem are left as they are and told.

    ``counted_at`` is the moment for a filled sheet; without it lots are counted now. A figure that is there already is no new
    count: to count a lot again, take the entry back first. Raises ``CountClosedError`` or ``MomentError``.
    """
    kept = _open(count)
    if counted_at is not None:
        _check_moment(kept, counted_at)
    numbers = [entry.line for entry in entries]
    lines = CountLine.objects.filter(count=kept, pk__in=numbers).select_related("lot__material", "lot__location", "counted_by")
    entered = Entered(lines={line.pk: line for line in lines})
    counted: list[CountLine] = []
    for entry in entries:
        line = entered.lines.get(entry.line)
        if line is None:
            entered.problems[entry.line] = f"This line is not on {kept.label}."
            continue
        try:
            changed = _take(line, entry, by, counted_at)
        except StockError as error:
            entered.problems[entry.line] = str(error)
            continue
        if changed:
            entered.saved.add(line.pk)
            if line.counted is not None and line.book_when_counted is None:
                counted.append(line)
    _look_into_the_books(counted, counted_at)
    CountLine.objects.bulk_update(
        [entered.lines[pk] for pk in sorted(entered.saved)],
        ["counted", "counted_at", "counted_by", "book_when_counted", "last_movement", "reason"],
    )
    return entered


@transaction.atomic
def enter_sheet(*, count: StockCount, by: User, entries: Sequence[Entry], counted_at: datetime) -> Entered:
    """Take a whole filled sheet, or nothing of it: raises ``LinesError`` with what stands against each line."""
    entered = enter_lines(count=count, by=by, entries=entries, counted_at=counted_at)
    if entered.problems:
        raise LinesError(entered.problems)
    return entered


@transaction.atomic
def note_find(*, count: StockCount, by: User, number: str, material: Material | None, amount: str, note: str = "") -> CountFind:
    """Note a lot that the books do not know. The same note of the same person stays one.

    Raises ``CountClosedError`` or ``TextError``.
    """
    kept = _open(count)
    found = CountFind(
        count=kept,
        found_by=by,
        number=kept_text(CountFind, "number", number, required="Copy the lot number from the label."),
        material=material,
        amount=kept_text(CountFind, "amount", amount, required="Write how much there is, with its unit."),
        note=kept_text(CountFind, "note", note),
    )
    said = {name: getattr(found, name) for name in ("number", "material", "amount", "note", "found_by")}
    earlier = CountFind.objects.filter(count=kept, **said).first()
    if earlier is not None:
        return earlier
    found.save(force_insert=True)
    return found


@transaction.atomic
def remove_find(*, count: StockCount, find: CountFind) -> None:
    """Take a note of a find back while the count is open. Raises ``CountClosedError``."""
    CountFind.objects.filter(count=_open(count), pk=find.pk).delete()


@transaction.atomic
def cancel_count(*, count: StockCount, by: User, reason: str) -> StockCount:
    """Give a count up; it stays as a record. Raises ``CountClosedError``, or ``TextError`` without a reason."""
    why = kept_text(StockCount, "cancel_reason", reason, required="Say why the count is given up.", shown_as="reason")
    kept = _open(count)
    kept.status, kept.cancel_reason = CountStatus.CANCELLED, why
    kept.cancelled_by, kept.cancelled_at = by, timezone.now()
    kept.save(update_fields=["status", "cancel_reason", "cancelled_by", "cancelled_at"])
    return kept


def lock_count(count: StockCount) -> StockCount:
    """The count, locked until the transaction ends."""
    return StockCount.objects.select_for_update(of=("self",)).select_related("location").get(pk=count.pk)


def _open(count: StockCount) -> StockCount:
    kept = lock_count(count)
    if not kept.is_open:
        raise CountClosedError(kept)
    return kept


def _refuse_busy(lots: Sequence[Lot]) -> None:
    busy = CountLine.objects.filter(count__status=CountStatus.OPEN, lot__in=lots).select_related("lot", "count")
    found = list(busy.order_by("count", "pk"))
    if found:
        raise LotBusyError(found[0].lot, found[0].count, lots=len(found))


def _check_moment(count: StockCount, at: datetime) -> None:
    if at > timezone.now():
        raise MomentError("That moment is still to come.")
    if at < count.opened_at:
        raise MomentError(f"The count was opened on {clock(count.opened_at)}; nothing was counted on it before.")


def _take(line: CountLine, entry: Entry, by: User, at: datetime | None) -> bool:
    """Put an entry into its line, unsaved; True when it changes something."""
    found = None if entry.counted is None else _exact(entry.counted)
    reason = line.reason if entry.reason is None else kept_text(CountLine, "reason", entry.reason)
    if found == line.counted and reason == line.reason:
        return False
    if entry.seen is not None and entry.seen != line.version:
        raise StockError(_meanwhile(line))
    if found != line.counted and at is not None and line.counted_at is not None and line.counted_at > at:
        raise StockError(f"{_meanwhile(line)} That was after this sheet was counted: empty the cell, or say a later moment.")
    line.reason = reason
    if found != line.counted:
        line.counted = found
        line.counted_at = None if found is None else at or timezone.now()
        line.counted_by = None if found is None else by
        line.book_when_counted = line.last_movement = None
    return True


def _meanwhile(line: CountLine) -> str:
    if line.counted is None:
        return "Somebody took the entry of this line back meanwhile."
    found = quantity(line.counted, line.lot.material.stock_unit)
    return f"{line.counted_by} entered {found} on {clock(line.counted_at)}."


def _exact(counted: Decimal) -> Decimal:
    return exact_quantity(counted, field="counted") if counted else Decimal(0)


def _look_into_the_books(lines: Sequence[CountLine], at: datetime | None) -> None:
    """Note what the books say of freshly counted lots, under their locks."""
    if not lines:
        return
    lots = locked_lots(Q(pk__in=[line.lot_id for line in lines]))
    for line in lines:
        line.lot = lots[line.lot_id]
    if at is None:
        newest = dict(Movement.objects.filter(lot__in=lots).order_by().values_list("lot").annotate(Max("pk")))
        for line in lines:
            line.book_when_counted, line.last_movement = line.lot.on_hand, newest.get(line.lot_id, 0)
    else:
        books = books_when_counted(lines)
        for line in lines:
            line.book_when_counted = books[line.pk]
