"""The lock files fit what ``pyproject.toml`` asks for, hold a hash for every package, and say nothing of where they came from."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
RUNTIME, TEST = "requirements.lock", "requirements-test.lock"
PIN = re.compile(r"^(?P<name>[a-z0-9][a-z0-9-]*)==(?P<version>[^\s;]+)(?: ; (?P<when>.+?))? \\$")
HASH = re.compile(r"^    --hash=sha256:[0-9a-f]{64}(?: \\)?$")


def pins(lock: str) -> dict[str, set[str]]:
    """Package names with their locked versions; more than one where Python versions differ."""
    found: dict[str, set[str]] = {}
    for line in (ROOT / lock).read_text(encoding="utf-8").splitlines():
        if match := PIN.match(line):
            found.setdefault(match["name"], set()).add(match["version"])
    return found


def asked(*, tests: bool) -> set[str]:
    """The names of the packages that ``pyproject.toml`` asks for itself."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wishes = project["project"]["dependencies"] + (project["dependency-groups"]["test"] if tests else [])
    return {re.split(r"[\[<>=;~! ]", wish, maxsplit=1)[0] for wish in wishes}


@pytest.mark.parametrize(("lock", "tests"), [(RUNTIME, False), (TEST, True)])
def test_every_package_that_is_asked_for_is_locked(lock: str, tests: bool) -> None:
    assert asked(tests=tests) <= set(pins(lock))


@pytest.mark.parametrize("lock", [RUNTIME, TEST])
def test_a_lock_holds_pins_and_their_hashes_and_nothing_else(lock: str) -> None:
    lines = (ROOT / lock).read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if not PIN.match(line) and not HASH.match(line)] == []
    assert all(HASH.match(after) for line, after in zip(lines, [*lines[1:], ""], strict=True) if PIN.match(line))


def test_the_tests_run_with_the_very_versions_of_the_program() -> None:
    tests = pins(TEST)
    assert {name: tests.get(name) for name in pins(RUNTIME)} == pins(RUNTIME)


def test_no_tool_of_the_tests_is_shipped_with_the_program() -> None:
    assert not {"pytest", "hypothesis", "playwright", "scipy", "stockpyl", "pint", "mypy"} & set(pins(RUNTIME))
