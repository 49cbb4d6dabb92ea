"""System checks: each one is silent on a good set-up and speaks on a bad one."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.db import connection, connections
from pytest_django import Settings

from finishing import checks


def ids(found: list[object]) -> list[str]:
    return [message.id for message in found]  # type: ignore[attr-defined]


def test_error_pages_with_details_are_refused_in_production(settings: Settings) -> None:
    settings.DEBUG, settings.LOCAL = True, False
    assert ids(checks.check_debug()) == ["finishing.E001"]
    settings.DEBUG = False
    assert checks.check_debug() == []


@pytest.mark.django_db
def test_the_database_of_this_run_is_of_a_guarded_kind() -> None:
    assert checks.check_database_kind() == []


def test_another_kind_of_database_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(type(connections["default"]), "vendor", "oracle")
    assert ids(checks.check_database_kind()) == ["finishing.E002"]


@pytest.mark.sqlite
@pytest.mark.database
@pytest.mark.django_db
def test_the_open_sqlite_database_keeps_its_promises() -> None:
    assert checks.check_sqlite_promises(databases=["default"]) == []


@pytest.mark.sqlite
@pytest.mark.database
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(("pragma", "bad", "good"), [("synchronous", "OFF", "FULL"), ("foreign_keys", "OFF", "ON")])
def test_a_broken_promise_of_sqlite_is_named(pragma: str, bad: str, good: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA {pragma}={bad}")
    try:
        (message,) = checks.check_sqlite_promises(databases=["default"])
        assert message.id == "finishing.E003"
        assert pragma in message.msg
    finally:
        with connection.cursor() as cursor:
            cursor.execute(f"PRAGMA {pragma}={good}")


@pytest.mark.sqlite
@pytest.mark.django_db
def test_transactions_that_do_not_begin_immediate_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    connection.ensure_connection()
    monkeypatch.setattr(connections["default"], "transaction_mode", "DEFERRED")
    assert ids(checks.check_sqlite_promises(databases=["default"])) == ["finishing.E004"]


def test_a_folder_that_can_be_written_or_made_is_fine(tmp_path: Path) -> None:
    assert checks.folder_problem(tmp_path) is None
    assert checks.folder_problem(tmp_path / "still" / "to" / "come") is None
    assert list(tmp_path.iterdir()) == [], "looking leaves nothing behind"


def test_an_output_folder_that_is_a_file_is_a_warning_with_a_hint(tmp_path: Path, settings: Settings) -> None:
    (tmp_path / "documents").write_text("")
    settings.OUTPUT_DIR = tmp_path / "documents" / "quotes"
    (warning,) = checks.check_output_folder()
    assert warning.id == "finishing.W001"
    assert "is a file, not a folder" in warning.msg
    assert "FINISH_LEDGER_OUTPUT_DIR" in (warning.hint or "")


def test_an_output_folder_on_a_disk_that_refuses_is_a_warning(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(**where: object) -> None:
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr(checks.tempfile, "TemporaryFile", refuse)
    assert checks.folder_problem(tmp_path) == f"{tmp_path}: Read-only file system."
