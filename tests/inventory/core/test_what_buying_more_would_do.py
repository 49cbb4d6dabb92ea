"""What if so many packs were bought instead: how long they last, and what of them would spoil."""

from __future__ import annotations

from decimal import Decimal

import pytest

from inventory.core.facts import PackFacts
from tests.inventory.core.advising import CANS, coming, day, lot, need, reckon

D = Decimal


def test_more_packs_last_longer() -> None:
    advice = reckon(lot(3))
    nothing, one, two = (advice.if_bought(D(quantity)) for quantity in (0, 5, 10))
    assert (nothing.days, one.days, two.days) == (10, 28, 45)  # 3, 8 and 13 L at 2 a week: 10.5, 28 and 45.5 days
    assert one.lasts_until == day(27)
    assert one.arrives_on == day(7)


def test_what_lasts_beyond_two_years_has_no_end() -> None:
    assert reckon(lot(3), weekly=0.01).if_bought(D(5)).days is None


def test_running_short_before_the_delivery_is_said() -> None:
    found = reckon(lot(1)).if_bought(D(5))  # 1 L lasts 3.5 days, the delivery takes 7
    assert found.short_before == day(3)
    assert found.days == 21  # 6 L at 2 a week, the first of which was owed
    assert reckon(lot(3)).if_bought(D(5)).short_before is None


def test_what_can_not_be_used_in_time_is_expected_to_spoil() -> None:
    advice = reckon(lead=7, shelf=35)
    assert advice.if_bought(D(10)).spoils == 0  # 5 weeks use 10 L
    assert advice.if_bought(D(25)).spoils == 15
    assert advice.if_bought(D(25)).days == 43  # the last day of use is day 42


def test_the_curve_with_the_purchase_covers_the_same_days() -> None:
    advice = reckon(lot(3))
    bought = advice.if_bought(D(5)).projection
    assert [one.on for one in bought.path] == [one.on for one in advice.projection.path]
    assert [one.arrived for one in bought.path if one.arrived] == [5]
    assert bought.path[8].usable == pytest.approx(advice.projection.path[8].usable + 5)


def test_what_is_on_order_and_booked_counts_too() -> None:
    plain = reckon(lot(3)).if_bought(D(5)).days
    more = reckon(lot(3), arrivals=(coming(7, 20),)).if_bought(D(5)).days
    less = reckon(lot(3), needs=(need(4, 10),)).if_bought(D(5)).days
    assert plain is not None
    assert more is not None
    assert less is not None
    assert less < plain < more


def test_any_numbers_of_packs_have_their_cost() -> None:
    pail = PackFacts(key=2, supplier=1, content=D(20), price=D(760))
    elsewhere = PackFacts(key=3, supplier=2, content=D(5), price=D(200))
    advice = reckon(lot(3), packs=(*CANS, pail, elsewhere))
    found = advice.priced({1: 2, 2: 1})
    assert found is not None
    assert (found.cost, found.quantity) == (2 * 225 + 760, 30)
    assert found.total == found.cost + found.delivery + found.holding + found.expiry
    assert advice.priced({1: 0}) is None
    with pytest.raises(ValueError, match="one supplier"):
        advice.priced({1: 1, 3: 1})
