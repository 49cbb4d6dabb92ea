"""What is on order is counted from the day on which it is promised, not as if it were here."""

from __future__ import annotations

import pytest

from tests.inventory.core.advising import TODAY, coming, day, lot, reckon


def test_it_is_no_stock_today() -> None:
    advice = reckon(lot(3), arrivals=(coming(20, 5),))
    assert (advice.usable, advice.on_order, advice.in_time) == (3, 20, 20)
    assert [one.usable for one in advice.projection.path[4:6]] == pytest.approx([3 - 5 * 2 / 7, 23 - 6 * 2 / 7])
    assert not advice.must_order


def test_what_comes_after_the_protection_time_can_not_help_in_it() -> None:
    advice = reckon(lot(3), arrivals=(coming(20, 60),))
    assert (advice.on_order, advice.in_time) == (20, 0)
    assert advice.must_order
    assert advice.wanted == 1  # up to the reorder point of 4 only: the rest is on its way
    assert advice.short_on == day(10)


def test_what_is_late_does_not_hide_that_it_runs_short_before() -> None:
    advice = reckon(lot(3), arrivals=(coming(20, 13),))
    assert advice.short_on == day(10)
    assert advice.must_order  # days 10 to 12 can still be reached by an order of today
    assert float(advice.wanted) == pytest.approx(26 / 7 - 3, abs=1e-6)  # what is missing at the end of the 13th day


def test_what_no_order_of_today_can_reach_is_told_and_not_bought_for() -> None:
    advice = reckon(arrivals=(coming(20, 5),))  # nothing here for five days; the lead time is seven
    assert advice.short_on == TODAY
    assert not advice.must_order


def test_what_is_out_of_date_when_it_comes_does_not_count() -> None:
    advice = reckon(lot(3), arrivals=(coming(20, 5, until=4),))
    assert (advice.on_order, advice.must_order) == (0, True)
