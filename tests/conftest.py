"""What every test may use, and the house rules for skips."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from pytest_django import Settings

from finishing.testing.machine import find_pdftoppm, find_soffice
from finishing.testing.plugin import (
    pytest_collection_modifyitems,
    pytest_make_collect_report,
    pytest_runtest_makereport,
    pytest_runtest_setup,
    pytest_sessionfinish,
)
from tests.ledger_plugin import ledger_is_checked_after_each_test, may_disagree

__all__ = [
    "ledger_is_checked_after_each_test",
    "may_disagree",
    "pytest_collection_modifyitems",
    "pytest_make_collect_report",
    "pytest_runtest_makereport",
    "pytest_runtest_setup",
    "pytest_sessionfinish",
]


@pytest.fixture(scope="session", autouse=True)
def emptied_despite_guards() -> Iterator[None]:
    """Let the database be emptied after a transactional test.

    The guards of the ledger refuse that to everybody, so they are away for just that moment and back before the next test.
    """
    from django.db import connection, transaction
    from django.test import TransactionTestCase

    from inventory import triggers

    empty = TransactionTestCase._fixture_teardown

    def lift_and_empty(case: TransactionTestCase) -> None:
        with transaction.atomic():
            triggers.remove_guards(connection)
        try:
            empty(case)
        finally:
            if triggers.missing_guards(connection):
                triggers.install_guards()

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", lift_and_empty)
        yield


@pytest.fixture(autouse=True)
def private_folders(tmp_path: Path, settings: Settings) -> None:
    """No test writes documents into the shop's own folders."""
    settings.OUTPUT_DIR = tmp_path / "documents"


@pytest.fixture(scope="session")
def soffice() -> Path:
    """The command of LibreOffice; the test is skipped where there is none."""
    found = find_soffice()
    if found is None:
        pytest.skip("LibreOffice not found: spreadsheet recalculation skipped")
    return found


@pytest.fixture(scope="session")
def pdftoppm() -> Path:
    """The command that draws PDF pages; the test is skipped where there is none."""
    found = find_pdftoppm()
    if found is None:
        pytest.skip("pdftoppm not found: PDF pictures skipped")
    return found
