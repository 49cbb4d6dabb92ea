"""After every test that used the database, the whole ledger is added up again: no test may leave a disagreement behind."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest
from django.db import connection
from django.test import TransactionTestCase

from inventory.services.verify import check_ledger

_excused: set[str] = set()


def running_test() -> str:
    """The name of the test under way, without its phase."""
    return os.environ.get("PYTEST_CURRENT_TEST", "").rpartition(" ")[0]


def check_after_test() -> None:
    """Fail the running test when it leaves the ledger in disagreement with itself."""
    if running_test() in _excused or connection.needs_rollback:
        return
    disagreements = check_ledger().disagreements
    if disagreements:
        pytest.fail("The ledger disagrees with itself:\n" + "\n".join(disagreements), pytrace=False)


@pytest.fixture
def may_disagree() -> None:
    """For a test that breaks the ledger on purpose."""
    _excused.add(running_test())


@pytest.fixture(scope="session", autouse=True)
def ledger_is_checked_after_each_test() -> Iterator[None]:
    """Check while the rows of the test are still there, whichever kind of test case wrote them."""
    empty = TransactionTestCase._post_teardown

    def check_and_empty(case: TransactionTestCase) -> None:
        try:
            if "default" in case.databases:
                check_after_test()
        finally:
            empty(case)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_post_teardown", check_and_empty)
        yield
