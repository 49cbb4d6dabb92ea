"""The page that compares systems: the answer in words, its tables and charts, and what it refuses."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any
from xml.etree import ElementTree

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from costing.models import CoatComponent, CoatingSystem, Estimate
from costing.services.estimating import price
from finishing.models import User
from inventory.choices import PriceSource
from inventory.models import Pack
from inventory.services.prices import set_price
from tests.costing.pricing.door_shop import TODAY, DoorShop, material, set_shop

D = Decimal
Browser = Callable[[User], Client]


@pytest.fixture
def thick(doors: DoorShop) -> CoatingSystem:
    """The same finish half as thick again: dearer at every size."""
    return doors.add_system("Thick finish", dry_film=D(60))


def asked(*systems: CoatingSystem, **values: Any) -> dict[str, Any]:
    """A question as the form sends it."""
    return {
        "system": [system.pk for system in systems],
        "estimate": "",
        "piece": "0.5",
        "hidden": "",
        "low": "2",
        "high": "100",
        "at": "20",
        "on": "",
        **values,
    }


def page_of(browser: Client, question: dict[str, Any], name: str = "comparison") -> HttpResponse:
    return browser.get(reverse(name), question)


def test_the_answer_stands_on_top_in_words(doors: DoorShop, thick: CoatingSystem, as_: Browser, estimator: User) -> None:
    doors.estimate.options.create(position=2, system=thick)
    page = page_of(as_(estimator), {"estimate": doors.estimate.pk}).text
    cost, dearer = (price(doors.estimate, system).result.true_cost for system in (doors.system, thick))
    assert "At 15.32 m², Clear finish is the cheapest of 2 systems: €12.20 per m², €186.93 for the whole job." in page
    assert f"The next, Thick finish, costs €{(dearer - cost) / D('15.320436'):.2f} per m² more" in page
    assert "Job size: Clear finish stays the cheapest from 3.1 m² to 77 m²." in page
    assert "more or fewer of them. Materials at today’s prices" in page


def test_the_size_at_which_one_overtakes_the_other_is_told(doors: DoorShop, as_: Browser, estimator: User) -> None:
    # Thinner film, but a fixed hour of masking at 25 for labour, 20 for overhead and 0.75 for rework.
    masked = doors.add_system("Masked finish", dry_film=D(20))
    masked.operations.get().time_lines.create(label="Mask", driver="operation", minutes=D(60))
    page = page_of(as_(estimator), asked(doors.system, masked, at="5")).text
    assert "At 5 m², Clear finish is the cheapest of 2 systems" in page
    assert "Job size: up to about" in page
    assert "above that Masked finish" in page
    found = page_of(as_(estimator), asked(doors.system, masked, at="5")).context["compared"].comparison
    lead = found.leads()[1]
    assert lead.candidate.name == "Masked finish"
    for size, cheapest in ((lead.area * 0.9, "Clear finish"), (lead.area * 1.1, "Masked finish")):
        again = page_of(as_(estimator), asked(doors.system, masked, at=f"{size:.3f}"))
        assert again.context["compared"].ranked[0][0].name == cheapest


def test_a_shop_that_reads_us_units_is_answered_in_them(
    doors: DoorShop, thick: CoatingSystem, as_: Browser, estimator: User
) -> None:
    set_shop(unit_system="us")
    page = page_of(as_(estimator), asked(doors.system, thick, low="20", at="200", high="1000")).text
    assert "At 200 ft², Clear finish is the cheapest" in page
    assert "per ft²" in page
    assert "lb/1,000 ft²" in page
    assert "50 ft²" in page  # a round size of the table


def test_the_prices_of_a_past_day_are_those_that_held_then(doors: DoorShop, as_: Browser, estimator: User) -> None:
    pack = Pack.objects.get(material=doors.base)
    day = TODAY() - timedelta(days=100)
    set_price(pack=pack, price=D(80), valid_from=day - timedelta(days=10), source=PriceSource.ENTERED, by=doors.by)
    set_price(pack=pack, price=D(100), valid_from=TODAY() - timedelta(days=5), source=PriceSource.ENTERED, by=doors.by)
    browser = as_(estimator)
    then = page_of(browser, asked(doors.system, on=day.isoformat())).context["compared"].ranked[0][1].cost
    now = page_of(browser, asked(doors.system)).context["compared"].ranked[0][1].cost
    Pack.objects.filter(pk=pack.pk).update(price=D(80))
    cheaper = page_of(browser, asked(doors.system)).context["compared"].ranked[0][1].cost
    assert then == cheaper < now


def test_a_day_before_the_first_known_price_says_which_is_missing(doors: DoorShop, as_: Browser, estimator: User) -> None:
    pack = Pack.objects.get(material=doors.base)
    set_price(pack=pack, price=D(100), valid_from=TODAY() - timedelta(days=5), source=PriceSource.ENTERED, by=doors.by)
    pack.prices.filter(valid_from__lt=TODAY() - timedelta(days=5)).delete()
    page = page_of(as_(estimator), asked(doors.system, on=(TODAY() - timedelta(days=50)).isoformat())).text
    assert "What “Base” cost on" in page
    assert "is not known." in page
    assert "None of these systems can be priced yet." in page


def test_a_system_that_cannot_be_priced_leaves_the_others_standing(doors: DoorShop, as_: Browser, estimator: User) -> None:
    odd = doors.add_system("Odd finish")
    bare = material("bare", "coating", volume_solids=D(30))
    CoatComponent.objects.create(operation=odd.operations.get(), position=3, material=bare, parts=1)
    page = page_of(as_(estimator), asked(doors.system, odd)).text
    assert "“Bare” has no usual pack" in page
    assert "Clear finish costs" in page


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"system": []}, "Tick at least one system"),
        ({"high": "2"}, "Give a larger area than that of the smallest job."),
        ({"at": "200"}, "Give an area from 2 m² to 100 m²."),
        ({"low": "0"}, "This must be 0.1 m² or more."),
        ({"low": "x"}, "x"),
        ({"piece": ""}, "Give the area of one piece, or choose an estimate."),
        ({"on": (TODAY() + timedelta(days=1)).isoformat()}, "Prices of a day to come are not known."),
        ({"on": "1999-12-31"}, "Choose a day from"),
        ({"estimate": "99999"}, "Choose one of those listed"),
    ],
)
def test_a_question_without_sense_is_refused_at_its_field(
    doors: DoorShop, as_: Browser, estimator: User, change: dict[str, Any], words: str
) -> None:
    answer = page_of(as_(estimator), asked(doors.system, **change))
    assert answer.status_code == 422
    assert words in answer.text
    assert answer.context["form"].errors


def test_an_estimate_without_pieces_is_refused(doors: DoorShop, as_: Browser, estimator: User) -> None:
    bare = Estimate.objects.create(name="Bare")
    answer = page_of(as_(estimator), asked(doors.system, estimate=bare.pk))
    assert "Nothing is measured in this estimate yet." in answer.text


def test_a_shop_without_systems_is_told_where_to_begin(db: None, as_: Browser, estimator: User) -> None:
    page = as_(estimator).get(reverse("comparison"))
    assert page.status_code == 200
    assert "No coating system yet" in page.text


@pytest.mark.parametrize(("name", "words"), [("comparison_lines", "job size"), ("comparison_bars", "Labour")])
def test_the_charts_are_images_of_their_own(
    doors: DoorShop, thick: CoatingSystem, as_: Browser, estimator: User, name: str, words: str
) -> None:
    answer = page_of(as_(estimator), asked(doors.system, thick), name)
    assert answer["Content-Type"] == "image/svg+xml"
    drawn = "".join(ElementTree.fromstring(answer.content).itertext())  # noqa: S314 - drawn by the program itself
    assert words in drawn
    assert "Thick finish" in drawn


@pytest.mark.parametrize("name", ["comparison_lines", "comparison_bars", "comparison_pdf", "comparison_xlsx"])
def test_what_cannot_be_answered_leads_back_to_the_question(doors: DoorShop, as_: Browser, estimator: User, name: str) -> None:
    answer = page_of(as_(estimator), asked(doors.system, high="1"), name)
    assert answer.status_code == 302
    assert "high=1" in answer["Location"]


@pytest.mark.parametrize("name", ["comparison", "comparison_lines", "comparison_bars", "comparison_pdf", "comparison_xlsx"])
def test_costs_are_for_those_who_may_see_them(
    doors: DoorShop, as_: Browser, client: Client, finisher: User, office: User, name: str
) -> None:
    url = reverse(name)
    assert client.get(url).status_code == 302
    assert as_(finisher).get(url).status_code == 403
    assert as_(office).get(url).status_code == 200


def test_more_systems_make_no_more_queries(doors: DoorShop, thick: CoatingSystem, as_: Browser, estimator: User) -> None:
    browser = as_(estimator)

    def count(*systems: CoatingSystem) -> int:
        with CaptureQueriesContext(connection) as caught:
            assert page_of(browser, asked(*systems)).status_code == 200
        return len(caught)

    few = count(doors.system, thick)
    more = [doors.add_system(f"System {number}") for number in range(4)]
    assert count(doors.system, thick, *more) == few


def test_the_form_asks_which_figures_to_reckon_with(doors: DoorShop, as_: Browser, estimator: User) -> None:
    browser = as_(estimator)
    assert "as it is set, since no coat is logged with it" in page_of(browser, asked(doors.system, figures="learnt")).text
    assert "From the log" not in page_of(browser, asked(doors.system, figures="stated")).text
    assert page_of(browser, asked(doors.system, figures="guessed")).status_code == 422


def test_it_says_that_what_was_changed_for_one_job_is_left_out(
    doors: DoorShop, thick: CoatingSystem, as_: Browser, estimator: User
) -> None:
    doors.estimate.options.create(position=2, system=thick)
    question = {"estimate": doors.estimate.pk}
    assert "alone is left out here" not in page_of(as_(estimator), question).text
    doors.estimate.assumptions.create(kind="overhead", of=0, value=D("0.5"))
    assert f"What was changed for {doors.estimate.number} alone is left out here" in page_of(as_(estimator), question).text
