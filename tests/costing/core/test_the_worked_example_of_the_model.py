"""The worked example of the costing model, figure by figure, to the last digit it prints."""

from __future__ import annotations

import pytest

from tests.costing.core.workshop import EXAMPLE_COAT, EXAMPLE_DOORS, reckon, spray, system_of


@pytest.fixture(scope="module")
def coat():
    return reckon(system_of(spray(EXAMPLE_COAT)), EXAMPLE_DOORS).operations[0].coat


def test_area():
    assert EXAMPLE_DOORS.rows[0].shape.area_of(1) == pytest.approx(0.6383515, abs=1e-12)
    assert EXAMPLE_DOORS.area == pytest.approx(15.320436, abs=1e-9)
    assert EXAMPLE_DOORS.pieces == 24


@pytest.mark.parametrize(
    ("figure", "expected", "digits"),
    [
        ("volume_solids", 36.3636, 5e-5),
        ("wet_film", 110, 1e-9),
        ("spray_minutes", 45.961308, 1e-9),
        ("on_surface", 1.68524796, 1e-10),
        ("sprayed", 2.592689169, 5e-10),
        ("residue", 0.20, 1e-12),
        ("mixed", 2.792689169, 5e-10),
    ],
)
def test_figures(coat, figure, expected, digits):
    assert getattr(coat, figure) == pytest.approx(expected, abs=digits)


def test_batches_and_fills(coat):
    assert (coat.batches, coat.fills) == (1, 5)


def test_components(coat):
    base, hardener = coat.components
    assert (base.material, hardener.material) == ("base", "hardener")
    assert base.mixed == pytest.approx(2.538808336, abs=5e-10)
    assert hardener.mixed == pytest.approx(0.253880834, abs=5e-10)
