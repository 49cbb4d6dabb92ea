"""Usable stock followed day by day (replenishment model, section 3). Pure: no Django, no clock, no numpy.

On a day first what arrives comes in, then what is past its last day of use goes out, then the day's demand is taken,
first expired first out. A lot may still be used on its last day.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

DAYS_A_WEEK = 7
NOISE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class StockLot:
    """What a lot holds and the last day on which it may be used."""

    on_hand: Decimal
    usable_until: date | None = None
    key: int | None = None  # the caller's own

    def __post_init__(self) -> None:
        if not self.on_hand.is_finite() or self.on_hand < 0:
            raise ValueError("a lot holds 0 or more")


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """An open order line: comes on its promised day, an overdue one is looked for today."""

    quantity: Decimal
    on: date
    usable_until: date | None = None  # last day of use: promised day + shelf life - the supplier's usual age at delivery
    key: int | None = None

    def __post_init__(self) -> None:
        if not self.quantity.is_finite() or self.quantity < 0:
            raise ValueError("what arrives is 0 or more")


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """Booked by a job for a day."""

    quantity: Decimal
    on: date

    def __post_init__(self) -> None:
        if not self.quantity.is_finite() or self.quantity < 0:
            raise ValueError("a booking is 0 or more")


@dataclass(frozen=True, slots=True, kw_only=True)
class Unused:
    """What is expected to be left of a lot when its last day of use is over."""

    quantity: Decimal
    last_day: date
    lot: int | None = None  # key of the lot or of the arrival


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """One point of the path."""

    on: date
    usable: float  # after the day's demand; below 0: what has gone short in all
    arrived: float
    expired: float
    booked: float
    wanted: float  # booked and background together


@dataclass(frozen=True, slots=True, kw_only=True)
class Projection:
    """The path of usable stock, and what follows from it."""

    path: tuple[Day, ...]
    short_on: date | None  # the first day on which more is wanted than there is
    unused: tuple[Unused, ...]  # by lot, in order of their last day
    usable_now: Decimal

    def expires_unused(self, *, until: date | None = None) -> Decimal:
        """What goes out of date by ``until`` (whole horizon without it): last days before that day count."""
        return sum((one.quantity for one in self.unused if until is None or one.last_day < until), Decimal(0))

    def until(self, days: int) -> Projection:
        """The same over the first days only."""
        path = self.path[:days]
        ends = path[-1].on
        unused = tuple(one for one in self.unused if one.last_day < ends)
        short_on = self.short_on if self.short_on is not None and self.short_on <= ends else None
        return Projection(path=path, short_on=short_on, unused=unused, usable_now=self.usable_now)

    def usable_on(self, day: date) -> float:
        """Usable stock at the end of a day of the path."""
        return self.path[(day - self.path[0].on).days].usable


def daily_demand(needs: Sequence[Need], *, weekly: float, today: date, days: int) -> list[float]:
    """Demand of each day: in a week it is the larger of booked and background (replenishment model, section 2).

    A week is seven days from today on. Bookings fall on their day, overdue ones on today; what the background rate wants
    beyond them is spread over the week.

    >>> daily_demand([Need(quantity=Decimal(4), on=date(2030, 1, 2))], weekly=7, today=date(2030, 1, 1), days=3)
    [0.42857142857142855, 4.428571428571429, 0.42857142857142855]
    """
    booked = booked_by_day(needs, today=today, days=math.ceil(days / DAYS_A_WEEK) * DAYS_A_WEEK)
    demand = []
    for start in range(0, len(booked), DAYS_A_WEEK):
        week = booked[start : start + DAYS_A_WEEK]
        rest = max(0.0, weekly - sum(week)) / DAYS_A_WEEK
        demand += [amount + rest for amount in week]
    return demand[:days]


def booked_by_day(needs: Sequence[Need], *, today: date, days: int) -> list[float]:
    """What jobs have booked for each of the next days; overdue bookings fall on today."""
    booked = [0.0] * days
    for need in needs:
        offset = max((need.on - today).days, 0)
        if offset < days:
            booked[offset] += float(need.quantity)
    return booked


def project(
    lots: Sequence[StockLot],
    needs: Sequence[Need],
    *,
    weekly: float,
    today: date,
    days: int,
    arrivals: Sequence[Arrival] = (),
) -> Projection:
    """Follow usable stock over ``days`` from today, first expired first out (replenishment model, section 3)."""
    if days < 1:
        raise ValueError("a projection covers at least one day")
    usable_now = sum((lot.on_hand for lot in lots if lot.usable_until is None or lot.usable_until >= today), Decimal(0))
    shelf = [_Portion(0, lot.usable_until, float(lot.on_hand), lot.key) for lot in lots if _usable(lot.usable_until, today)]
    for arrival in arrivals:
        comes = max((arrival.on - today).days, 0)
        if comes < days and _usable(arrival.usable_until, today + timedelta(days=comes)):
            shelf.append(_Portion(comes, arrival.usable_until, float(arrival.quantity), arrival.key))
    shelf.sort(key=lambda portion: portion.until or date.max)
    booked = booked_by_day(needs, today=today, days=days)
    coming = {portion.comes for portion in shelf}
    path: list[Day] = []
    unused: list[Unused] = []
    short_on: date | None = None
    here = lacking = 0.0
    for offset, wanted in enumerate(daily_demand(needs, weekly=weekly, today=today, days=days)):
        day = today + timedelta(days=offset)
        came = sum(portion.left for portion in shelf if portion.comes == offset) if offset in coming else 0.0
        expired = _expire(shelf, day, unused)
        here += came - expired
        rest = wanted + lacking
        taken = _take(shelf, rest, offset) if here > 0 and rest > 0 else 0.0
        here, rest = max(here - taken, 0.0), rest - taken
        lacking = rest if rest > NOISE else 0.0
        if lacking:
            short_on = short_on or day
        arrived = came if offset else 0.0
        path.append(Day(on=day, usable=here - lacking, arrived=arrived, expired=expired, booked=booked[offset], wanted=wanted))
    return Projection(path=tuple(path), short_on=short_on, unused=tuple(unused), usable_now=usable_now)


class _Portion:
    """A lot, or an arrival, while the projection draws it down."""

    __slots__ = ("comes", "key", "left", "until")

    def __init__(self, comes: int, until: date | None, left: float, key: int | None) -> None:
        self.comes, self.until, self.left, self.key = comes, until, left, key


def _take(shelf: list[_Portion], wanted: float, offset: int) -> float:
    """Take so much of what is here, first expired first; what is used up leaves the shelf."""
    rest = wanted
    emptied = False
    for portion in shelf:
        if rest <= 0:
            break
        if portion.comes <= offset:
            taken = min(portion.left, rest)
            portion.left -= taken
            rest -= taken
            emptied = emptied or portion.left <= 0
    if emptied:
        shelf[:] = [portion for portion in shelf if portion.left > 0]
    return wanted - rest


def _usable(until: date | None, day: date) -> bool:
    return until is None or until >= day


def _expire(shelf: list[_Portion], day: date, unused: list[Unused]) -> float:
    """Take out what was last usable before ``day``; the shelf is sorted, so the search ends at the first good one."""
    expired = 0.0
    while shelf and shelf[0].until is not None and shelf[0].until < day:
        gone = shelf.pop(0)
        if gone.left > NOISE:
            expired += gone.left
            unused.append(Unused(quantity=Decimal(str(round(gone.left, 6))), last_day=gone.until or day, lot=gone.key))
    return expired
