"""The costing model's worked example, from rows of the database to the price with tax."""

from __future__ import annotations

from decimal import Decimal

import pytest

from costing.services.estimating import PricedOption, price, price_all
from tests.costing.pricing.door_shop import DoorShop

D = Decimal


@pytest.fixture
def option(doors: DoorShop) -> PricedOption:
    """The one option of the worked example."""
    found = price_all(doors.estimate)[0]
    assert isinstance(found, PricedOption)
    return found


def test_its_litres_are_those_of_the_model(option: PricedOption) -> None:
    coat = option.result.operations[0].coat
    assert coat is not None
    assert option.result.takeoff.area == pytest.approx(15.320436, abs=1e-9)
    assert coat.wet_film == pytest.approx(110)
    assert coat.spray_minutes == pytest.approx(45.961308, abs=1e-9)
    assert (coat.batches, coat.fills) == (1, 5)
    assert coat.on_surface == pytest.approx(1.68524796, abs=1e-9)
    assert coat.sprayed == pytest.approx(2.592689169, abs=1e-9)
    assert coat.mixed == pytest.approx(2.792689169, abs=1e-9)
    assert [part.drawn for part in coat.components] == [pytest.approx(2.538808336), pytest.approx(0.253880834)]


def test_its_groups_add_up_to_the_true_cost_as_worked_by_hand(option: PricedOption) -> None:
    # A litre of the mix costs (10 × 20 + 50) / 11; 84.961308 min of work, 65.961308 min in the booth, 0.5 L to dispose of.
    worked = {
        "film": "38.30", "overspray": "20.62", "residue": "4.55", "heel": "0.00", "expiry": "0.00", "cleaner": "0.90",
        "abrasives": "0.00", "disposables": "3.50", "labour": "35.40", "booth": "49.47", "disposal": "1.25", "rework": "4.62",
        "overhead": "28.32",
    }  # fmt: skip
    assert {line.group.value: line.amount for line in option.shown.lines} == {group: D(x) for group, x in worked.items()}
    assert option.shown.true_cost == D("186.93")
    assert option.shown.cost_per_m2 == D("12.20")


def test_its_price_keeps_the_margin_and_climbs_to_the_step(option: PricedOption) -> None:
    assert option.price.calculated == D("311.55")  # 186.93 / 0.6
    assert (option.price.net, option.price.tax, option.price.total) == (D("315.00"), D("59.85"), D("374.85"))


def test_its_time_is_work_and_drying(option: PricedOption) -> None:
    assert option.result.labour_minutes == pytest.approx(45.961308 + 5 * 2 + 5 + 24)
    assert option.result.elapsed_minutes == pytest.approx(84.961308 + 240)


def test_one_system_is_priced_like_all_of_them(doors: DoorShop, option: PricedOption) -> None:
    assert price(doors.estimate, doors.system).price == option.price


def test_an_estimate_with_its_own_margin_uses_it(doors: DoorShop) -> None:
    doors.estimate.margin = D("0.5")
    assert price(doors.estimate, doors.system).price.calculated == D("373.86")


def test_a_price_below_the_minimum_charge_is_lifted_to_it(doors: DoorShop) -> None:
    doors.shop.minimum_charge = D(500)
    assert price(doors.estimate, doors.system, shop=doors.shop).price.net == D("500.00")
