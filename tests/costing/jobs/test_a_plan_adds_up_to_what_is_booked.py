"""The steps of a plan add up, to the ledger's step, to what the estimate says the job needs."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costing.core.estimate import estimate
from costing.core.facts import LabourClass, MaterialFacts, MaterialKind, Rates, StockUnit
from costing.core.plan import LEDGER_STEP, drawn_from_stock, plan_steps, share_of_mix, supply_for, to_ledger_step
from costing.core.system import Coat, Component, Driver, Operation, OperationKind, SpraySetup, SupplyLine, System
from costing.core.takeoff import GivenArea, Row, Takeoff, Zone

D = Decimal
RATES = Rates(labour={"w": LabourClass(key="w", name="Finisher", wage=D(20))})
MATERIALS = {
    "base": MaterialFacts(
        key="base", name="Base", kind=MaterialKind.COATING, unit=StockUnit.LITRE, price=D(30), yield_fraction=0.97
    ),
    "hard": MaterialFacts(
        key="hard", name="Hardener", kind=MaterialKind.HARDENER, unit=StockUnit.KILOGRAM, price=D(60), density=1.07
    ),
    "liner": MaterialFacts(key="liner", name="Liner", kind=MaterialKind.LINER, unit=StockUnit.PIECE, price=D("0.4")),
    "cloth": MaterialFacts(key="cloth", name="Cloth", kind=MaterialKind.TACK_CLOTH, unit=StockUnit.PIECE, price=D(1)),
}


def system(coats: int, cloths: float) -> System:
    setup = SpraySetup(transfer_efficiency=0.65, cup_capacity=0.6, residue_per_fill=0.03, residue_per_batch=0.05, spray_rate=20)
    coat = Coat(components=(Component(material="base", parts=3), Component(material="hard", parts=1)), setup=setup, wet_film=110)
    lines = (
        SupplyLine(material="liner", amount=0.3, driver=Driver.FILL, whole_units=True),
        SupplyLine(material="cloth", amount=cloths, driver=Driver.M2),
    )
    return System(
        name="System",
        operations=tuple(
            Operation(name=f"Coat {n}", kind=OperationKind.COAT, labour_class="w", coat=coat, supply_lines=lines)
            for n in range(coats)
        ),
    )


@given(area=st.floats(min_value=0.01, max_value=400), coats=st.integers(1, 5), cloths=st.floats(min_value=0, max_value=3))
def test_the_steps_add_up_to_the_need_of_each_material(area: float, coats: int, cloths: float) -> None:
    takeoff = Takeoff(rows=(Row(shape=GivenArea(area=area), pieces=1, zone=Zone.SHOW),))
    result = estimate(takeoff=takeoff, system=system(coats, cloths), materials=MATERIALS, rates=RATES)
    steps = plan_steps(result)
    planned: dict[str, Decimal] = {}
    for material in (material for step in steps for material in step.materials):
        assert material.quantity >= 0
        planned[material.material] = planned.get(material.material, D(0)) + material.quantity
    needs = {need.material.key: to_ledger_step(need.quantity) for need in result.needs}
    assert planned.keys() == {key for key, quantity in needs.items() if quantity}
    for key, quantity in planned.items():
        assert abs(quantity - needs[key]) <= LEDGER_STEP


def test_whole_units_are_opened_at_the_step_that_needs_the_next_one() -> None:
    takeoff = Takeoff(rows=(Row(shape=GivenArea(area=15.320436), pieces=1, zone=Zone.SHOW),))
    steps = plan_steps(estimate(takeoff=takeoff, system=system(3, 0), materials=MATERIALS, rates=RATES))
    liners = [material.quantity for step in steps for material in step.materials if material.material == "liner"]
    # 5 fills × 0.3 are 1.5 a coat: 1.5, 3, 4.5 in all, so 2, 1 and 2 are opened
    assert liners == [2, 1, 2]


def test_a_material_of_which_nothing_is_needed_is_left_out() -> None:
    takeoff = Takeoff(rows=(Row(shape=GivenArea(area=10), pieces=1, zone=Zone.SHOW),))
    steps = plan_steps(estimate(takeoff=takeoff, system=system(1, 0), materials=MATERIALS, rates=RATES))
    assert {material.material for material in steps[0].materials} == {"base", "hard", "liner"}


def test_a_coat_that_finds_no_area_is_no_step() -> None:
    takeoff = Takeoff(rows=(Row(shape=GivenArea(area=10), pieces=1, zone=Zone.SHOW),))
    coat = system(1, 0).operations[0]
    hidden = Operation(
        name="Hidden", kind=coat.kind, labour_class="w", coat=coat.coat, zones=frozenset({Zone.HIDDEN}), supply_lines=()
    )
    two = System(name="Two", operations=(coat, hidden))
    assert [step.name for step in plan_steps(estimate(takeoff=takeoff, system=two, materials=MATERIALS, rates=RATES))] == [
        "Coat 0"
    ]


def test_the_worked_mix_is_shared_by_its_parts() -> None:
    base, hardener = share_of_mix(D("2.792689169"), (D(10), D(1)))
    assert round(base, 9) == D("2.538808335")
    assert round(hardener, 9) == D("0.253880834")
    assert base + hardener == pytest.approx(D("2.792689169"))


@pytest.mark.parametrize("parts", [(), (D(0), D(0)), (D(2), D(-1))])
def test_a_mix_without_parts_is_refused(parts: tuple[Decimal, ...]) -> None:
    with pytest.raises(ValueError, match="a mix needs parts"):
        share_of_mix(D(1), parts)


def test_a_material_kept_by_mass_is_drawn_by_its_density() -> None:
    assert drawn_from_stock(D(2), yield_fraction=D("0.8"), unit=StockUnit.KILOGRAM, density=D("1.2")) == 3
    with pytest.raises(ValueError, match="needs its density"):
        drawn_from_stock(D(2), yield_fraction=D(1), unit=StockUnit.KILOGRAM)


@pytest.mark.parametrize(("fills", "whole", "expected"), [(5, True, "3"), (4, True, "2"), (5, False, "2.5"), (0, True, "0")])
def test_a_supply_follows_the_fills(fills: int, whole: bool, expected: str) -> None:
    assert supply_for(D(fills), per_driver=D("0.5"), whole_units=whole) == D(expected)
