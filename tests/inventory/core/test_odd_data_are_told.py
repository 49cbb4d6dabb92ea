"""Data that make no sense are told, and keep nothing else from being reckoned."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from inventory.core.facts import PackFacts
from inventory.core.findings import Finding, Trouble
from inventory.core.reorder import Advice
from tests.inventory.core.advising import CANS, TODAY, day, lot, reckon

D = Decimal


def told(advice: Advice) -> dict[Trouble, Finding]:
    return {finding.trouble: finding for finding in advice.findings}


def test_sound_data_are_not_remarked_upon() -> None:
    assert told(reckon(lot(3), weeks=(1, 2, 0, 4, 2, 3), shelf=365, last_movement=TODAY)) == {}


def test_a_lead_time_of_no_days_is_reckoned_with_and_told() -> None:
    advice = reckon(lead=0)
    assert Trouble.ZERO_LEAD_TIME in told(advice)
    assert advice.point.protection_days == 7


def test_a_missing_lead_time_is_assumed_and_told() -> None:
    advice = reckon(lead=None)
    assert told(advice)[Trouble.NO_LEAD_TIME].figure == 7
    assert advice.point.protection_days == 14
    assert told(reckon(lead=None, observed=(3, 4, 5))) == {}


@pytest.mark.parametrize("content", ["0", "-1", "NaN"])
def test_a_pack_that_holds_nothing_is_left_out(content: str) -> None:
    empty = PackFacts(key=9, supplier=1, content=D(content), price=D(1))
    advice = reckon(packs=(*CANS, empty))
    assert (told(advice)[Trouble.EMPTY_PACK].pack, told(advice)[Trouble.EMPTY_PACK].stops) == (9, False)
    assert [offer.key for offer in advice.offers] == [1]
    alone = reckon(packs=(empty,))
    assert told(alone)[Trouble.EMPTY_PACK].stops
    assert (alone.must_order, alone.choice) == (True, None)


@pytest.mark.parametrize("price", [None, D(0), D("NaN"), D(-1)])
def test_a_pack_without_a_price_is_not_taken_for_a_gift(price: Decimal | None) -> None:
    gift = PackFacts(key=9, supplier=1, content=D(5), price=price)
    advice = reckon(packs=(*CANS, gift))
    assert told(advice)[Trouble.NO_PRICE].pack == 9
    assert advice.choice is not None
    assert {line.pack.key for line in advice.choice.lines} == {1}


def test_a_shelf_life_shorter_than_the_lead_time_is_told() -> None:
    advice = reckon(lead=14, shelf=10)
    assert (told(advice)[Trouble.SHORT_LIFE].figure, told(advice)[Trouble.SHORT_LIFE].beside) == (10, 14)
    assert advice.choice is not None  # it can still be bought for what is used at once
    assert Trouble.SHORT_LIFE not in told(reckon(lead=14, shelf=14))


def test_what_is_out_of_date_on_arrival_is_not_bought() -> None:
    advice = reckon(lead=14, shelf=30, age=30)
    assert told(advice)[Trouble.OLD_ON_ARRIVAL].stops
    assert advice.choice is None


def test_more_coming_back_than_went_out_lessens_the_weeks_before() -> None:
    advice = reckon(weeks=(5, 4, -3, 2, 1))
    finding = told(advice)[Trouble.CAME_BACK]
    assert (finding.on, finding.figure) == (TODAY - timedelta(weeks=3), 1)
    assert advice.demand.weeks_with_use == 4
    assert advice.demand.rate * 5 < 12  # 5 + 1 + 0 + 2 + 1, smoothed


def test_one_enormous_week_is_told() -> None:
    weeks = (2.0, 3.0, 0.0, 250.0, 1.0, 2.0)
    finding = told(reckon(weeks=weeks))[Trouble.ENORMOUS_WEEK]
    assert (finding.on, finding.figure, finding.beside) == (TODAY - timedelta(weeks=3), 250, 2)
    assert Trouble.ENORMOUS_WEEK not in told(reckon(weeks=tuple(min(week, 20) for week in weeks)))


def test_the_week_is_dated_rightly_in_a_history_longer_than_a_year() -> None:
    weeks = (1.0,) * 60 + (50.0,) + (1.0,) * 3
    assert told(reckon(weeks=weeks))[Trouble.ENORMOUS_WEEK].on == TODAY - timedelta(weeks=4)


def test_packs_entered_in_two_units_are_told() -> None:
    gallon = PackFacts(key=2, supplier=1, content=D(1), price=D(170))  # 45 a litre makes 170 a gallon
    advice = reckon(packs=(*CANS, gallon))
    finding = told(advice)[Trouble.TWO_UNITS]
    assert (finding.pack, finding.other) == (2, 1)
    assert finding.figure == pytest.approx(170 / 45)
    assert Trouble.TWO_UNITS not in told(reckon(packs=(*CANS, replace(gallon, content=D("3.785")))))


def test_a_pack_that_says_something_else_than_was_entered_is_told() -> None:
    gallon = PackFacts(key=2, supplier=1, content=D(1), price=D(45), says=D("3.785411784"))
    assert told(reckon(packs=(gallon,)))[Trouble.SAYS_OTHERWISE].pack == 2
    assert told(reckon(packs=(replace(gallon, content=D("3.78")),))) == {}


def test_a_clock_that_was_set_back_is_told() -> None:
    assert told(reckon(last_movement=day(3)))[Trouble.CLOCK_BACK].on == day(3)
    assert told(reckon(last_movement=day(0))) == {}


@pytest.mark.parametrize("target", [0.0, 1.0, -2.0, 7.0])
def test_an_impossible_service_target_is_told_and_the_usual_one_taken(target: float) -> None:
    advice = reckon(target=target, deviation=1)
    assert told(advice)[Trouble.BAD_TARGET].figure == target
    assert advice.point.target == 0.95


def test_a_negative_expected_use_is_left_out() -> None:
    advice = reckon(weekly=-1)
    assert told(advice)[Trouble.BAD_RATE].figure == -1
    assert advice.knows_nothing
