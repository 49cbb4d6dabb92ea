"""More systems, rows and materials make no more queries."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from costing.models import CoatComponent, EstimateOption
from costing.services.estimating import price_all
from finishing.models import User
from tests.costing.pricing.door_shop import DoorShop, material


def grow(doors: DoorShop) -> None:
    """Three more systems with materials of their own, ten more rows."""
    for number in range(2, 5):
        system = doors.add_system(f"System {number}")
        own = material(f"own{number}", "coating", pack=("5", "80"), volume_solids=30)
        CoatComponent.objects.create(operation=system.operations.get(), position=3, material=own, parts=1)
        EstimateOption.objects.create(estimate=doors.estimate, position=number, system=system)
    for _ in range(10):
        doors.add_doors(doors.estimate)


def count(act: Callable[[], object]) -> int:
    """How many queries an act makes."""
    with CaptureQueriesContext(
        connection,
    ) as caught:
        act()
    return len(caught)


def test_pricing_every_option(doors: DoorShop) -> None:
    few = count(lambda: price_all(doors.estimate))
    grow(doors)
    assert len(price_all(doors.estimate)) == 4
    assert count(lambda: price_all(doors.estimate)) == few
    assert few <= 13


@pytest.mark.parametrize("name", ["estimate", "estimate_chart", "quote_new"])
def test_the_pages_of_an_estimate(doors: DoorShop, as_: Callable[[User], Client], estimator: User, name: str) -> None:
    browser, url = as_(estimator), reverse(name, args=[doors.estimate.pk])
    few = count(lambda: browser.get(url))
    grow(doors)
    assert count(lambda: browser.get(url)) == few


def test_the_breakdown_of_one_system(doors: DoorShop, as_: Callable[[User], Client], estimator: User) -> None:
    browser, url = as_(estimator), reverse("estimate_option", args=[doors.estimate.pk, doors.system.pk])
    few = count(lambda: browser.get(url))
    grow(doors)
    assert count(lambda: browser.get(url)) == few
