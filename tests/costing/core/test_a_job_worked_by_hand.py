"""A whole estimate with round numbers, each figure worked by hand beside it.

10 m² in 10 pieces. Abrade at 30 m²/h, two helpers, 0.23 discs a m². Then one coat, 4 : 1, 100 µm wet, TE 0.5, cup 0.6 L
with 0.1 L left per fill, 0.2 L per batch, 20 m²/h, 2 min a fill, 5 min a batch, 10 min flash-off.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing.core.system import CostGroup
from costing.core.takeoff import Takeoff
from tests.costing.core.workshop import ABRADE, SPRAY, SYSTEM, reckon, system_of

ESTIMATE = reckon()


def test_coat():
    coat = ESTIMATE.operations[1].coat
    assert coat.on_surface == pytest.approx(1.0)  # 10 × 100 / 1000
    assert coat.sprayed == pytest.approx(2.0)  # 1.0 / 0.5
    assert coat.fills == 4  # 2.0 / (0.6 − 0.1)
    assert coat.residue == pytest.approx(0.6)  # 4 × 0.1 + 0.2
    assert coat.mixed == pytest.approx(2.6)
    assert coat.spray_minutes == pytest.approx(30)  # 60 × 10 / 20
    # 1.0 L of overspray: 0.8 L × 1.0 kg/L × 40 % + 0.2 L × 1.1 kg/L × 70 %
    assert coat.overspray_solids == pytest.approx(0.474)
    assert [part.drawn for part in coat.components] == pytest.approx([2.08 / 0.8, 0.52])


@pytest.mark.parametrize(
    ("group", "amount"),
    [
        (CostGroup.FILM, "26.00"),  # 0.8 L × 20 + 0.2 L × 50
        (CostGroup.OVERSPRAY, "26.00"),  # as much again
        (CostGroup.RESIDUE, "15.60"),  # 0.48 × 20 + 0.12 × 50
        (CostGroup.HEEL, "10.40"),  # 2.08 × (1/0.8 − 1) × 20
        (CostGroup.EXPIRY, "13.00"),  # base only: (16 + 16 + 9.6 + 10.4) × 0.2/0.8
        (CostGroup.CLEANER, "3.00"),  # 1 batch × 0.5 L × 6
        (CostGroup.ABRASIVES, "4.20"),  # 2.3 + 4.0 discs, rounded up once: 7 × 0.60
        (CostGroup.DISPOSABLES, "3.00"),  # 4 fills × 0.75
        (CostGroup.LABOUR, "27.50"),  # (30 + 4×2 + 5)/60 × 30 + 20/60 × 18
        (CostGroup.BOOTH, "20.00"),  # (30 + 8 + 10)/60 × 25
        (CostGroup.DISPOSAL, "4.40"),  # (0.6 + 0.5) × 4
        (CostGroup.REWORK, "15.31"),  # 10 % of 153.10
        (CostGroup.OVERHEAD, "22.00"),  # 0.8 × 27.50
    ],
)
def test_groups(group, amount):
    assert ESTIMATE.groups[group] == Decimal(amount)


def test_sums():
    assert list(ESTIMATE.groups) == list(CostGroup)
    assert ESTIMATE.true_cost == Decimal("190.41")
    assert ESTIMATE.cost_per_m2 == Decimal("19.041")


def test_time():
    assert ESTIMATE.labour_minutes == pytest.approx(63)
    assert {use.labour_class: use.minutes for use in ESTIMATE.labour_uses} == pytest.approx({"helper": 20, "sprayer": 43})
    assert ESTIMATE.booth_minutes == pytest.approx(48)
    # 20 min by two, then 43 min and 240 min to stacking; nothing follows the coat, so its dry time does not count
    assert ESTIMATE.elapsed_minutes == pytest.approx(10 + 43 + 240)


def test_voc():
    # 2.6 L × 400 + 0.52 L × 500 + 0.5 L × 800 = 1700 g, a quarter recovered
    assert ESTIMATE.voc_kg == pytest.approx(1.275)


def test_needs_are_in_stock_units_and_include_the_heel():
    needs = {need.material.key: need.quantity for need in ESTIMATE.needs}
    assert needs == {
        "base": Decimal("2.6"),
        "hardener": Decimal("0.52"),
        "disc": Decimal(7),
        "wash": Decimal("0.5"),
        "liner": Decimal(4),
    }


def test_nothing_is_left_out_silently():
    assert ESTIMATE.notices == ()


def test_the_dry_time_counts_when_another_operation_follows():
    again = reckon(system_of(SPRAY, ABRADE, replace(SPRAY, name="Second coat")))
    assert again.elapsed_minutes == pytest.approx((43 + 90) + 10 + (43 + 240))


def test_a_last_coat_that_is_followed_by_work_waits_for_both():
    again = reckon(system_of(SPRAY, ABRADE))
    assert again.elapsed_minutes == pytest.approx(43 + 90 + 240 + 10)


def test_an_empty_takeoff_has_no_cost_per_square_metre():
    empty = reckon(SYSTEM, Takeoff())
    assert empty.cost_per_m2 is None
    assert empty.true_cost == 0
    assert [notice.code for notice in empty.notices] == ["no-area", "idle-coat"]
