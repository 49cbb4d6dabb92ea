"""The page of an estimate's risk: P10, P50, P90, the chance of a loss at a price, and what drives the spread."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from xml.etree import ElementTree

import pytest
from django.test import Client
from django.urls import reverse

from costing.core.spreads import Uncertain
from costing.services.estimating import price
from costing.services.risk import assess
from finishing.models import User
from tests.costing.pricing.door_shop import DoorShop

D = Decimal
Browser = Callable[[User], Client]
NONE = {kind.value: "0" for kind in Uncertain}


def url(doors: DoorShop, name: str = "estimate_risk") -> str:
    return reverse(name, args=[doors.estimate.pk, doors.system.pk])


def test_the_page_tells_the_figures_of_the_draws(doors: DoorShop, as_: Browser, estimator: User) -> None:
    option = price(doors.estimate, doors.system)
    risk = assess(option)
    page = as_(estimator).get(url(doors)).text
    assert risk.p10 < risk.p50 < risk.p90
    assert risk.p10 < option.result.true_cost < risk.p90
    assert f"Eight of ten such jobs cost between €{risk.p10:.2f} and €{risk.p90:.2f}" in page
    assert "At €315.00 before tax, 0 % of them would lose money." in page
    assert f"Most of the spread comes from {risk.influences[0].words}" in page
    for words in ("Transfer efficiency, Gravity cup", "Wet film, Clear coat", "Time of work, Finisher", "Price, Base"):
        assert words in page


def test_the_estimate_s_own_page_shows_the_range_and_the_chance(doors: DoorShop, as_: Browser, estimator: User) -> None:
    risk = assess(price(doors.estimate, doors.system))
    page = as_(estimator).get(reverse("estimate", args=[doors.estimate.pk])).text
    assert f"€{risk.p10:.2f} to €{risk.p90:.2f}" in page
    assert "Chance of a loss" in page


def test_a_lower_price_loses_more_often(doors: DoorShop, as_: Browser, estimator: User) -> None:
    browser = as_(estimator)
    at_cost = browser.get(url(doors), {**NONE, "work": "20", "price_tested": "186.93"}).context["risk"]
    below = browser.get(url(doors), {**NONE, "work": "20", "price_tested": "160"}).context["risk"]
    assert 0.4 < at_cost.loss < 0.6
    assert below.loss > 0.9


def test_a_certain_job_has_no_spread(doors: DoorShop, as_: Browser, estimator: User) -> None:
    page = as_(estimator).get(url(doors), NONE).text
    assert "Nothing is uncertain here: every such job costs €186.9" in page


def test_only_what_is_uncertain_drives_the_spread(doors: DoorShop, as_: Browser, estimator: User) -> None:
    risk = as_(estimator).get(url(doors), {**NONE, "area": "5"}).context["risk"]
    assert [one.words for one in risk.influences] == ["measured area"]
    assert risk.influences[0].share > 0.8


@pytest.mark.parametrize(
    ("change", "words"),
    [({"work": "-1"}, "between 0 and 100 %"), ({"film": "101"}, "between 0 and 100 %"), ({"area": "x"}, "can’t be read"),
     ({"price": ""}, "Fill this in."), ({"price_tested": "-5"}, "0 or more")],
)  # fmt: skip
def test_a_spread_without_sense_is_refused_at_its_field(
    doors: DoorShop, as_: Browser, estimator: User, change: dict[str, str], words: str
) -> None:
    answer = as_(estimator).get(url(doors), {**NONE, **change})
    assert answer.status_code == 422
    assert words in answer.text
    chart = as_(estimator).get(url(doors, "estimate_risk_chances"), {**NONE, **change})
    assert chart.status_code == 302


@pytest.mark.parametrize("name", ["estimate_risk_chances", "estimate_risk_drivers"])
def test_both_charts_are_images_of_their_own(doors: DoorShop, as_: Browser, estimator: User, name: str) -> None:
    answer = as_(estimator).get(url(doors, name))
    assert answer["Content-Type"] == "image/svg+xml"
    drawn = "".join(ElementTree.fromstring(answer.content).itertext())  # noqa: S314 - drawn by the program itself
    assert re.search("P90|Transfer efficiency", drawn)


@pytest.mark.parametrize("name", ["estimate_risk", "estimate_risk_chances", "estimate_risk_drivers"])
def test_costs_are_for_those_who_may_see_them(
    doors: DoorShop, as_: Browser, client: Client, finisher: User, office: User, name: str
) -> None:
    assert client.get(url(doors, name)).status_code == 302
    assert as_(finisher).get(url(doors, name)).status_code == 403
    assert as_(office).get(url(doors, name)).status_code == 200


def test_a_system_that_cannot_be_priced_leads_back_to_the_estimate(doors: DoorShop, as_: Browser, estimator: User) -> None:
    doors.base.packs.all().delete()
    assert as_(estimator).get(url(doors)).url == reverse("estimate", args=[doors.estimate.pk])
