"""A job typed in inches, mils and gallons costs to the last digit what it costs typed in millimetres, microns and litres."""

from __future__ import annotations

from decimal import Decimal

import pytest

from costing.models import Estimate
from costing.services.estimating import price
from finishing.forms import MeasureField
from finishing.models import Shop
from finishing.units import Kind, UnitSystem
from tests.costing.pricing.door_shop import DoorShop, set_shop

D = Decimal


def typed(kind: Kind, system: UnitSystem, text: str) -> Decimal:
    """What a form of that unit system makes of a text."""
    return MeasureField(kind=kind, system=system).clean(text)


def estimate_of(doors: DoorShop, system: UnitSystem, texts: tuple[str, str, str]) -> Estimate:
    """24 doors with sizes typed in a unit system."""
    estimate = doors.add_estimate(f"typed in {system}")
    names = ("length", "width", "thickness")
    sizes = {name: typed(Kind.LENGTH, system, text) for name, text in zip(names, texts, strict=True)}
    estimate.rows.update(**sizes)
    return estimate


@pytest.mark.parametrize(
    ("inches", "millimetres"),
    [(("28 1/8", "15 5/8", "3/4"), ("714.375", "396.875", "19.05")), (("28", "2 ft", "0.75 in"), ("711.2", "609.6", "19.05"))],
)
def test_sizes_typed_either_way_cost_the_same(
    doors: DoorShop, inches: tuple[str, str, str], millimetres: tuple[str, str, str]
) -> None:
    us = price(estimate_of(doors, UnitSystem.US, inches), doors.system)
    metric = price(estimate_of(doors, UnitSystem.METRIC, millimetres), doors.system)
    assert us.result.groups == metric.result.groups
    assert us.price == metric.price


def test_films_and_cups_typed_either_way_cost_the_same(doors: DoorShop) -> None:
    thick = {"us": typed(Kind.FILM, UnitSystem.US, "4"), "metric": typed(Kind.FILM, UnitSystem.METRIC, "101.6")}
    cup = {"us": typed(Kind.VOLUME, UnitSystem.US, "20 fl oz"), "metric": typed(Kind.VOLUME, UnitSystem.METRIC, "0.59147059125")}
    costs = set()
    for name in ("us", "metric"):
        doors.setup.cup_capacity = cup[name]
        doors.setup.save()
        system = doors.add_system(name, dry_film=None, wet_film=thick[name])
        costs.add(price(doors.estimate, system).result.true_cost)
    assert len(costs) == 1


def test_the_units_that_a_shop_reads_change_no_price(doors: DoorShop) -> None:
    metric = price(doors.estimate, doors.system)
    set_shop(unit_system=UnitSystem.US)
    assert Shop.current().units is UnitSystem.US
    assert price(doors.estimate, doors.system).price == metric.price
