"""Which cautions stand beside a job follows from what the shop entered of its materials."""

from __future__ import annotations

import pytest

from costing.cautions import cautions_for
from inventory.models import Material

ALLERGY, FLAMMABLE, RAGS = (
    "Hardener that can cause lasting allergy",
    "Flammable liquid",
    "Rags and residue that can catch fire",
)


def titles(**facts: object) -> list[str]:
    return [caution.title for caution in cautions_for([Material(pk=1, name="Invented", **facts)])]


@pytest.mark.parametrize("code", ["H317", "H334"])
def test_a_sensitising_hardener_calls_for_supplied_air(code: str) -> None:
    assert titles(kind="hardener", h_codes=code) == [ALLERGY, RAGS]


def test_the_same_code_on_a_coating_is_no_hardener() -> None:
    assert titles(kind="coating", h_codes="H317") == [RAGS]


@pytest.mark.parametrize(
    "facts", [{"h_codes": "H224"}, {"h_codes": "H225, H336"}, {"h_codes": "H226"}, {"flammable_category": 3}]
)
def test_a_flammable_liquid_calls_for_ventilation_and_grounding(facts: dict[str, object]) -> None:
    assert titles(kind="coating", **facts) == [FLAMMABLE, RAGS]


def test_supplies_call_for_none() -> None:
    assert titles(kind="liner") == []


def test_each_caution_names_its_materials_once_and_its_public_source() -> None:
    base = Material(pk=1, name="Base", kind="coating", h_codes="H226")
    thinner = Material(pk=2, name="Thinner", kind="thinner", h_codes="H225")
    flammable, rags = cautions_for([base, thinner, base])
    assert flammable.materials == rags.materials == ("Base", "Thinner")
    assert "29 CFR 1910.107(c)(2)" in flammable.source
    assert "29 CFR 1910.107(g)(3)" in rags.source


def test_what_was_not_read_is_marked_as_remembered() -> None:
    hardener = Material(pk=1, name="Hardener", kind="hardener", h_codes="H334")
    assert "1910.134" in cautions_for([hardener])[0].source
    assert "from memory" in cautions_for([hardener])[0].source


def test_no_caution_says_that_something_is_safe() -> None:
    every = cautions_for([Material(pk=1, name="Hardener", kind="hardener", h_codes="H334, H225")])
    assert len(every) == 3
    said = " ".join(caution.text for caution in every).replace("safety data sheet", "").lower()
    assert "safe" not in said
    assert "compl" not in said
