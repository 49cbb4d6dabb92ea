"""Reads of counts: what the books said of each line when it was counted, what a count would change, and what is due.

Each takes the same number of queries at any size.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db.models import Max, Q, Sum
from django.utils import timezone

from finishing.show import day
from inventory.choices import CountStatus, PostingKind
from inventory.core.counting import BookEntry, Due, Glance, Stocked, book_at, count_plan, is_accurate, is_large
from inventory.models import CountLine, Lot, Material, Movement, StockCount

ZERO = Decimal(0)
YEAR = timedelta(days=365)


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
        return self.counted - self.book

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


def reckon(lines: Sequence[CountLine], *, frozen: bool = False) -> Reckoning:
    """Lines beside the books. One query; none for ``frozen`` lines of a posted count, which keep what was posted."""
    counted = [line for line in lines if line.counted is not None]
    books = {line.pk: line.book_when_counted or ZERO for line in counted} if frozen else books_when_counted(counted)
    return Reckoning(
        counted=tuple(Reckoned(line=line, book=books[line.pk]) for line in counted),
        open_lines=tuple(line for line in lines if line.counted is None),
    )


# ------------------------------------------------------------ how well the books agree


@dataclass(frozen=True, slots=True, kw_only=True)
class Accuracy:
    """How many counted lines agreed with the books within tolerance."""

    counts: int
    lines: int
    accurate: int

    @property
    def share(self) -> Decimal | None:
        """Of the counted lines; None when nothing was counted."""
        return Decimal(self.accurate) / self.lines if self.lines else None


def accuracy(*, since: datetime) -> Accuracy:
    """Over all counts posted since a moment. One query."""
    posted = StockCount.objects.filter(status=CountStatus.POSTED, posted_at__gte=since)
    rows = list(posted.values_list("counted_lines", "accurate_lines"))
    return Accuracy(counts=len(rows), lines=sum(row[0] for row in rows), accurate=sum(row[1] for row in rows))


# ------------------------------------------------------------ what is due


@dataclass(frozen=True, slots=True, kw_only=True)
class DueMaterial:
    """A material with the day on which it is to be counted."""

    material: Material
    due: Due
    lots: int
    being_counted: StockCount | None

    @property
    def pk(self) -> int:
        """The material's."""
        return self.material.pk


def counting_plan(*, on: date) -> tuple[DueMaterial, ...]:
    """Every material in stock with the day on which it is due, those of class A first. Six queries."""
    lots = list(Lot.objects.in_stock().order_by().values_list("pk", "material_id", "received_on"))
    looked, moved = _last_looks(), _last_moves()
    of_lots: dict[int, list[tuple[date, date | None]]] = defaultdict(list)
    for pk, material_id, received_on in lots:
        look = max(received_on, looked.get(pk, received_on))
        move = moved.get(pk)
        of_lots[material_id].append((look, move if move is not None and move > look else None))
    value = _yearly_use(on)
    plan = count_plan(
        Stocked(
            material_id=material_id,
            yearly_value=value.get(material_id, ZERO),
            looked_on=min(look for look, _ in found),
            moved_on=max((move for _, move in found if move), default=None),
        )
        for material_id, found in of_lots.items()
    )
    materials = Material.objects.in_bulk(list(of_lots))
    busy = _being_counted()
    return tuple(
        DueMaterial(
            material=materials[due.material_id],
            due=due,
            lots=len(of_lots[due.material_id]),
            being_counted=busy.get(due.material_id),
        )
        for due in plan
    )


def due_materials(*, on: date) -> list[DueMaterial]:
    """Those that are due on a day and on no open count."""
    return [entry for entry in counting_plan(on=on) if entry.due.due_on <= on and entry.being_counted is None]


def _last_looks() -> dict[int, date]:
    """By lot in stock: the day it was counted last, on a count that was posted."""
    counted = CountLine.objects.filter(count__status=CountStatus.POSTED, counted__isnull=False, lot__on_hand__gt=0)
    latest = counted.order_by().values_list("lot").annotate(Max("counted_at"))
    return {lot: timezone.localdate(at) for lot, at in latest}


def _last_moves() -> dict[int, date]:
    """By lot in stock: the last day on which something moved; count differences are no movement on the shelf."""
    moved = Movement.objects.filter(lot__on_hand__gt=0).exclude(posting__kind=PostingKind.COUNT)
    return dict(moved.order_by().values_list("lot").annotate(Max("posting__on")))


def _yearly_use(on: date) -> Mapping[int, Decimal]:
    """By material: issues net of returns in the year before a day, at the lots' cost."""
    used: dict[int, Decimal] = defaultdict(Decimal)
    year = Movement.objects.standing_for(PostingKind.ISSUE, PostingKind.RETURN).counting_in(since=on - YEAR, before=on)
    for material_id, cost, total in year.order_by().values_list("lot__material", "unit_cost").annotate(total=Sum("quantity")):
        used[material_id] -= total * cost
    return used


def _being_counted() -> dict[int, StockCount]:
    """By material: an open count that has one of its lots in stock."""
    lines = CountLine.objects.filter(count__status=CountStatus.OPEN, lot__on_hand__gt=0)
    pairs = dict(lines.order_by().values_list("lot__material", "count").distinct())
    counts = StockCount.objects.select_related("location").in_bulk(set(pairs.values()))
    return {material: counts[count] for material, count in pairs.items()}
