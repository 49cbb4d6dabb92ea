"""Use per week, net of what came back. Pure: no Django, no clock.

Weeks begin on Monday (ISO 8601). Only complete weeks count (replenishment model, section 2).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal

WEEK = timedelta(days=7)
ZERO = Decimal(0)


def monday(day: date) -> date:
    """The first day of the day's week.

    >>> monday(date(2030, 1, 3))
    datetime.date(2029, 12, 31)
    """
    return day - timedelta(days=day.weekday())


def first_whole_week(*, on: date, weeks: int, since: date) -> date:
    """The Monday on which a history of at most ``weeks`` complete weeks before ``on`` begins, for something known ``since``."""
    known = since if since == monday(since) else monday(since) + WEEK
    return max(monday(on) - weeks * WEEK, known)


def net_weeks(used: Mapping[date, Decimal], *, first: date, on: date) -> tuple[Decimal, ...]:
    """Net use in each complete week from Monday ``first`` to before the week of ``on``, oldest first.

    ``used`` is the net use by day. A week in which more came back than went out is below 0.
    """
    weeks = [ZERO] * max((monday(on) - first) // WEEK, 0)
    for day, quantity in used.items():
        place = (day - first) // WEEK
        if 0 <= place < len(weeks):
            weeks[place] += quantity
    return tuple(weeks)


def settled(weeks: Sequence[Decimal]) -> tuple[Decimal, ...]:
    """The same weeks, none below 0: what came back beyond a week's use was taken earlier, so it lessens the weeks before.

    Latest first. What is left when the oldest week is reached was taken before it, and is dropped.

    >>> settled((Decimal(5), Decimal(-2)))
    (Decimal('3'), Decimal('0'))
    """
    found = list(weeks)
    owed = ZERO
    for place in reversed(range(len(found))):
        net = found[place] - owed
        found[place], owed = max(net, ZERO), max(-net, ZERO)
    return tuple(found)


def weekly_use(used: Mapping[date, Decimal], *, first: date, on: date) -> tuple[Decimal, ...]:
    """Use in each complete week from Monday ``first`` to before the week of ``on``, oldest first; never below 0.

    >>> days = {date(2030, 1, 7): Decimal(5), date(2030, 1, 15): Decimal(-2)}
    >>> weekly_use(days, first=date(2030, 1, 7), on=date(2030, 1, 21))
    (Decimal('3'), Decimal('0'))
    """
    return settled(net_weeks(used, first=first, on=on))
