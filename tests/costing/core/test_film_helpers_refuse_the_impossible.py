"""Films and ratios outside what can be: an error in words, never a division by zero."""

from __future__ import annotations

from decimal import Decimal

import pytest

from costing.core.errors import CostingError
from costing.core.film import (
    dry_film_by_mass,
    film_cost_per_m2,
    implied_transfer_efficiency,
    mix_volume_solids,
    parts_by_mass,
    parts_by_volume,
    solids_density,
    split_by_parts,
    spreading_rate,
    thinned_volume_solids,
    volume_solids_by_mass,
    wet_film,
)


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        (lambda: mix_volume_solids((), ()), "Mix has no parts"),
        (lambda: split_by_parts(1, (0, 0)), "Mix has no parts"),
        (lambda: thinned_volume_solids(40, -5), "Thinning is -5 %"),
        (lambda: wet_film(30, 0), "Volume solids is 0 %"),
        (lambda: wet_film(30, 120), "Volume solids is 120 %"),
        (lambda: spreading_rate(40, 0), "Dry film is 0 µm"),
        (lambda: spreading_rate(40, 30, 0), "Transfer efficiency is 0"),
        (lambda: spreading_rate(40, 30, 1.1), "Transfer efficiency is 1.1"),
        (lambda: film_cost_per_m2(Decimal(9), 0, 30), "Volume solids is 0 %"),
        (lambda: implied_transfer_efficiency(area=1, litres=0, volume_solids=30, dry_film=30), "Litres is 0 L"),
        (lambda: volume_solids_by_mass(0.95, 28, 0), "Solvent density is 0 kg/L"),
        (lambda: volume_solids_by_mass(1.5, 5, 0.8), "Mass solids of 5 % leave no room beside the solvent"),
        (lambda: solids_density(0.95, 28, 0), "Volume solids is 0 %"),
        (lambda: dry_film_by_mass(mass=1, density=0, volume_solids=30, area=1), "Density is 0 kg/L"),
        (lambda: dry_film_by_mass(mass=1, density=1, volume_solids=30, area=0), "Area is 0 m²"),
        (lambda: parts_by_volume((1,), (0,)), "Density is 0 kg/L"),
    ],
)
def test_it_is_refused(wrong, sentence):
    with pytest.raises(CostingError, match=sentence):
        wrong()


def test_parts_by_mass_and_by_volume_are_each_other_s_inverse():
    assert parts_by_volume(parts_by_mass((4, 1), (1.02, 1.08)), (1.02, 1.08)) == pytest.approx((4, 1))
