"""The expiry board: what goes out of date and when, what it is worth, which jobs can use it up, what is likely left over.

Reads only, in a constant number of queries.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from inventory.core.expiry_board import WEEKS, BookedNeed, Outlook, horizon, outlooks
from inventory.core.weeks import WEEK, monday
from inventory.lot_states import ends_before, open_lives
from inventory.models import Booking, Lot
from inventory.reorder import demand_of
from inventory.selectors import weekly_demand

ZERO = Decimal(0)
LATER = 2  # jobs after a lot's last day that its line names


@dataclass(frozen=True, slots=True, kw_only=True)
class JobUse:
    """So much of a lot for the job that has booked it."""

    booking: Booking
    quantity: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardLine:
    """A lot on the board."""

    lot: Lot
    outlook: Outlook
    jobs: tuple[JobUse, ...]
    later: tuple[Booking, ...] = ()  # jobs that need the material after the lot's last day: they could use what is left, earlier

    @property
    def unused_value(self) -> Decimal:
        """What is expected to go out of date, at the lot's cost."""
        return self.outlook.unused * self.lot.unit_cost


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardWeek:
    """The lots whose last day of use lies in a week, or, before today, all that are overdue."""

    starts: date
    ends: date
    lines: tuple[BoardLine, ...]

    @property
    def value(self) -> Decimal:
        """All of it, at the lots' own cost."""
        return sum((line.lot.value for line in self.lines), ZERO)

    @property
    def unused_value(self) -> Decimal:
        """What is expected to go out of date, at the lots' own cost."""
        return sum((line.unused_value for line in self.lines), ZERO)


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """The board of a day."""

    on: date
    overdue: BoardWeek
    weeks: tuple[BoardWeek, ...]

    @property
    def ahead(self) -> BoardWeek:
        """All weeks to come as one."""
        lines = tuple(line for week in self.weeks for line in week.lines)
        return BoardWeek(starts=self.weeks[0].starts, ends=self.weeks[-1].ends, lines=lines)

    @property
    def is_empty(self) -> bool:
        """True when nothing is overdue and nothing ends in the weeks to come."""
        return not self.overdue.lines and not self.ahead.lines


def expiry_board(on: date, *, weeks: int = WEEKS) -> Board:
    """The lots in stock whose last day of use is over, or comes within so many weeks."""
    end = horizon(on, weeks)
    lots: dict[int, list[Lot]] = defaultdict(list)
    for lot in Lot.objects.in_stock().filter(ends_before(end + timedelta(days=1), open_lives())).with_state():
        lots[lot.material_id].append(lot)
    bookings, history = _bookings(list(lots)), weekly_demand(on)
    lines = [
        line for pk, of in lots.items() for line in _lines(of, bookings[pk], history=history.get(pk, ()), on=on, weeks=weeks)
    ]
    lines.sort(key=lambda line: (line.outlook.last_day, line.lot.material.name, line.lot.pk))
    return Board(
        on=on,
        overdue=BoardWeek(starts=date.min, ends=on - timedelta(days=1), lines=_between(lines, date.min, on - timedelta(days=1))),
        weeks=tuple(_week(lines, monday(on) + number * WEEK, on) for number in range(weeks)),
    )


def _week(lines: Sequence[BoardLine], starts: date, on: date) -> BoardWeek:
    ends = starts + timedelta(days=6)
    return BoardWeek(starts=starts, ends=ends, lines=_between(lines, max(starts, on), ends))


def _between(lines: Sequence[BoardLine], first: date, last: date) -> tuple[BoardLine, ...]:
    return tuple(line for line in lines if first <= line.outlook.last_day <= last)


def _bookings(materials: Sequence[int]) -> Mapping[int, list[Booking]]:
    found: dict[int, list[Booking]] = defaultdict(list)
    for booking in Booking.objects.open().filter(material__in=materials).with_remaining():
        found[booking.material_id].append(booking)
    return found


def _lines(
    lots: Sequence[Lot], bookings: Sequence[Booking], *, history: Sequence[Decimal], on: date, weeks: int
) -> list[BoardLine]:
    by_pk, booked = {lot.pk: lot for lot in lots}, {booking.pk: booking for booking in bookings}
    demand = demand_of(lots[0].material, history)
    found = outlooks(
        [lot.as_view() for lot in lots],
        [BookedNeed(key=booking.pk, quantity=booking.remaining, on=booking.needed_on) for booking in bookings],
        weekly=Decimal(str(round(demand.rate, 6))) if demand else ZERO,
        today=on,
        weeks=weeks,
    )
    return [
        BoardLine(
            lot=by_pk[one.lot_id],
            outlook=one,
            jobs=tuple(JobUse(booking=booked[use.need], quantity=use.quantity) for use in one.uses),
            later=_later(by_pk[one.lot_id], one, bookings, on),
        )
        for one in found
    ]


def _later(lot: Lot, outlook: Outlook, bookings: Sequence[Booking], on: date) -> tuple[Booking, ...]:
    """The next jobs that could use what is left of a lot, were they done before its last day."""
    if not outlook.unused or outlook.is_overdue(on) or lot.is_set_aside:
        return ()
    after = [booking for booking in bookings if booking.needed_on > outlook.last_day and booking.remaining]
    return tuple(sorted(after, key=lambda booking: (booking.needed_on, booking.pk))[:LATER])
