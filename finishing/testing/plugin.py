"""Pytest hooks of the house: skips that plain reasons explain, none of them in CI, and counts for the runner.

``tests/conftest.py`` brings these hooks in.
"""

from __future__ import annotations

import os
from collections.abc import Generator
from pathlib import Path

import pytest

from finishing.testing.counts import Counts
from finishing.testing.machine import find_pdftoppm, find_soffice

ONLY_POSTGRESQL = "only on PostgreSQL"
ONLY_SQLITE = "only on SQLite"
ONLY_WINDOWS = "only on Windows"
# Skips that no machine can avoid: one run has one database and one operating system.
ALWAYS_ALLOWED = (ONLY_POSTGRESQL, ONLY_SQLITE, ONLY_WINDOWS)
COUNTS_VARIABLE = "FINISH_LEDGER_TEST_COUNTS"

__all__ = [
    "pytest_collection_modifyitems",
    "pytest_make_collect_report",
    "pytest_runtest_makereport",
    "pytest_runtest_setup",
    "pytest_sessionfinish",
]


def in_ci() -> bool:
    """Whether a skip is a failure here."""
    return os.environ.get("CI", "").strip().lower() in {"1", "true", "yes"}


def skip_reason(longrepr: object) -> str:
    """The bare reason out of a skipped report."""
    text = longrepr[2] if isinstance(longrepr, tuple) else str(longrepr)
    return str(text).removeprefix("Skipped: ").strip()


def _refuse_skip(report: pytest.TestReport | pytest.CollectReport) -> None:
    if report.outcome != "skipped" or hasattr(report, "wasxfail") or not in_ci():
        return
    reason = skip_reason(report.longrepr)
    if reason not in ALWAYS_ALLOWED:
        report.outcome = "failed"
        report.longrepr = f"Skipped in CI, where every tool must be there: {reason}"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """In CI a skipped test is a failed one."""
    report = yield
    _refuse_skip(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """In CI a whole file that skips itself is a failed one."""
    report = yield
    _refuse_skip(report)
    return report


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Whatever lies in ``tests/browser`` carries the marker ``browser``."""
    for item in items:
        if "browser" in item.path.parts:
            item.add_marker(pytest.mark.browser)


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Skip, with a plain reason, what this run's database or this machine cannot do."""
    vendor = _vendor()
    if item.get_closest_marker("postgresql") and vendor != "postgresql":
        pytest.skip(ONLY_POSTGRESQL)
    if item.get_closest_marker("sqlite") and vendor != "sqlite":
        pytest.skip(ONLY_SQLITE)
    if item.get_closest_marker("libreoffice") and find_soffice() is None:
        pytest.skip("LibreOffice not found: spreadsheet recalculation skipped")
    if item.get_closest_marker("pdfpictures") and find_pdftoppm() is None:
        pytest.skip("pdftoppm not found: PDF pictures skipped")


def _vendor() -> str:
    from django.db import connection

    return connection.vendor


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Leave the counts for the runner. Workers have none of their own to leave."""
    target = os.environ.get(COUNTS_VARIABLE, "")
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if not target or reporter is None or hasattr(session.config, "workerinput"):
        return

    def seen(*outcomes: str) -> int:
        return sum(len(reporter.stats.get(outcome, ())) for outcome in outcomes)

    Counts(passed=seen("passed", "xpassed"), failed=seen("failed", "error"), skipped=seen("skipped", "xfailed")).write(
        Path(target)
    )
