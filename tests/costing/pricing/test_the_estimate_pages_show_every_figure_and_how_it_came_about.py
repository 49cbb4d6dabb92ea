"""The overview, the breakdown and the workings of an estimate, and who may see them."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from xml.etree import ElementTree

import pytest
from django.test import Client
from django.urls import reverse

from costing.core.explain import explain, explain_price
from costing.models import Estimate, EstimateOption
from costing.services.estimating import price
from costing.views.workings import PARTS, workings_of
from finishing.models import User
from tests.costing.pricing.door_shop import DoorShop, set_shop

D = Decimal
Browser = Callable[[User], Client]


def test_the_overview_shows_the_systems_side_by_side(doors: DoorShop, as_: Browser, estimator: User) -> None:
    thick = doors.add_system("Thick finish", dry_film=D(60))
    EstimateOption.objects.create(estimate=doors.estimate, position=2, system=thick)
    page = as_(estimator).get(reverse("estimate", args=[doors.estimate.pk])).text
    for figure in ("Clear finish", "Thick finish", "€186.93", "€12.20/m²", "€315.00", "€374.85", "15.32 m²", "1 h 25 min"):
        assert figure in page
    assert reverse("estimate_chart", args=[doors.estimate.pk]) in page
    assert "it does not state compliance" in page


def test_voc_is_compared_with_the_limit_that_the_shop_entered(doors: DoorShop, as_: Browser, estimator: User) -> None:
    page = as_(estimator).get(reverse("estimate", args=[doors.estimate.pk])).text
    # (10 × 500 + 400) / 11 = 490.91 g/L, 70.91 above the limit of 420.
    assert "490.91 g/L" in page
    assert "70.91 g/L above" in page


def test_the_caution_of_a_hardener_stands_beside_its_price(doors: DoorShop, as_: Browser, estimator: User) -> None:
    page = as_(estimator).get(reverse("estimate_option", args=[doors.estimate.pk, doors.system.pk])).text
    assert "Here: Hardener." in page
    assert "safety data sheet" in page


def test_a_shop_that_reads_us_units_sees_feet_and_gallons(doors: DoorShop, as_: Browser, estimator: User) -> None:
    set_shop(unit_system="us")
    page = as_(estimator).get(reverse("estimate_option", args=[doors.estimate.pk, doors.system.pk])).text
    assert "€1.13/ft² (€12.20/m²)" in page
    assert "164.91 ft²" in page
    assert "0.738 gal" in page


def test_the_chart_is_an_image_of_its_own(doors: DoorShop, as_: Browser, estimator: User) -> None:
    answer = as_(estimator).get(reverse("estimate_chart", args=[doors.estimate.pk]))
    assert answer["Content-Type"] == "image/svg+xml"
    drawn = ElementTree.fromstring(answer.content)  # noqa: S314 - drawn by the program itself
    words = "".join(drawn.itertext())
    assert "Clear finish" in words
    assert "187" in words  # the bar's sum


def test_every_working_of_the_core_stands_in_one_part(doors: DoorShop) -> None:
    option = price(doors.estimate, doors.system)
    shown = [working.key for slug in PARTS for working in workings_of(option, slug)]
    assert sorted(shown) == sorted({**explain(option.result), **explain_price(option.price)})


@pytest.mark.parametrize("part", PARTS)
def test_every_part_has_its_page_of_workings(doors: DoorShop, as_: Browser, estimator: User, part: str) -> None:
    url = reverse("estimate_workings", args=[doors.estimate.pk, doors.system.pk, part])
    breakdown = as_(estimator).get(reverse("estimate_option", args=[doors.estimate.pk, doors.system.pk])).text
    assert f'hx-get="{url}"' in breakdown
    page = as_(estimator).get(url).text
    assert page.count("<details") >= len(workings_of(price(doors.estimate, doors.system), part)) > 0


def test_a_working_shows_formula_numbers_and_the_shown_result(doors: DoorShop, as_: Browser, estimator: User) -> None:
    page = as_(estimator).get(reverse("estimate_workings", args=[doors.estimate.pk, doors.system.pk, "coats"])).text
    assert "V_mix = V_spray + V_res" in page
    assert "2.792689 L" in page
    assert "Costing model, section 4." in page


def test_an_unknown_part_and_a_system_of_another_estimate_are_not_found(doors: DoorShop, as_: Browser, estimator: User) -> None:
    other = doors.add_system("Other")
    browser = as_(estimator)
    assert browser.get(reverse("estimate_workings", args=[doors.estimate.pk, doors.system.pk, "secrets"])).status_code == 404
    assert browser.get(reverse("estimate_option", args=[doors.estimate.pk, other.pk])).status_code == 404


def test_an_estimate_without_pieces_asks_for_the_takeoff(doors: DoorShop, as_: Browser, estimator: User) -> None:
    doors.estimate.rows.all().delete()
    page = as_(estimator).get(reverse("estimate", args=[doors.estimate.pk]))
    assert "Nothing is measured yet" in page.text
    assert "Write a quote" not in page.text


def test_an_estimate_without_systems_asks_for_one(doors: DoorShop, as_: Browser, estimator: User) -> None:
    bare = Estimate.objects.create(name="Bare")
    doors.add_doors(bare)
    page = as_(estimator).get(reverse("estimate", args=[bare.pk])).text
    assert "No coating system chosen" in page
    assert "15.32 m²" in page


@pytest.mark.parametrize("name", ["estimate", "estimate_chart", "estimate_option", "cost_sheet_pdf", "cost_sheet_xlsx"])
def test_costs_are_for_those_who_may_see_them(
    doors: DoorShop, as_: Browser, client: Client, finisher: User, office: User, name: str
) -> None:
    args = [doors.estimate.pk] if name in {"estimate", "estimate_chart"} else [doors.estimate.pk, doors.system.pk]
    url = reverse(name, args=args)
    assert client.get(url).status_code == 302
    assert as_(finisher).get(url).status_code == 403
    assert as_(office).get(url).status_code == 200


def test_an_office_sees_no_way_to_edit(doors: DoorShop, as_: Browser, office: User) -> None:
    page = as_(office).get(reverse("estimate", args=[doors.estimate.pk])).text
    assert "Edit the takeoff" not in page
    assert "Write a quote" in page


def test_the_schedule_is_drawn_over_the_working_days(doors: DoorShop, as_: Browser, estimator: User) -> None:
    url = reverse("estimate_schedule", args=[doors.estimate.pk, doors.system.pk])
    browser = as_(estimator)
    page = browser.get(reverse("estimate_option", args=[doors.estimate.pk, doors.system.pk])).text
    assert url in page
    # 1 h 25 min of work; 5 h 25 min after the first morning began it can be stacked.
    assert "day 1, 5 h 25 min" in page
    answer = browser.get(url)
    assert answer["Content-Type"] == "image/svg+xml"
    words = "".join(ElementTree.fromstring(answer.content).itertext())  # noqa: S314 - drawn by the program itself
    for name in ("Clear coat", "Booth", "Rack", "day 1", "drying"):
        assert name in words


def test_what_is_bought_is_told_apart_from_what_is_used(doors: DoorShop, as_: Browser, estimator: User) -> None:
    page = as_(estimator).get(reverse("estimate_option", args=[doors.estimate.pk, doors.system.pk])).text
    # 2.538808 L of base of a can of 5 L for 100: 50.78 used, 49.22 left.
    for words in ("Bought and used", "1 × 5 L", "€50.78", "2.461 L", "€49.22"):
        assert words in page
