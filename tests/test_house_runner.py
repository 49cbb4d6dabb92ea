"""The test runner itself: skips, counts, exit codes, and the databases it makes and clears away."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

import pytest

from finishing.testing import runner
from finishing.testing.counts import Counts
from finishing.testing.machine import find_postgres
from finishing.testing.plugin import COUNTS_VARIABLE
from finishing.testing.postgres import PostgresError, throwaway_postgres
from finishing.testing.runner import PytestRunner

ROOT = Path(__file__).resolve().parents[1]

CONFTEST = "from finishing.testing.plugin import *\n"
SUITE = """
import pytest

def test_good():
    pass

def test_bad():
    assert 1 == 2

def test_tool_missing():
    pytest.skip("Anvil not found: forging tests skipped")

@pytest.mark.postgresql
def test_other_database():
    pass

@pytest.fixture
def broken():
    raise RuntimeError

def test_broken_set_up(broken):
    pass
"""


def run_suite(folder: Path, suite: str, *, ci: bool) -> tuple[int, Counts | None, str]:
    """Run a small suite in a process of its own, under the hooks of the house."""
    (folder / "conftest.py").write_text(CONFTEST)
    (folder / "pytest.ini").write_text("[pytest]\nmarkers =\n    postgresql: x\n    browser: x\n")
    (folder / "test_small.py").write_text(suite)
    counts = folder / "counts.json"
    environ = {
        **{name: value for name, value in os.environ.items() if name not in {"CI", "DATABASE_URL"}},
        "PYTHONPATH": str(ROOT),
        "DJANGO_SETTINGS_MODULE": "finishing.settings",
        "FINISH_LEDGER_DATA_DIR": str(folder / "data"),
        COUNTS_VARIABLE: str(counts),
        **({"CI": "true"} if ci else {}),
    }
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-ra", "-p", "no:cacheprovider", str(folder)],
        cwd=folder,
        env=environ,
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, Counts.read(counts), done.stdout


def test_a_missing_tool_is_a_plain_skip_on_a_persons_machine(tmp_path: Path) -> None:
    code, counts, said = run_suite(tmp_path, SUITE, ci=False)
    assert code == 1
    assert counts == Counts(passed=1, failed=2, skipped=2)
    assert "Anvil not found: forging tests skipped" in said


def test_a_missing_tool_is_a_failure_in_ci_and_another_database_is_not(tmp_path: Path) -> None:
    code, counts, said = run_suite(tmp_path, SUITE, ci=True)
    assert code == 1
    assert counts == Counts(passed=1, failed=3, skipped=1)
    assert "Skipped in CI, where every tool must be there: Anvil not found" in said


def test_a_file_that_skips_itself_is_a_failure_in_ci(tmp_path: Path) -> None:
    whole_file = "import pytest\npytest.importorskip('no_such_anvil', exc_type=ImportError)\n"
    code, _, said = run_suite(tmp_path, whole_file, ci=True)
    assert code == 2
    assert "Skipped in CI" in said


def test_an_expected_failure_is_no_skip(tmp_path: Path) -> None:
    suite = "import pytest\n@pytest.mark.xfail(reason='known', strict=True)\ndef test_it():\n    assert 0\n"
    code, counts, _ = run_suite(tmp_path, suite, ci=True)
    assert (code, counts) == (0, Counts(skipped=1))


class Recorded(PytestRunner):
    """A runner whose runs are written down instead of run."""

    def __init__(self, outcomes: Sequence[tuple[int, Counts]], **options: str) -> None:
        super().__init__(**options)  # type: ignore[arg-type]
        self.outcomes = list(outcomes)
        self.calls: list[tuple[str, list[str]]] = []

    def _on_sqlite(self, options: Sequence[str]) -> tuple[int, Counts]:
        self.calls.append(("SQLite", list(options)))
        return self.outcomes.pop(0)

    def _on_postgres(self, options: Sequence[str]) -> tuple[int, Counts]:
        self.calls.append(("PostgreSQL", list(options)))
        return self.outcomes.pop(0)


GREEN = (0, Counts(passed=3))


def test_the_whole_suite_runs_on_sqlite_and_its_database_tests_on_postgresql(capsys: pytest.CaptureFixture[str]) -> None:
    recorded = Recorded([GREEN, (0, Counts(passed=2, skipped=1))])
    assert recorded.run_tests([]) == 0
    assert recorded.calls == [("SQLite", []), ("PostgreSQL", ["-m", "database"])]
    assert capsys.readouterr().out.splitlines()[-1] == "5 passed, 0 failed, 1 skipped"


def test_named_tests_run_on_sqlite_alone() -> None:
    recorded = Recorded([GREEN])
    recorded.run_tests(["tests/finishing", "-k", "env"])
    assert recorded.calls == [("SQLite", ["tests/finishing", "-k", "env"])]


def test_both_runs_everything_twice() -> None:
    recorded = Recorded([GREEN, GREEN], on="both")
    recorded.run_tests(["-x"])
    assert recorded.calls == [("SQLite", ["-x"]), ("PostgreSQL", ["-x"])]


@pytest.mark.parametrize("outcomes", [[(1, Counts(failed=1)), GREEN], [GREEN, (1, Counts(failed=1))]])
def test_a_failure_in_either_run_is_the_exit_code(outcomes: list[tuple[int, Counts]]) -> None:
    assert Recorded(outcomes).run_tests([]) == 1


def test_a_run_that_was_broken_off_is_not_followed_by_another() -> None:
    recorded = Recorded([(2, Counts(failed=1)), GREEN])
    assert recorded.run_tests([]) == 2
    assert len(recorded.calls) == 1


def test_no_test_at_all_is_not_a_success() -> None:
    assert Recorded([(5, Counts())]).run_tests(["-k", "nothing-is-called-this"]) == 5


def test_a_missing_server_is_said_and_counted(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(runner, "find_postgres", lambda: None)
    monkeypatch.delenv("CI", raising=False)
    assert PytestRunner()._on_postgres([]) == (0, Counts(skipped=1))
    assert "PostgreSQL server not found: database tests on PostgreSQL skipped" in capsys.readouterr().out


def test_a_missing_server_is_a_failure_in_ci(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(runner, "find_postgres", lambda: None)
    monkeypatch.setenv("CI", "true")
    assert PytestRunner()._on_postgres([]) == (1, Counts(failed=1))


def test_a_missing_server_is_a_failure_for_who_asked_for_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(runner, "find_postgres", lambda: None)
    monkeypatch.delenv("CI", raising=False)
    assert PytestRunner(on="postgresql")._on_postgres([]) == (1, Counts(failed=1))


@pytest.fixture
def binaries() -> Path:
    """The folder of a PostgreSQL server's programs."""
    found = find_postgres()
    if found is None:
        pytest.skip(runner.NO_POSTGRES)
    return found


def test_the_throwaway_server_answers_and_leaves_nothing(binaries: Path) -> None:
    import psycopg

    with throwaway_postgres(binaries) as url:
        with psycopg.connect(url) as connection:
            ((encoding,),) = connection.execute("SHOW server_encoding").fetchall()
            ((folder,),) = connection.execute("SHOW data_directory").fetchall()
        assert encoding == "UTF8"
        place = Path(folder).parent
        assert place.exists()
    assert not place.exists()
    with pytest.raises(psycopg.OperationalError):
        psycopg.connect(url)


def test_the_throwaway_server_is_stopped_when_the_tests_break_off(binaries: Path) -> None:
    import psycopg

    seen: list[str] = []

    def break_off() -> None:
        with throwaway_postgres(binaries) as url:
            seen.append(url)
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        break_off()
    with pytest.raises(psycopg.OperationalError):
        psycopg.connect(seen[0])


@pytest.mark.skipif(os.name == "nt", reason="only on Linux and macOS")  # the stand-in programs are shell scripts
def test_a_server_that_will_not_start_says_what_it_said() -> None:
    # Not in pytest's own folder, which the account that runs the server may not enter.
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o755)
        for tool in ("initdb", "pg_ctl"):
            program = folder / tool
            program.write_text("#!/bin/sh\necho the disk is made of cheese\nexit 3\n")
            program.chmod(0o755)
        with pytest.raises(PostgresError, match=r"initdb ended with 3:\nthe disk is made of cheese"), throwaway_postgres(folder):
            pass


def test_the_command_hands_pytests_own_options_on_in_their_order(monkeypatch: pytest.MonkeyPatch) -> None:
    from finishing.management.commands import test as command

    given: list[tuple[str | None, list[str]]] = []

    def record(self: PytestRunner, labels: Sequence[str] = (), **ignored: object) -> int:
        given.append((self.on, list(labels)))
        return 7

    monkeypatch.setattr(PytestRunner, "run_tests", record)
    with pytest.raises(SystemExit) as left:
        command.Command().run_from_argv(["manage.py", "test", "-k", "a or b", "tests/x", "--on", "both", "-v", "--lf"])
    assert left.value.code == 7
    assert given == [("both", ["-k", "a or b", "tests/x", "-v", "--lf"])]
