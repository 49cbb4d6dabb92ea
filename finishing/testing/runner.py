"""Run the suite by pytest: on SQLite, then the database tests on a throwaway PostgreSQL server."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
from argparse import ArgumentParser
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from finishing.testing.counts import Counts
from finishing.testing.machine import find_postgres
from finishing.testing.plugin import COUNTS_VARIABLE
from finishing.testing.postgres import PostgresError, throwaway_postgres

ROOT = Path(__file__).resolve().parent.parent.parent
SQLITE, POSTGRESQL, BOTH = "sqlite", "postgresql", "both"
CHOICES = (SQLITE, POSTGRESQL, BOTH)
NO_POSTGRES = "PostgreSQL server not found: database tests on PostgreSQL skipped"
_OK, _FAILED, _NOTHING_COLLECTED = 0, 1, 5


class PytestRunner:
    """What Django's ``TEST_RUNNER`` setting names: ``run_tests`` takes paths and pytest options alike."""

    def __init__(self, *, verbosity: int = 1, failfast: bool = False, on: str | None = None, **ignored: Any) -> None:
        del ignored  # options of Django's own runner that have no meaning for pytest
        self.verbosity = verbosity
        self.failfast = failfast
        self.on = on

    @classmethod
    def add_arguments(cls, parser: ArgumentParser) -> None:
        """Options beside those that go to pytest as they are."""
        parser.add_argument(
            "--on",
            choices=CHOICES,
            help="Run all selected tests on this database. Without it: all on SQLite, then, when no test is named, "
            "those marked 'database' on PostgreSQL too where a server is installed.",
        )

    def run_tests(self, test_labels: Sequence[str] = (), **ignored: Any) -> int:
        """Run the tests and print the counts of all runs last. Returns the exit code: 0 when nothing failed.

        ``test_labels`` are paths and pytest options in pytest's own order; none means the whole suite.
        """
        del ignored
        options = [*test_labels, *(["-x"] if self.failfast else []), *(["-v"] if self.verbosity > 1 else [])]
        runs: list[tuple[int, Counts]] = []
        if self.on in (None, SQLITE, BOTH):
            runs.append(self._on_sqlite(options))
        if self._goes_on(runs) and (self.on in (POSTGRESQL, BOTH) or (self.on is None and not test_labels)):
            chosen = options if self.on else [*options, "-m", "database"]
            runs.append(self._on_postgres(chosen))
        total = sum((counts for _, counts in runs), Counts())
        code = next((code for code, _ in runs if code not in (_OK, _NOTHING_COLLECTED)), _OK)
        if total == Counts() and code == _OK:
            code = _NOTHING_COLLECTED
        print(total, flush=True)
        return code

    def _goes_on(self, runs: Sequence[tuple[int, Counts]]) -> bool:
        """A run that could not start or was broken off would not fare better on another database."""
        return all(code in (_OK, _FAILED, _NOTHING_COLLECTED) for code, _ in runs)

    def _on_sqlite(self, options: Sequence[str]) -> tuple[int, Counts]:
        with _scratch() as scratch:
            database = scratch / "unused.sqlite3"
            return _pytest(options, scratch, "SQLite", {"DATABASE_URL": f"sqlite:///{database.as_posix()}"})

    def _on_postgres(self, options: Sequence[str]) -> tuple[int, Counts]:
        binaries = find_postgres()
        if binaries is None:
            return self._without_postgres()
        try:
            with _scratch() as scratch, throwaway_postgres(binaries) as url:
                return _pytest(options, scratch, "PostgreSQL", {"DATABASE_URL": url})
        except PostgresError as error:
            print(f"The throwaway PostgreSQL server did not work.\n{error}", flush=True)
            return _FAILED, Counts(failed=1)

    def _without_postgres(self) -> tuple[int, Counts]:
        from finishing.testing.plugin import in_ci

        print(NO_POSTGRES, flush=True)
        # Asked for by name, or in CI, its absence is a failure; otherwise it is one skip that the counts show.
        if self.on is not None or in_ci():
            return _FAILED, Counts(failed=1)
        return _OK, Counts(skipped=1)


@contextmanager
def _scratch() -> Iterator[Path]:
    """A folder for this run's test databases, so that two runs at once do not meet."""
    folder = Path(tempfile.mkdtemp(prefix="ledger-test-"))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def _terminated_as_exit() -> Iterator[None]:
    """Turn a termination signal into an ordinary exit, so that servers and folders are cleared away."""

    def leave(number: int, frame: object) -> None:  # noqa: ARG001
        sys.exit(128 + number)

    before = signal.signal(signal.SIGTERM, leave)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _workers(options: Sequence[str]) -> list[str]:
    """One worker for each processor, a test file to each; whoever says ``-n`` or ``-p no:xdist`` decides."""
    spoken_for = ("-n", "--numprocesses", "--dist", "no:xdist", "--pdb", "--collect-only", "--co")
    if any(option.startswith(spoken_for) for option in options):
        return []
    return ["-n", "auto", "--dist", "loadfile"]


def _pytest(options: Sequence[str], scratch: Path, database: str, variables: Mapping[str, str]) -> tuple[int, Counts]:
    counts = scratch / "counts.json"
    command = [sys.executable, "-m", "pytest", *_workers(options), *options]
    environ = {
        **os.environ,
        **variables,
        COUNTS_VARIABLE: str(counts),
        "FINISH_LEDGER_TEST_DB": str(scratch / "test.sqlite3"),
        "FINISH_LEDGER_DATA_DIR": str(scratch / "data"),
        "PYTHONUNBUFFERED": "1",
    }
    print(f"== Tests on {database}: {' '.join(['pytest', *command[3:]])}", flush=True)
    with _terminated_as_exit():
        child = subprocess.Popen(command, cwd=ROOT, env=environ)  # noqa: S603 - ourselves
        try:
            code = child.wait()
        except (KeyboardInterrupt, SystemExit):
            child.terminate()
            child.wait()
            raise
    # A run that ended before it could count has failed, whatever else it was.
    return code, Counts.read(counts) or Counts(failed=1)
