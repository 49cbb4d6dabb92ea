"""Every worked number in a docstring of the core is run."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import costing.core

MODULES = sorted(info.name for info in pkgutil.walk_packages(costing.core.__path__, "costing.core."))


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_give_what_they_say(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_there_are_examples_to_run():
    finder = doctest.DocTestFinder(exclude_empty=True)
    examples = sum(len(test.examples) for name in MODULES for test in finder.find(importlib.import_module(name)))
    assert examples >= 15
