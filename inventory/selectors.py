"""Reads of the stock: what is there, what went out of date, what was used. Each takes the same number of queries at any size.

SQL sums quantities; costs are multiplied in Python, where they are exact.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Min, Sum

from inventory.choices import PostingKind
from inventory.core.weeks import WEEK, first_whole_week, monday, net_weeks, settled
from inventory.models import Booking, Lot, Movement
from inventory.models.ledger import MovementQuerySet

ZERO = Decimal(0)


@dataclass(slots=True, kw_only=True)
class StockLine:
    """What there is of one material, in its stock unit. A lot counts as quarantined before it counts as expired."""

    material_id: int
    on_hand: Decimal = ZERO
    usable: Decimal = ZERO
    expired: Decimal = ZERO
    quarantined: Decimal = ZERO
    booked: Decimal = ZERO  # what open bookings still need
    value: Decimal = ZERO  # money: each lot at its own cost
    next_expiry: date | None = None  # the first last day of use of a usable lot

    def add(self, lot: Lot, on: date) -> None:
        """Count a lot in."""
        view = lot.as_view()
        self.on_hand += lot.on_hand
        self.value += lot.value
        if view.quarantined:
            self.quarantined += lot.on_hand
        elif view.usable_until is not None and view.usable_until < on:
            self.expired += lot.on_hand
        else:
            self.usable += lot.on_hand
            ends = [day for day in (self.next_expiry, view.usable_until) if day]
            self.next_expiry = min(ends, default=None)


def stock_lines(on: date, *, lots: Iterable[Lot] | None = None) -> dict[int, StockLine]:
    """By material: what is on hand now and how much of it is usable on a day. Two queries, one where the lots are at hand.

    ``lots`` are all lots in stock, read with their state. A material without stock and without an open booking has no line.
    """
    lines: dict[int, StockLine] = {}
    for lot in Lot.objects.in_stock().with_state().order_by() if lots is None else lots:
        lines.setdefault(lot.material_id, StockLine(material_id=lot.material_id)).add(lot, on)
    for booking in Booking.objects.open().with_remaining().order_by():
        lines.setdefault(booking.material_id, StockLine(material_id=booking.material_id)).booked += booking.remaining
    return lines


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpiryShare:
    """How an expiry allowance came about: what went out of date and what was used in the last 12 months, in money."""

    lost: Decimal  # out-of-date write-offs, at their lots' cost
    used: Decimal  # issues net of returns, at their lots' cost

    @property
    def allowance(self) -> Decimal:
        """The share x of section 5 of the costing model; 0 where nothing was issued that the loss could be laid upon."""
        return self.lost / (self.lost + self.used) if self.lost > 0 and self.used > 0 else ZERO


def expiry_shares(on: date) -> dict[int, ExpiryShare]:
    """By material of which something went out of date in the last 12 months: how much, beside what was used. Two queries.

    Issues are net of returns, and what was reversed counts nowhere.
    """
    tomorrow = on + timedelta(days=1)
    year = Movement.objects.counting_in(since=_year_before(on) + timedelta(days=1), before=tomorrow)
    lost = _value_gone(year.out_of_date())
    used = _value_gone(year.standing_for(PostingKind.ISSUE, PostingKind.RETURN))
    return {pk: ExpiryShare(lost=value, used=used[pk]) for pk, value in lost.items() if value > 0}


def expiry_allowances(on: date) -> dict[int, Decimal]:
    """By material: the share x of its value that went out of date in the last 12 months. Two queries.

    x = out-of-date write-offs / (issues + out-of-date write-offs), by value; issues are net of returns, and what was reversed
    counts nowhere. A material of which nothing went out of date has no entry. Neither has one of which nothing was issued:
    without issues there is nothing that the loss could be laid upon.
    """
    return {pk: share.allowance for pk, share in expiry_shares(on).items() if share.allowance}


def _value_gone(movements: MovementQuerySet) -> dict[int, Decimal]:
    """What these movements took out of stock, by material, each at its lot's cost."""
    gone: dict[int, Decimal] = defaultdict(Decimal)
    for row in movements.order_by().values("lot__material", "unit_cost").annotate(total=Sum("quantity")):
        gone[row["lot__material"]] -= row["total"] * row["unit_cost"]
    return gone


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekHistory:
    """A material's use in complete weeks, oldest first, none below 0."""

    first: date  # Monday of the oldest
    weeks: tuple[Decimal, ...]
    came_back: tuple[date, ...] = ()  # Mondays of weeks in which more came back than went out


def weekly_demand(on: date, weeks: int = 52) -> Mapping[int, tuple[Decimal, ...]]:
    """By material: use in each of the last complete weeks before ``on``, oldest first. Two queries; see ``weekly_history``."""
    return {pk: found.weeks for pk, found in weekly_history(on, weeks).items()}


def weekly_history(on: date, weeks: int = 52, *, only: int | None = None) -> Mapping[int, WeekHistory]:
    """By material: use in each of the last complete weeks before ``on``, and in which of them more came back than went out.

    Use is issues net of returns; write-offs and count differences are none, and what was reversed counts nowhere. At most
    ``weeks`` weeks, fewer for a material whose first lot is younger. ``only`` asks for one material. Two queries.
    """
    lots = Lot.objects.order_by() if only is None else Lot.objects.order_by().filter(material=only)
    since = dict(lots.values_list("material").annotate(Min("received_on")))
    firsts = {pk: first_whole_week(on=on, weeks=weeks, since=day) for pk, day in since.items()}
    oldest = min(firsts.values(), default=on)
    moved = Movement.objects.standing_for(PostingKind.ISSUE, PostingKind.RETURN)
    rows = (
        (moved if only is None else moved.filter(lot__material=only))
        .counting_in(since=oldest, before=monday(on))
        .values_list("lot__material", "posting__on")
        .annotate(total=Sum("quantity"))
        .order_by()
    )
    used: dict[int, dict[date, Decimal]] = defaultdict(dict)
    for material_id, day, total in rows:
        used[material_id][day] = -total
    return {pk: _history(used[pk], first=first, on=on) for pk, first in firsts.items()}


def _history(used: Mapping[date, Decimal], *, first: date, on: date) -> WeekHistory:
    net = net_weeks(used, first=first, on=on)
    back = tuple(first + place * WEEK for place, week in enumerate(net) if week < 0)
    return WeekHistory(first=first, weeks=settled(net) if back else net, came_back=back)


def _year_before(on: date) -> date:
    try:
        return on.replace(year=on.year - 1)
    except ValueError:  # 29 February
        return on.replace(year=on.year - 1, day=28)
