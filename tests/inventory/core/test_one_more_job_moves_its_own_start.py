"""When a job could start follows from the stock, what is on order, an order of today, and what others have booked."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from inventory.core.facts import Facts, PackFacts, Supply
from inventory.core.projection import Arrival, Need, StockLot
from inventory.core.reorder import advise
from inventory.core.what_if import Effect, effect

D = Decimal
TODAY = date(2030, 6, 3)
CAN = PackFacts(key=1, supplier=1, content=D(5), price=D(50))


def day(offset: int) -> date:
    return TODAY + timedelta(days=offset)


def asked(quantity: str, *, start: int, **more: object) -> Effect:
    """A job over a shelf of 10 L of which nothing is used otherwise; an order takes 7 days."""
    given = {
        "today": TODAY,
        "supply": Supply(lead_days=7, usual=1),
        "entered": 0.0,
        "entered_deviation": 0.0,
        "lots": (StockLot(on_hand=D(10)),),
        "packs": (CAN,),
        "usual_pack": 1,
        **more,
    }
    return effect(advise(Facts(**given)), Need(quantity=D(quantity), on=day(start)))  # type: ignore[arg-type]


def test_what_is_here_starts_on_the_day() -> None:
    found = asked("10", start=2)
    assert (found.earliest, found.days_late, found.runs_short) == (day(2), 0, False)


def test_what_is_short_waits_for_an_order_of_today() -> None:
    found = asked("11", start=2)
    assert (found.earliest, found.days_late) == (day(7), 5)
    assert found.runs_short
    assert found.after.short_on == day(2)
    assert found.after.order_by == TODAY
    assert found.after.choice is not None
    assert found.after.choice.quantity == 5


def test_a_start_after_the_delivery_is_not_moved() -> None:
    found = asked("11", start=9)
    assert found.days_late == 0
    assert found.after.order_by == day(2)


def test_what_is_on_order_may_come_sooner() -> None:
    found = asked("11", start=2, arrivals=(Arrival(quantity=D(1), on=day(4)),))
    assert found.earliest == day(4)


def test_what_others_have_booked_is_not_taken_from_them() -> None:
    found = asked("6", start=1, needs=(Need(quantity=D(5), on=day(3)),))
    assert found.earliest == day(7)
    later = asked("6", start=1, needs=(Need(quantity=D(5), on=day(8)),))
    assert later.earliest == day(1)  # an order of today is here for the other job


def test_what_goes_out_of_date_before_the_start_does_not_count() -> None:
    lots = (StockLot(on_hand=D(10), usable_until=day(3)),)
    assert asked("6", start=3, lots=lots).days_late == 0
    assert asked("6", start=4, lots=lots).earliest == day(7)


def test_the_start_of_what_nobody_sells_can_t_be_told() -> None:
    found = asked("11", start=2, packs=(), usual_pack=None)
    assert (found.earliest, found.days_late) == (None, None)
    assert asked("10", start=2, packs=(), usual_pack=None).days_late == 0


def test_a_shop_that_is_short_anyway_is_no_worse_for_a_job_after_the_delivery() -> None:
    found = asked("1", start=8, needs=(Need(quantity=D(12), on=day(1)),))
    assert found.before.short_on == day(1)
    assert (found.days_late, found.runs_short) == (0, False)


@pytest.mark.parametrize("start", [100, 400])
def test_a_start_beyond_the_horizon_is_looked_at_too(start: int) -> None:
    found = asked("11", start=start)
    assert found.after.short_on == day(start)
    assert found.days_late == 0
