"""Fills, batches, residue and thinning of one coat (costing model, sections 2 and 4)."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing.core.checks import ceiling
from costing.core.coat import coat_volumes
from costing.core.facts import MaterialKind, StockUnit
from costing.core.system import Coat, Component, SpraySetup
from costing.core.takeoff import GivenArea, Row, Takeoff, Zone, ZoneTotal
from tests.costing.core.workshop import (
    COAT,
    GUN,
    HIDDEN,
    SHELF,
    SPRAY,
    SYSTEM,
    TEN_SQUARE_METRES,
    facts,
    materials,
    reckon,
    spray,
    system_of,
)


def volumes(coat, area=10.0, sprayed_area=None, shelf=SHELF):
    total = ZoneTotal(area=area, sprayed_area=area if sprayed_area is None else sprayed_area, pieces=1)
    return coat_volumes(coat, total, shelf)


@pytest.mark.parametrize(
    ("value", "expected"),
    [(3.0000000001, 3), (3 + 1e-8, 4), (2.9999999999, 3), (1e-12, 1), (0.0, 0), (0.1 + 0.2 + 2.7, 3)],
)
def test_a_ceiling_forgives_a_relative_billionth(value, expected):
    assert ceiling(value) == expected


def test_fills_forgive_floating_point_noise():
    # 0.3 L sprayed from a cup that gives 0.1 L: 0.3/0.1 is 2.9999999999999996 or 3.0000000000000004 by the way it is got
    gun = replace(GUN, transfer_efficiency=1, cup_capacity=0.7, residue_per_fill=0.6)
    assert volumes(replace(COAT, setup=gun, wet_film=30), area=10).fills == 3


def test_pot_life_makes_batches_and_each_batch_its_own_fills():
    # t = 30 min, P = 12 min: 3 batches of 2/3 L, each two fills of 0.5 L
    coat = volumes(replace(COAT, pot_life=12))
    assert (coat.batches, coat.fills) == (3, 6)
    assert coat.residue == pytest.approx(6 * 0.1 + 3 * 0.2)


def test_each_batch_is_mixed_and_each_fill_is_loaded():
    # 30 min spraying, 6 fills of 2 min, 3 batches of 5 min; mixing is not done in the booth
    result = reckon(system_of(spray(replace(COAT, pot_life=12))))
    assert result.labour_minutes == pytest.approx(30 + 6 * 2 + 3 * 5)
    assert result.booth_minutes == pytest.approx(30 + 6 * 2 + 10)


def test_a_pot_life_just_as_long_as_the_spraying_needs_one_batch():
    assert volumes(replace(COAT, pot_life=30)).batches == 1
    assert volumes(replace(COAT, pot_life=29.9)).batches == 2


def test_geometry_raises_overspray_and_not_the_film():
    coat = volumes(COAT, area=10, sprayed_area=20)
    assert coat.on_surface == pytest.approx(1)
    assert coat.sprayed == pytest.approx(4)
    assert coat.overspray == pytest.approx(3)


def test_the_dry_film_asks_for_more_wet_film_when_thinned():
    thinned = Coat(components=(Component(material="base", parts=1),), setup=GUN, dry_film=34, thinner="thinner", thinning=10)
    coat = volumes(thinned)
    assert coat.volume_solids == 34
    assert coat.wet_film == pytest.approx(110)
    assert [part.parts for part in coat.components] == pytest.approx([1, 0.1])
    assert coat.components[0].mixed == pytest.approx(coat.mixed / 1.1)


def test_thinning_does_not_change_how_much_base_the_film_takes():
    plain = volumes(Coat(components=(Component(material="base", parts=1),), setup=GUN, dry_film=34))
    thinned = volumes(
        Coat(components=(Component(material="base", parts=1),), setup=GUN, dry_film=34, thinner="thinner", thinning=25)
    )
    assert thinned.on_surface * thinned.components[0].share == pytest.approx(plain.on_surface)


def test_thinner_may_also_be_a_part_of_the_mix():
    coat = volumes(
        Coat(components=(Component(material="base", parts=3), Component(material="thinner", parts=1)), setup=GUN, dry_film=20)
    )
    assert coat.volume_solids == pytest.approx(34 * 3 / 4)


def test_a_wet_film_needs_no_volume_solids():
    shelf = materials(facts("base"))
    coat = volumes(Coat(components=(Component(material="base", parts=1),), setup=GUN, wet_film=80), shelf=shelf)
    assert coat.volume_solids is None
    assert coat.on_surface == pytest.approx(0.8)
    assert coat.overspray_solids is None


def test_a_coat_without_area_makes_nothing_and_costs_nothing():
    # One coat for hidden pieces, and only pieces that show: none of its lines may be charged, not even per operation.
    result = reckon(system_of(replace(SPRAY, zones=HIDDEN)))
    coat = result.operations[0].coat
    assert (coat.batches, coat.fills, coat.mixed) == (0, 0, 0)
    assert result.true_cost == 0
    assert result.labour_minutes == result.elapsed_minutes == result.voc_kg == 0
    assert [notice.code for notice in result.notices] == ["idle-coat"]


def test_an_idle_coat_changes_nothing_for_the_others():
    with_idle = reckon(system_of(*SYSTEM.operations, replace(SPRAY, name="Inside", zones=HIDDEN)))
    assert with_idle.groups == reckon().groups
    assert with_idle.elapsed_minutes == reckon().elapsed_minutes


def test_a_coat_takes_the_area_of_its_zones_only():
    takeoff = Takeoff(rows=(*TEN_SQUARE_METRES.rows, Row(shape=GivenArea(area=5), zone=Zone.HIDDEN)))
    result = reckon(system_of(spray(), spray(zones=HIDDEN)), takeoff)
    assert [operation.coat.area for operation in result.operations] == [15, 5]


def test_material_stocked_by_mass_is_priced_by_its_density():
    by_litre = reckon(system_of(spray()))
    shelf = {**SHELF, "hardener": replace(SHELF["hardener"], unit=StockUnit.KILOGRAM, price=Decimal(50) / Decimal("1.1"))}
    by_mass = reckon(system_of(spray()), shelf=shelf)
    assert by_mass.true_cost == pytest.approx(by_litre.true_cost)
    needs = {need.material.key: need.quantity for need in by_mass.needs}
    assert needs["hardener"] == Decimal("0.572")  # 0.52 L × 1.1 kg/L


def test_a_brush_is_a_setup_without_overspray():
    brush = SpraySetup(transfer_efficiency=1, cup_capacity=0.5, spray_rate=4)
    coat = volumes(replace(COAT, setup=brush))
    assert coat.overspray == 0
    assert coat.mixed == coat.on_surface


def test_solids_of_a_thinner_count_as_none():
    shelf = materials(facts("base", volume_solids=30, density=1, mass_solids=40), facts("water", MaterialKind.THINNER))
    coat = volumes(
        Coat(components=(Component(material="base", parts=1),), setup=GUN, wet_film=100, thinner="water", thinning=100),
        shelf=shelf,
    )
    assert coat.overspray_solids == pytest.approx(1.0 * 0.5 * 0.4)
