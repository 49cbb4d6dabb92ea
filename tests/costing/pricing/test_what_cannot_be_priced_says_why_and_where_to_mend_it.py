"""A system that lacks a fact is told in words with the page that mends it; the others are priced all the same."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import CoatComponent, EstimateOption, Operation
from costing.services.estimating import CannotPriceError, PricedOption, PricingProblem, UnpricedOption, price, price_all
from finishing.models import User
from inventory.models import Pack
from tests.costing.pricing.door_shop import DoorShop, material

D = Decimal


def problems(doors: DoorShop) -> tuple[PricingProblem, ...]:
    """Why the system cannot be priced."""
    with pytest.raises(CannotPriceError) as caught:
        price(doors.estimate, doors.system)
    return caught.value.problems


def test_a_material_without_a_usual_pack(doors: DoorShop) -> None:
    Pack.objects.filter(material=doors.hardener).update(is_usual=False)
    assert problems(doors) == (
        PricingProblem(
            text="“Hardener” has no usual pack, so its price is not known.",
            url=reverse("pack_new", args=[doors.hardener.pk]),
            link_words="Enter a pack and tick that it is the usual one",
        ),
    )


def test_every_missing_price_is_told_at_once(doors: DoorShop) -> None:
    Pack.objects.update(is_usual=False)
    assert [problem.text.partition("”")[0] for problem in problems(doors)] == ["“Base", "“Hardener", "“Liner", "“Cleaner"]


def test_a_dry_film_of_unknown_volume_solids(doors: DoorShop) -> None:
    doors.base.volume_solids = None
    doors.base.save()
    (problem,) = problems(doors)
    assert problem.text.startswith("Volume solids of “Base” is not known: enter them from the technical data sheet")
    assert (problem.url, problem.link_words) == (reverse("material_edit", args=[doors.base.pk]), "Mend Base")


def test_a_material_kept_by_mass_without_density(doors: DoorShop) -> None:
    doors.base.stock_unit, doors.base.density = "kg", None
    doors.base.save()
    (problem,) = problems(doors)
    assert "“Base”" in problem.text
    assert "kg/L" in problem.text


def test_figures_of_a_material_that_contradict_each_other(doors: DoorShop) -> None:
    doors.base.density, doors.base.voc = D("0.8"), D(1200)
    doors.base.save()
    (problem,) = problems(doors)
    assert problem.text.startswith("“Base”: VOC content of 1200 g/L is heavier than the material itself")
    assert problem.url == reverse("material_edit", args=[doors.base.pk])


def test_a_coat_without_anything_in_its_mix(doors: DoorShop) -> None:
    CoatComponent.objects.all().delete()
    (problem,) = problems(doors)
    assert problem.text == "“Clear coat” of Clear finish: mix has no parts: give at least one material with its parts by volume."
    assert problem.url == reverse("operation_edit", args=[Operation.objects.get().pk])


def test_a_hardener_used_as_a_supply(doors: DoorShop) -> None:
    Operation.objects.get().supply_lines.update(material=doors.hardener)
    (problem,) = problems(doors)
    assert "“Hardener” is part of a film, not a supply" in problem.text


def test_a_row_that_has_nothing_to_finish(doors: DoorShop) -> None:
    doors.estimate.rows.update(faces=0, long_edges=0, short_edges=0)
    (problem,) = problems(doors)
    assert problem.text.startswith("Row 1, “Door”: faces and edges leave nothing to finish")
    assert problem.url == reverse("takeoff", args=[doors.estimate.pk])


@pytest.mark.parametrize("margin", [D(1), D("1.5")])
def test_a_margin_of_the_whole_price(doors: DoorShop, margin: Decimal) -> None:
    doors.estimate.margin = margin
    (problem,) = problems(doors)
    assert "give less than 100 %" in problem.text
    assert problem.url == reverse("estimate_edit", args=[doors.estimate.pk])


def test_a_margin_of_the_whole_price_in_the_shop_s_settings(doors: DoorShop) -> None:
    doors.shop.margin = D(1)
    with pytest.raises(CannotPriceError) as caught:
        price(doors.estimate, doors.system, shop=doors.shop)
    assert caught.value.problems[0].url == reverse("shop_settings")


def test_the_other_systems_are_priced_all_the_same(doors: DoorShop) -> None:
    unknown = doors.add_system("Unknown")
    CoatComponent.objects.filter(operation__system=unknown, position=1).update(material=material("new", "coating"))
    EstimateOption.objects.create(estimate=doors.estimate, position=2, system=unknown)
    first, second = price_all(doors.estimate)
    assert isinstance(first, PricedOption)
    assert isinstance(second, UnpricedOption)
    assert second.problems[0].text == "“New” has no usual pack, so its price is not known."


def test_the_page_names_the_material_and_links_to_it(doors: DoorShop, as_: Callable[[User], Client], estimator: User) -> None:
    Pack.objects.filter(material=doors.base).update(is_usual=False)
    page = as_(estimator).get(reverse("estimate", args=[doors.estimate.pk]))
    assert page.status_code == 200
    assert "“Base” has no usual pack" in page.text
    assert f'href="{reverse("pack_new", args=[doors.base.pk])}"' in page.text
    breakdown = as_(estimator).get(reverse("estimate_option", args=[doors.estimate.pk, doors.system.pk]))
    assert breakdown.url == reverse("estimate", args=[doors.estimate.pk])  # type: ignore[attr-defined]
