"""What will happen to lots that soon go out of date: which bookings can use them up, and what is likely left over.

Pure: no Django, no clock. Quantities are in the material's stock unit. Lots are drawn first expired first out. In a week
(seven days from today on, as in the projection of the reorder list) the demand is the larger of what is booked and of the usual
use (replenishment model, section 2): bookings are served on their day, overdue ones today, and what the usual use wants beyond
them is spread over the days of the week. A lot in quarantine serves nobody. A lot may still be used on its last day.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from inventory.core.lots import LotView, first_expired_first
from inventory.core.weeks import WEEK, monday

ZERO = Decimal(0)
STEP = Decimal("0.000001")
DAY = timedelta(days=1)
WEEKS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class BookedNeed:
    """What a job still needs, and when."""

    key: int  # the caller's own
    quantity: Decimal  # stock units
    on: date

    def __post_init__(self) -> None:
        if not self.quantity.is_finite() or self.quantity < 0:
            raise ValueError(f"a booking can’t be for {self.quantity}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """So much of a lot for that booking."""

    need: int
    quantity: Decimal  # above 0
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What is likely to become of a lot until its last day; ``uses``, ``usual`` and ``unused`` add up to what it holds."""

    lot_id: int
    last_day: date
    on_hand: Decimal
    uses: tuple[Use, ...]  # by bookings, in the order of their days
    usual: Decimal  # by use that nobody has booked yet
    unused: Decimal  # expected to go out of date

    @property
    def booked(self) -> Decimal:
        """What bookings can use up."""
        return sum((use.quantity for use in self.uses), ZERO)

    def is_overdue(self, today: date) -> bool:
        """True when the last day of use is over."""
        return self.last_day < today


def horizon(today: date, weeks: int = WEEKS) -> date:
    """The last day that a board of so many weeks shows: a Sunday.

    >>> horizon(date(2030, 1, 3), weeks=1)
    datetime.date(2030, 1, 6)
    """
    return monday(today) + weeks * WEEK - DAY


def outlooks(
    lots: Sequence[LotView], needs: Sequence[BookedNeed], *, weekly: Decimal, today: date, weeks: int = WEEKS
) -> tuple[Outlook, ...]:
    """For each lot of one material that ends within the weeks of the board, or has ended: what is likely to become of it.

    ``weekly`` is the usual use per week. Lots that end later, or never, play no part: they are drawn after these.

    >>> lot = LotView(lot_id=1, on_hand=Decimal(5), received_on=date(2030, 1, 1), expires_on=date(2030, 1, 10))
    >>> job = BookedNeed(key=9, quantity=Decimal(3), on=date(2030, 1, 8))
    >>> found, = outlooks([lot], [job], weekly=Decimal(0), today=date(2030, 1, 3))
    >>> found.uses[0].quantity, found.unused
    (Decimal('3'), Decimal('2.000000'))
    """
    if not weekly.is_finite() or weekly < 0:
        raise ValueError(f"the usual use can’t be {weekly} a week")
    end = horizon(today, weeks)
    ending = [lot for lot in first_expired_first(lots) if lot.usable_until and lot.usable_until <= end and lot.on_hand > 0]
    shelf = _Shelf(ending)
    by_day = _by_day(needs, today)
    day = today
    while day <= end and shelf.has_something(day):
        for need in by_day[day]:
            shelf.serve(need, day)
        shelf.take(_usual_share(by_day, weekly, today, day), day)
        day += DAY
    return tuple(shelf.outlook(lot) for lot in ending)


def _by_day(needs: Sequence[BookedNeed], today: date) -> dict[date, list[BookedNeed]]:
    days: dict[date, list[BookedNeed]] = defaultdict(list)
    for need in sorted(needs, key=lambda need: (need.on, need.key)):
        days[max(need.on, today)].append(need)
    return days


def _usual_share(by_day: dict[date, list[BookedNeed]], weekly: Decimal, today: date, day: date) -> Decimal:
    """What the usual use wants on a day beyond the bookings of its week."""
    first = today + (day - today) // WEEK * WEEK
    booked = sum((need.quantity for ahead in range(7) for need in by_day[first + ahead * DAY]), ZERO)
    return max(weekly - booked, ZERO) / 7


class _Shelf:
    """The lots while they are drawn down, the one that ends first on top."""

    def __init__(self, lots: Sequence[LotView]) -> None:
        self._lots = lots
        self._left = {lot.lot_id: lot.on_hand for lot in lots}
        self._uses: dict[int, list[Use]] = defaultdict(list)

    def has_something(self, day: date) -> bool:
        return any(lot.usable(day) and self._left[lot.lot_id] > 0 for lot in self._lots)

    def serve(self, need: BookedNeed, day: date) -> None:
        for lot_id, part in self.take(need.quantity, day):
            self._uses[lot_id].append(Use(need=need.key, quantity=part, on=day))

    def take(self, wanted: Decimal, day: date) -> list[tuple[int, Decimal]]:
        taken = []
        for lot in self._lots:
            part = min(wanted, self._left[lot.lot_id]) if lot.usable(day) else ZERO
            if part > 0:
                self._left[lot.lot_id] -= part
                wanted -= part
                taken.append((lot.lot_id, part))
        return taken

    def outlook(self, lot: LotView) -> Outlook:
        uses = tuple(self._uses[lot.lot_id])
        unused = self._left[lot.lot_id].quantize(STEP)
        usual = lot.on_hand - unused - sum((use.quantity for use in uses), ZERO)
        return Outlook(
            lot_id=lot.lot_id,
            last_day=lot.usable_until or date.max,
            on_hand=lot.on_hand,
            uses=uses,
            usual=max(usual, ZERO),
            unused=unused,
        )
