"""Reads of counts: what the books said of each line when it was counted, and what a count would change.

Each takes the same number of queries at any size.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from itertools import groupby

from django.db.models import Q
from django.utils import timezone

from finishing.show import day, quantity
from inventory.core.counting import FINEST, BookEntry, Glance, book_at, found_difference, is_accurate, is_large
from inventory.models import CountFind, CountLine, Movement, StockCount

ZERO = Decimal(0)


def clock(moment: datetime | None) -> str:
    """A moment as its day and time in the shop's time zone."""
    return f"{day(moment)}, {timezone.localtime(moment):%H:%M}" if moment else ""


# ------------------------------------------------------------ the books at the moment of counting


def books_when_counted(lines: Iterable[CountLine]) -> dict[int, Decimal]:
    """By line: what the books say, as they know it now, of the moment at which it was counted. One query.

    Needs counted lines with their lots. Corrections that came in since are in it: what was booked late for an earlier day,
    and counter-movements of what had been booked by then.
    """
    counted = list(lines)
    entries = _entries_since(counted)
    return {line.pk: book_at(line.lot.on_hand, entries.get(line.lot_id, ()), _glance(line)) for line in counted}


def _glance(line: CountLine) -> Glance:
    if line.counted_at is None:
        raise ValueError(f"{line.label} has not been counted")
    return Glance(at=line.counted_at, day=timezone.localdate(line.counted_at), last=line.last_movement)


def _entries_since(lines: Sequence[CountLine]) -> dict[int, list[BookEntry]]:
    """By lot: the movements since the earliest glance."""
    since = Q()
    marks = [line.last_movement for line in lines if line.last_movement is not None]
    moments = [line.counted_at for line in lines if line.last_movement is None and line.counted_at is not None]
    if marks:
        since |= Q(pk__gt=min(marks))
    if moments:
        since |= Q(posting__created_at__gt=min(moments))
    entries: dict[int, list[BookEntry]] = defaultdict(list)
    if not since:
        return entries
    moved = Movement.objects.filter(since, lot__in=[line.lot_id for line in lines]).select_related("posting", "reverses__posting")
    for movement in moved.order_by():
        of = movement.reverses or movement
        entries[movement.lot_id].append(
            BookEntry(number=of.pk, quantity=movement.quantity, recorded_at=of.posting.created_at, on=of.posting.on)
        )
    return entries


# ------------------------------------------------------------ what a count would change


@dataclass(frozen=True, slots=True, kw_only=True)
class Reckoned:
    """A counted line beside the books of its moment."""

    line: CountLine
    book: Decimal

    @property
    def difference(self) -> Decimal:
        """What is added to the books; below 0: what is missing."""
        return found_difference(counted=self.counted, book=self.book, finest=FINEST[self.line.lot.material.stock_unit])

    @property
    def counted(self) -> Decimal:
        """What was found."""
        return self.line.counted if self.line.counted is not None else ZERO

    @property
    def value(self) -> Decimal:
        """The difference at the lot's cost."""
        return self.difference * self.line.lot.unit_cost

    @property
    def is_large(self) -> bool:
        """Whether it needs a reason."""
        return is_large(counted=self.counted, book=self.book, unit_cost=self.line.lot.unit_cost)

    @property
    def is_accurate(self) -> bool:
        """Whether the books were right within tolerance."""
        return is_accurate(counted=self.counted, book=self.book)

    @property
    def moved_since(self) -> Decimal:
        """What came in or went out after it was counted."""
        return self.line.lot.on_hand - self.book

    @property
    def result(self) -> Decimal:
        """What the books will say once the difference is posted."""
        return self.line.lot.on_hand + self.difference

    @property
    def contradiction(self) -> str:
        """Why the lot must be counted again before it can be posted: more went out since than was found. Empty: it can be."""
        if self.result >= 0:
            return ""
        unit = self.line.lot.material.stock_unit
        went, found = quantity(-self.moved_since, unit), quantity(self.counted, unit)
        return f"Count this lot again: {went} went out since it was counted, and only {found} was found then."


@dataclass(frozen=True, slots=True, kw_only=True)
class Reckoning:
    """A whole count beside the books."""

    counted: tuple[Reckoned, ...]
    open_lines: tuple[CountLine, ...]  # nobody has counted these: they stay as they are

    @property
    def differing(self) -> tuple[Reckoned, ...]:
        """The lines that change the books, large ones first, then by value."""
        off = [row for row in self.counted if row.difference]
        return tuple(sorted(off, key=lambda row: (not row.is_large, -abs(row.value), row.line.pk)))

    @property
    def again(self) -> tuple[Reckoned, ...]:
        """The lines that must be counted again before anything can be posted."""
        return tuple(row for row in self.counted if row.contradiction)

    @property
    def accurate(self) -> int:
        """Lines within tolerance."""
        return sum(row.is_accurate for row in self.counted)

    @property
    def surplus(self) -> Decimal:
        """Worth of what was found above the books."""
        return sum((row.value for row in self.counted if row.difference > 0), ZERO)

    @property
    def missing(self) -> Decimal:
        """Worth of what was missing, above 0."""
        return -sum((row.value for row in self.counted if row.difference < 0), ZERO)

    @property
    def net(self) -> Decimal:
        """What the differences are worth together."""
        return self.surplus - self.missing

    @property
    def fingerprint(self) -> str:
        """Changes when a line or what the books say of it changes."""
        said = [f"{row.line.pk} {row.line.version} {row.book}" for row in self.counted]
        said += [f"{line.pk} {line.version}" for line in self.open_lines]
        return hashlib.sha256("\n".join(sorted(said)).encode()).hexdigest()[:32]


def lines_of(count: StockCount) -> list[CountLine]:
    """The lines of a count as they are shown: by place, material and lot. One query."""
    lines = count.lines.select_related("lot__material", "lot__location", "counted_by")
    return sorted(lines, key=lambda line: (line.lot.place, line.lot.material.name, line.lot.number, line.pk))


def count_groups(lines: Iterable[CountLine]) -> list[tuple[str, list[CountLine]]]:
    """Lines in their order, place by place, each place with its name in words."""
    return [(place or "No place noted", list(found)) for place, found in groupby(lines, key=lambda line: line.lot.place)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A find of a count, and the line of its lot once the books know it."""

    find: CountFind
    line: CountLine | None


def finds_of(count: StockCount, lines: Iterable[CountLine]) -> list[Found]:
    """What was found and not in the books. One query."""
    by_number = {line.lot.number.casefold(): line for line in lines}
    finds = count.finds.select_related("material", "found_by")
    return [Found(find=find, line=by_number.get(find.number.casefold())) for find in finds]


def reckon(lines: Sequence[CountLine], *, frozen: bool = False) -> Reckoning:
    """Lines beside the books. One query; none for ``frozen`` lines of a posted count, which keep what was posted."""
    counted = [line for line in lines if line.counted is not None]
    books = {line.pk: line.book_when_counted or ZERO for line in counted} if frozen else books_when_counted(counted)
    return Reckoning(
        counted=tuple(Reckoned(line=line, book=books[line.pk]) for line in counted),
        open_lines=tuple(line for line in lines if line.counted is None),
    )
