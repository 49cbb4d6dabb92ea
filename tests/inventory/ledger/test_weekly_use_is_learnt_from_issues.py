"""``weekly_demand``: issues net of returns by complete week; nothing else is demand."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.weeks import WEEK, first_whole_week, monday, weekly_use
from inventory.models import Material
from inventory.selectors import weekly_demand
from tests.inventory.ledger.counter import Counter, today
from tests.strategies import days

A_MONDAY = date(2030, 1, 7)
database = pytest.mark.database


def test_weeks_begin_on_monday() -> None:
    assert [monday(A_MONDAY + timedelta(days=number)) for number in (-1, 0, 6)] == [A_MONDAY - WEEK, A_MONDAY, A_MONDAY]


@pytest.mark.parametrize(
    ("since", "first"),
    [
        (A_MONDAY, A_MONDAY),
        (A_MONDAY + timedelta(days=1), A_MONDAY + WEEK),
        (A_MONDAY - timedelta(days=1), A_MONDAY),
        (A_MONDAY - 99 * WEEK, A_MONDAY - 2 * WEEK),
    ],
)
def test_a_history_begins_with_the_first_whole_week_and_is_no_longer_than_asked(since: date, first: date) -> None:
    assert first_whole_week(on=A_MONDAY + 2 * WEEK, weeks=4, since=since) == first


def used(**by_day: str) -> dict[date, Decimal]:
    """Use by number of days after the Monday, written d0, d8 and so on."""
    return {A_MONDAY + timedelta(days=int(day[1:])): Decimal(value) for day, value in by_day.items()}


def test_days_fall_into_their_weeks_and_idle_weeks_count() -> None:
    on = A_MONDAY + 3 * WEEK
    assert weekly_use(used(d0="1", d6="2", d7="4", d20="0"), first=A_MONDAY, on=on) == (3, 4, 0)


def test_the_week_under_way_and_days_before_the_history_are_left_out() -> None:
    on = A_MONDAY + WEEK + timedelta(days=3)
    assert weekly_use(used(d3="1", d8="9") | {A_MONDAY - WEEK: Decimal(7)}, first=A_MONDAY, on=on) == (1,)


def test_what_came_back_later_lessens_the_weeks_before_it() -> None:
    on = A_MONDAY + 4 * WEEK
    assert weekly_use(used(d0="5", d7="1", d15="-2", d21="1"), first=A_MONDAY, on=on) == (4, 0, 0, 1)


def test_a_history_that_has_not_begun_is_empty() -> None:
    assert weekly_use({}, first=A_MONDAY + WEEK, on=A_MONDAY) == ()


@given(st.dictionaries(days(first=A_MONDAY, spread=69), st.integers(-9, 20).map(Decimal), max_size=20))
def test_no_week_is_negative_and_the_total_stays_unless_more_came_back_than_was_taken(by_day: dict[date, Decimal]) -> None:
    weeks = weekly_use(by_day, first=A_MONDAY, on=A_MONDAY + 10 * WEEK)
    assert len(weeks) == 10
    assert all(week >= 0 for week in weeks)
    running, lowest = Decimal(0), Decimal(0)
    for day in sorted(by_day, key=monday):
        running += by_day[day]
    for start in range(10):
        before = sum((value for day, value in by_day.items() if (day - A_MONDAY) // WEEK <= start), Decimal(0))
        lowest = min(lowest, before)
    assert sum(weeks) == running - lowest


def in_week(back: int, day: int = 2) -> date:
    """A day of the week that lies so many weeks before this one."""
    return monday(today()) - back * WEEK + timedelta(days=day)


@database
@pytest.mark.django_db
def test_issues_net_of_returns_by_week_oldest_first(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "50", on=in_week(4, 0))
    counter.issue(clear, "3", on=in_week(4))
    counter.issue(clear, "2", on=in_week(2, 0))
    counter.issue(clear, "2.5", on=in_week(2, 6))
    counter.give_back(lot, "1", on=in_week(2, 6))
    counter.issue(clear, "9", on=today())
    assert weekly_demand(today()) == {clear.pk: (3, 0, Decimal("3.5"), 0)}
    assert weekly_demand(today(), weeks=2) == {clear.pk: (Decimal("3.5"), 0)}


@database
@pytest.mark.django_db
def test_write_offs_are_no_demand_and_reversals_take_theirs_away(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "50", on=in_week(3, 0))
    counter.write_off(lot, "5", on=in_week(3))
    wrong = counter.issue(clear, "8", on=in_week(3))
    counter.issue(clear, "1", on=in_week(3))
    counter.reverse(wrong, on=in_week(1))
    spilled = counter.write_off(lot, "2", on=in_week(2))
    counter.reverse(spilled, on=in_week(2))
    back = counter.give_back(lot, "1", on=in_week(2))
    counter.reverse(back, on=today())
    assert weekly_demand(today()) == {clear.pk: (1, 0, 0)}


@database
@pytest.mark.django_db
def test_a_younger_material_has_a_shorter_history(counter: Counter, clear: Material, thinner: Material) -> None:
    counter.receive(clear, "50", on=in_week(3, 1))
    counter.receive(thinner, "50", on=in_week(1, 0))
    counter.receive(thinner, "50", on=today())
    counter.issue(thinner, "2", on=in_week(1))
    assert weekly_demand(today()) == {clear.pk: (0, 0), thinner.pk: (2,)}
