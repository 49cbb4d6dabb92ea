"""The examples that stand in the descriptions of the arithmetic do what they say."""

from __future__ import annotations

import doctest
import importlib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
FILES = [ROOT / "finishing/units.py", ROOT / "finishing/money.py", *ROOT.glob("*/core/*.py")]
WITH_EXAMPLES = sorted(
    path.relative_to(ROOT).with_suffix("").as_posix().replace("/", ".")
    for path in FILES
    if ">>>" in path.read_text(encoding="utf-8")
)


def test_there_are_examples_to_look_at() -> None:
    assert WITH_EXAMPLES


@pytest.mark.parametrize("name", WITH_EXAMPLES)
def test_the_examples_come_out_as_written(name: str) -> None:
    outcome = doctest.testmod(importlib.import_module(name))
    assert outcome.attempted > 0
    assert outcome.failed == 0
