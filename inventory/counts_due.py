"""Cycle counting: how well the books agreed lately, and which materials are due for counting.

Each read takes the same number of queries at any size.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db.models import Max, Sum
from django.utils import timezone

from inventory.choices import CountStatus, PostingKind
from inventory.core.counting import Due, Stocked, count_plan
from inventory.models import CountLine, Lot, Material, Movement, StockCount

ZERO = Decimal(0)
YEAR = timedelta(days=365)


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
    """Every material in stock with the day on which it is due, those of class A first. At most eight queries."""
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
    """By lot in stock: the day of its newest movement in the books.

    A count difference is no movement on the shelf: there the last one of another kind counts. The newest is found in the
    index alone, which a maximum over the days of all movements is not.
    """
    newest = Movement.objects.filter(lot__on_hand__gt=0).order_by().values("lot").annotate(last=Max("pk")).values("last")
    days: dict[int, date] = {}
    counted = []
    for lot, kind, on in Movement.objects.filter(pk__in=newest).order_by().values_list("lot", "posting__kind", "posting__on"):
        if kind == PostingKind.COUNT:
            counted.append(lot)
        else:
            days[lot] = on
    if counted:
        others = Movement.objects.filter(lot__in=counted).exclude(posting__kind=PostingKind.COUNT)
        days.update(others.order_by().values_list("lot").annotate(Max("posting__on")))
    return days


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
