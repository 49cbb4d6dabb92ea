"""The checks against the outside world, counted and looked at as a whole."""

from __future__ import annotations

import importlib
from collections import Counter
from pathlib import Path

import pytest

from tests.references.sources import Check, Known, Reference

MODULES = sorted(path.stem for path in Path(__file__).parent.glob("test_*.py") if path.stem != Path(__file__).stem)
REFERENCES: list[Reference] = [
    reference for name in MODULES for reference in getattr(importlib.import_module(f"tests.references.{name}"), "REFERENCES", ())
]


def test_there_are_enough_of_them():
    assert len(REFERENCES) >= 100


def test_each_has_its_own_id():
    assert [found for found, times in Counter(reference.id for reference in REFERENCES).items() if times > 1] == []


@pytest.mark.parametrize("reference", REFERENCES, ids=[reference.id for reference in REFERENCES])
def test_each_says_where_it_is_from_and_how_it_is_known(reference):
    assert len(reference.source) > 10
    assert reference.quantity.strip()
    assert reference.known in set(Known)


def test_a_reference_without_a_source_is_refused():
    with pytest.raises(ValueError, match="needs an id and a source"):
        Reference(id="X", quantity="q", expected=1, tolerance=0, source=" ", known=Known.READ)


def test_a_check_that_disagrees_fails_and_names_the_source():
    wrong = Check(
        reference=Reference(id="X", quantity="two", expected=2, tolerance=0.1, source="A published page", known=Known.READ),
        compute=lambda: 3,
    )
    with pytest.raises(AssertionError, match=r"X, two: 3 instead of 2 ± 0\.1 \(A published page; read\)"):
        wrong.run()


def test_a_figure_that_is_no_number_does_not_pass():
    reference = Reference(id="X", quantity="q", expected=1, tolerance=0.5, source="A published page", known=Known.READ)
    assert not reference.confirms(float("nan"))
    assert not reference.confirms(1.51)
    assert reference.confirms(1.5)
