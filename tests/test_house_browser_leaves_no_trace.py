"""Browser tests share a process with all others; what they switch off for themselves is on again afterwards."""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.contrib.auth import get_user_model
from django.core.exceptions import SynchronousOnlyOperation

ROOT = Path(__file__).resolve().parents[1]
BROWSER_TEST = "tests/browser/test_people_sign_in.py::test_a_wrong_password_is_refused_and_the_name_stays"
AFTERWARDS = "tests/test_house_browser_leaves_no_trace.py::test_the_guard_against_asynchronous_queries_is_on"


# Transactional like the browser tests, since pytest-django moves plain database tests before those.
@pytest.mark.django_db(transaction=True)
def test_the_guard_against_asynchronous_queries_is_on() -> None:
    assert "DJANGO_ALLOW_ASYNC_UNSAFE" not in os.environ
    assert get_user_model().objects.count() == 0  # no event loop runs in this thread

    async def query() -> int:
        return get_user_model().objects.count()

    with pytest.raises(SynchronousOnlyOperation):
        asyncio.run(query())


def test_a_database_test_after_a_browser_test_in_one_process_passes(tmp_path: Path) -> None:
    environ = {**os.environ, "FINISH_LEDGER_TEST_DB": str(tmp_path / "test.sqlite3"), "FINISH_LEDGER_TEST_COUNTS": ""}
    if environ.get("DATABASE_URL", "").startswith("postgres"):
        del environ["DATABASE_URL"]  # this process holds the server's test database
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-n0", "-v", "-p", "no:cacheprovider", BROWSER_TEST, AFTERWARDS],
        cwd=ROOT,
        env=environ,
        capture_output=True,
        text=True,
        check=False,
    )
    if "1 passed, 1 skipped" in done.stdout:
        pytest.skip("Chromium does not start: browser tests skipped")
    assert "2 passed" in done.stdout, done.stdout
    lines = [line for line in done.stdout.splitlines() if "PASSED" in line]
    assert lines[0].startswith("tests/browser/"), lines
