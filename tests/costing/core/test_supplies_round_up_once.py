"""Supply lines: drivers, whole units and cost groups (costing model, sections 3 and 5)."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing.core.facts import MaterialKind, StockUnit
from costing.core.system import CostGroup, Driver, Operation, OperationKind, SupplyLine, TimeLine
from costing.core.uses import SUPPLY_GROUPS
from tests.costing.core.workshop import ABRADE, RATES, SHELF, SPRAY, facts, reckon, spray, system_of


def with_supplies(*lines, operation=SPRAY):
    return replace(operation, supply_lines=lines)


def use_of(result, key):
    return next(use for use in result.supply_uses if use.material.key == key)


def test_whole_units_are_summed_over_the_system_before_rounding():
    line = SupplyLine(material="disc", amount=0.4, whole_units=True)
    three_times = reckon(system_of(*(with_supplies(line, operation=ABRADE) for _ in range(3))))
    assert use_of(three_times, "disc").quantity == 2  # 1.2 discs, not 3 times one disc


def test_whole_units_forgive_floating_point_noise():
    line = SupplyLine(material="disc", amount=0.1, whole_units=True)
    ten_times = reckon(system_of(*(with_supplies(line, operation=ABRADE) for _ in range(30))))
    assert use_of(ten_times, "disc").quantity == 3  # 30 × 0.1 adds up to 3.0000000000000013


def test_other_supplies_are_charged_as_they_are():
    line = SupplyLine(material="disc", amount=0.4)
    assert use_of(reckon(system_of(with_supplies(line))), "disc").quantity == pytest.approx(0.4)


def test_whole_and_exact_lines_of_one_material_add_up():
    lines = (SupplyLine(material="disc", amount=0.4, whole_units=True), SupplyLine(material="disc", amount=0.25))
    use = use_of(reckon(system_of(with_supplies(*lines))), "disc")
    assert use.quantity == pytest.approx(1.25)
    assert use.needed == pytest.approx(0.65)
    assert use.cost == Decimal("0.75")


@pytest.mark.parametrize(
    ("driver", "value"),
    [
        (Driver.OPERATION, 1),
        (Driver.M2, 10),
        (Driver.PIECE, 10),
        (Driver.BATCH, 1),
        (Driver.FILL, 4),
        (Driver.LABOUR_HOUR, 43 / 60),
        (Driver.OVERSPRAY_KG, 0.474),
    ],
)
def test_each_driver_stands_for_its_figure(driver, value):
    use = use_of(reckon(system_of(with_supplies(SupplyLine(material="filter", amount=2, driver=driver)))), "filter")
    assert use.quantity == pytest.approx(2 * value)


@pytest.mark.parametrize(
    ("driver", "minutes"), [(Driver.OPERATION, 3), (Driver.M2, 30), (Driver.PIECE, 30), (Driver.BATCH, 3), (Driver.FILL, 12)]
)
def test_time_lines_come_on_top_of_the_coat_s_own_time(driver, minutes):
    operation = spray(time_lines=(TimeLine(minutes=3, driver=driver),))
    assert reckon(system_of(operation)).labour_minutes == pytest.approx(43 + minutes)


@pytest.mark.parametrize("driver", [Driver.BATCH, Driver.FILL, Driver.OVERSPRAY_KG])
def test_what_only_a_coat_has_is_nothing_elsewhere(driver):
    line = SupplyLine(material="filter", amount=5, driver=driver)
    assert use_of(reckon(system_of(with_supplies(line, operation=ABRADE))), "filter").quantity == 0


def test_an_operation_is_charged_once_whatever_its_area():
    # The driver `operation` is 1 for what is no coat, so setting up costs the same on a single piece.
    masking = Operation(name="Mask", kind=OperationKind.MASK, labour_class="helper", time_lines=(TimeLine(minutes=30),))
    assert reckon(system_of(masking)).groups[CostGroup.LABOUR] == Decimal(9)


@pytest.mark.parametrize(("kind", "group"), [(kind, group) for kind, group in SUPPLY_GROUPS.items()])
def test_the_kind_of_material_decides_the_group(kind, group):
    shelf = {**SHELF, "thing": facts("thing", kind, price=Decimal(7), unit=StockUnit.PIECE)}
    result = reckon(system_of(with_supplies(SupplyLine(material="thing", amount=1), operation=ABRADE)), shelf=shelf)
    supplies = {CostGroup.CLEANER, CostGroup.ABRASIVES, CostGroup.DISPOSABLES}
    assert result.groups[group] == 7
    assert all(result.groups[other] == 0 for other in supplies - {group})


def test_abrasives_cleaners_and_disposables_are_told_apart():
    assert SUPPLY_GROUPS[MaterialKind.ABRASIVE] is CostGroup.ABRASIVES
    assert SUPPLY_GROUPS[MaterialKind.CLEANER] is CostGroup.CLEANER
    assert SUPPLY_GROUPS[MaterialKind.THINNER] is CostGroup.CLEANER
    assert SUPPLY_GROUPS[MaterialKind.LINER] is CostGroup.DISPOSABLES


def test_cleaner_is_disposed_of_by_the_litre():
    with_wash = reckon(system_of(SPRAY))
    without = reckon(system_of(spray()))
    difference = with_wash.groups[CostGroup.DISPOSAL] - without.groups[CostGroup.DISPOSAL]
    assert difference == Decimal("0.5") * RATES.disposal_fee


def test_cleaner_stocked_by_mass_is_disposed_of_by_its_density():
    shelf = {**SHELF, "wash": replace(SHELF["wash"], unit=StockUnit.KILOGRAM, density=0.8)}
    result = reckon(system_of(SPRAY), shelf=shelf)
    assert result.cleaner_litres == pytest.approx(0.625)
    assert result.voc_kg == pytest.approx((1040 + 260 + 0.625 * 800) / 1000 * 0.75)
