"""Counting: what the books said at a moment, how large a difference is, and which materials are due. No Django, no clock.

The shares, intervals and bounds below are common practice, no source; change them here.
"""

from __future__ import annotations

import enum
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

ZERO = Decimal(0)

LARGE_SHARE = Decimal("0.10")
"""A difference above this share of the books is large, if it is also worth more than ``LARGE_VALUE``."""
LARGE_VALUE = Decimal(25)
"""In the shop's currency: below it nobody has to give a reason, however large the share."""
TOLERANCE = Decimal("0.02")
"""A line is accurate when it differs by no more than this share of the books."""

FINEST: Mapping[str, Decimal] = {
    "L": Decimal("0.0019"),
    "kg": Decimal("0.0005"),
    "pcs": Decimal("0.0005"),
    "m": Decimal("0.005"),
    "m²": Decimal("0.0005"),
}
"""By stock unit: what figures on pages and sheets can't tell apart. Half of their last decimal, in the coarser of the units
that a shop can choose (a thousandth of a gallon, a hundredth of a metre)."""


class CountClass(enum.StrEnum):
    """How often a material is counted: A first and most often."""

    A = "A"
    B = "B"
    C = "C"


CUMULATIVE: Mapping[CountClass, Decimal] = {CountClass.A: Decimal("0.80"), CountClass.B: Decimal("0.95")}
"""Up to which share of the yearly value of use, the most valuable first, a material belongs to its class; the rest are C."""
INTERVAL_DAYS: Mapping[CountClass, int] = {CountClass.A: 30, CountClass.B: 90, CountClass.C: 180}
"""Days from one count of a material to the next."""


# ------------------------------------------------------------ what the books said


@dataclass(frozen=True, slots=True, kw_only=True)
class BookEntry:
    """A movement of one lot. A counter-movement carries the number, moment and day of what it takes back.

    It takes back what never happened, so it counts where the mistake counted, whenever it was noticed.
    """

    number: int  # in the order in which the books took the movements of a lot
    quantity: Decimal  # stock units, above 0 into stock
    recorded_at: datetime
    on: date  # the day it counts for


@dataclass(frozen=True, slots=True, kw_only=True)
class Glance:
    """When a lot was counted: after which movement of the books, or, for a filled sheet, at which moment."""

    at: datetime
    day: date  # of ``at`` in the shop's time zone
    last: int | None = None  # the lot's last movement then; None: the moment decides

    def saw(self, entry: BookEntry) -> bool:
        """Whether a movement had happened on the shelf when the lot was counted.

        What was recorded by then had; so had what was recorded later for an earlier day.
        """
        recorded = entry.recorded_at <= self.at if self.last is None else entry.number <= self.last
        return recorded or entry.on < self.day


def book_at(on_hand: Decimal, entries: Iterable[BookEntry], glance: Glance) -> Decimal:
    """What the books say of a lot at a glance: what they say now, without what happened since.

    ``entries`` are the movements since the earliest glance; older ones may be left out.
    """
    return on_hand - sum((entry.quantity for entry in entries if not glance.saw(entry)), ZERO)


# ------------------------------------------------------------ differences


def found_difference(*, counted: Decimal, book: Decimal, finest: Decimal) -> Decimal:
    """What is added to the books; 0 where the figures read the same. An empty shelf is exact: 0 always empties the books.

    >>> found_difference(counted=Decimal("2.346"), book=Decimal("2.345678"), finest=FINEST["L"])
    Decimal('0')
    """
    off = counted - book
    return ZERO if counted and abs(off) <= finest else off


def is_large(*, counted: Decimal, book: Decimal, unit_cost: Decimal) -> bool:
    """Whether a difference needs a reason: more than ``LARGE_SHARE`` of the books, and worth more than ``LARGE_VALUE``."""
    off = abs(counted - book)
    return off > abs(book) * LARGE_SHARE and off * unit_cost > LARGE_VALUE


def is_accurate(*, counted: Decimal, book: Decimal) -> bool:
    """Whether a line agrees with the books within ``TOLERANCE``."""
    return abs(counted - book) <= abs(book) * TOLERANCE


# ------------------------------------------------------------ cycle counting


@dataclass(frozen=True, slots=True, kw_only=True)
class Stocked:
    """A material in stock, as far as it matters when it is counted next."""

    material_id: int
    yearly_value: Decimal  # money: issues net of returns in a year, at the lots' cost
    looked_on: date  # when the lot that was looked at longest ago was counted or came in
    moved_on: date | None = None  # the last day on which something moved


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """When a material is to be counted, and why."""

    material_id: int
    count_class: CountClass
    yearly_value: Decimal
    looked_on: date
    has_moved: bool  # since it was looked at
    due_on: date


def classify(yearly_values: Mapping[int, Decimal]) -> dict[int, CountClass]:
    """A, B or C by yearly value of use: who begins below 80 % of all value is A, below 95 % B, the rest and all unused C.

    >>> classify({1: Decimal(70), 2: Decimal(20), 3: Decimal(9), 4: Decimal(1)})[2].value
    'A'
    """
    ordered = sorted(yearly_values.items(), key=lambda entry: (-entry[1], entry[0]))
    total = sum((value for _, value in ordered if value > 0), ZERO)
    classes: dict[int, CountClass] = {}
    before = ZERO
    for material_id, value in ordered:
        classes[material_id] = CountClass.C
        if value > 0:
            classes[material_id] = next((c for c, share in CUMULATIVE.items() if before < total * share), CountClass.C)
            before += value
    return classes


def count_plan(stocked: Iterable[Stocked]) -> tuple[Due, ...]:
    """When each material is due: A before B before C, and the longest overdue first.

    What has not moved since it was looked at can only have been lost, so it waits for the longest interval.
    """
    materials = list(stocked)
    classes = classify({material.material_id: material.yearly_value for material in materials})
    longest = max(INTERVAL_DAYS.values())
    plan = []
    for material in materials:
        count_class = classes[material.material_id]
        has_moved = material.moved_on is not None and material.moved_on > material.looked_on
        days = INTERVAL_DAYS[count_class] if has_moved else longest
        plan.append(
            Due(
                material_id=material.material_id,
                count_class=count_class,
                yearly_value=material.yearly_value,
                looked_on=material.looked_on,
                has_moved=has_moved,
                due_on=material.looked_on + timedelta(days=days),
            )
        )
    return tuple(sorted(plan, key=lambda due: (due.count_class, due.due_on, due.material_id)))
