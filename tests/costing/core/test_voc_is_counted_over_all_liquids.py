"""VOC content as applied and emitted mass (costing model, section 7)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from costing.core.errors import ContradictionError, CostingError, EmptyMixError
from costing.core.facts import MaterialKind
from costing.core.system import Coat, Component
from costing.core.voc import (
    VocPart,
    actual_voc,
    coat_vocs,
    emitted_mass,
    thinner_to_limit,
    voc_by_mass,
    voc_less_water,
    voc_per_litre_of_solids,
    voc_per_solids,
    water_volume_fraction,
)
from tests.costing.core.workshop import GUN, RATES, SHELF, facts, materials, reckon, spray, system_of


def test_content_less_water_takes_water_and_exempt_compounds_out_of_the_volume():
    mix = (VocPart(parts=3, voc=100, water_fraction=0.5), VocPart(parts=1, voc=500, exempt_fraction=0.25))
    assert actual_voc(mix) == pytest.approx(200)
    assert voc_less_water(mix) == pytest.approx((300 + 500) / (3 * 0.5 + 1 * 0.75))


def test_without_water_both_contents_are_the_same():
    mix = (VocPart(parts=2, voc=420), VocPart(parts=1, voc=600))
    assert voc_less_water(mix) == pytest.approx(actual_voc(mix))


def test_a_mix_of_water_alone_has_no_content_less_water():
    with pytest.raises(ContradictionError, match="Mix is all water and exempt compounds"):
        voc_less_water((VocPart(parts=1, voc=0, water_fraction=1),))


def test_a_mix_of_nothing_is_refused():
    with pytest.raises(EmptyMixError, match="Mix has no parts"):
        actual_voc(())
    with pytest.raises(EmptyMixError, match="Mix has no parts"):
        voc_less_water((VocPart(parts=0, voc=0),))


def test_the_thinner_counts_in_the_content_as_applied():
    shelf = materials(
        facts("base", volume_solids=30, voc=100, water_fraction=0.5),
        facts("thinner", MaterialKind.THINNER, voc=800),
    )
    coat = Coat(components=(Component(material="base", parts=1),), setup=GUN, dry_film=30, thinner="thinner", thinning=25)
    (content,) = coat_vocs(reckon(system_of(spray(coat)), shelf=shelf))
    assert content.actual == pytest.approx((100 + 0.25 * 800) / 1.25)
    assert content.less_water == pytest.approx((100 + 0.25 * 800) / (0.5 + 0.25))


def test_a_content_that_cannot_be_told_names_the_material():
    shelf = {**SHELF, "hardener": replace(SHELF["hardener"], voc=None)}
    (content,) = coat_vocs(reckon(shelf=shelf))
    assert (content.actual, content.less_water, content.unknown) == (None, None, ("Hardener",))


def test_the_recovered_share_is_not_emitted():
    assert reckon(rates=replace(RATES, voc_recovered=0)).voc_kg == pytest.approx(1.7)
    assert reckon(rates=replace(RATES, voc_recovered=1)).voc_kg == 0
    assert emitted_mass([(2, 500), (1, 100)], 0.5) == pytest.approx(0.55)


def test_thinner_up_to_a_limit():
    litres = thinner_to_limit(litres=10, voc=300, thinner_voc=800, limit=350)
    mix = (VocPart(parts=10, voc=300), VocPart(parts=litres, voc=800))
    assert actual_voc(mix) == pytest.approx(350)
    assert thinner_to_limit(litres=10, voc=350, thinner_voc=800, limit=350) == 0
    assert thinner_to_limit(litres=10, voc=400, thinner_voc=800, limit=350) == 0
    assert thinner_to_limit(litres=10, voc=300, thinner_voc=340, limit=350) is None


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: voc_by_mass(1.0, 60, 50),
        lambda: voc_per_litre_of_solids(900, 882),
        lambda: voc_per_solids(voc_mass=1, solids_litres=0),
        lambda: voc_per_solids(voc_mass=1, solids_litres=1, transfer_efficiency=0),
        lambda: emitted_mass([], 1.5),
        lambda: thinner_to_limit(litres=-1, voc=1, thinner_voc=3, limit=2),
        lambda: water_volume_fraction(1.0, 50, 0),
    ],
)
def test_impossible_figures_are_refused(wrong):
    with pytest.raises(CostingError):
        wrong()
