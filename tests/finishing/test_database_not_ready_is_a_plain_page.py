"""A database that is missing, old, busy or damaged gives a page with a sentence and status 503."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import psycopg
import pytest
from django.db import DatabaseError, IntegrityError, OperationalError, connection
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory

from finishing import middleware
from finishing.middleware import NOT_SET_UP, OUT_OF_DATE, DatabaseReadyMiddleware, explain_database_error

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ("unable to open database file", "cannot be opened"),
        ("file is not a database", "is not a database"),
        ("database disk image is malformed", "put back the last backup"),
        ("attempt to write a readonly database", "right to write"),
        ("database or disk is full", "Free some space"),
        ("database is locked", "Try again in a moment"),
        ('connection to server at "x", port 1 failed: Connection refused', "does not answer"),
    ],
)
def test_each_trouble_has_its_own_sentence(said: str, sentence: str) -> None:
    explanation = explain_database_error(OperationalError(said))
    assert explanation is not None
    assert sentence in explanation


@pytest.mark.parametrize(
    "error", [IntegrityError("UNIQUE constraint failed: lot.code"), DatabaseError("syntax error"), ValueError("no such table: x")]
)
def test_a_fault_of_the_program_is_not_blamed_on_the_database(error: Exception) -> None:
    assert explain_database_error(error) is None


def test_a_missing_table_says_which_command_makes_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(middleware, "_is_set_up", lambda: False)
    assert explain_database_error(OperationalError("no such table: finishing_shop")) == NOT_SET_UP
    assert "python3 manage.py demo" in NOT_SET_UP
    assert "python3 manage.py migrate" in NOT_SET_UP


def test_a_missing_table_in_a_database_that_was_set_up_means_it_is_old(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(middleware, "_is_set_up", lambda: True)
    assert explain_database_error(OperationalError("no such table: finishing_shop")) == OUT_OF_DATE


@pytest.mark.parametrize(("waiting", "explanation"), [(True, OUT_OF_DATE), (False, None)])
def test_a_missing_column_is_an_old_database_only_while_migrations_wait(
    monkeypatch: pytest.MonkeyPatch, waiting: bool, explanation: str | None
) -> None:
    monkeypatch.setattr(middleware, "migrations_wait", lambda: waiting)
    assert explain_database_error(OperationalError("no such column: shop.colour")) == explanation


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_what_this_database_really_says_about_a_missing_table_is_understood() -> None:
    with pytest.raises(DatabaseError) as caught, connection.cursor() as cursor:
        cursor.execute("SELECT * FROM no_such_table_at_all")
    assert explain_database_error(caught.value) == OUT_OF_DATE


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_what_this_database_really_says_about_a_missing_column_is_no_old_database_when_none_waits() -> None:
    with pytest.raises(DatabaseError) as caught, connection.cursor() as cursor:
        cursor.execute("SELECT no_such_column FROM finishing_shop")
    assert explain_database_error(caught.value) is None


@pytest.mark.parametrize("place", ["127.0.0.1:9", "no-such-host.invalid:5432"])
def test_what_a_server_that_cannot_be_reached_leaves_behind_is_understood(place: str) -> None:
    with pytest.raises(psycopg.OperationalError) as caught:
        psycopg.connect(f"postgres://ledger@{place}/ledger", connect_timeout=5)
    explanation = explain_database_error(OperationalError(*caught.value.args))
    assert explanation is not None
    assert "DATABASE_URL" in explanation


def answer(view: Callable[[HttpRequest], HttpResponse]) -> HttpResponse | None:
    """What the middleware answers for a view that fails."""
    request = RequestFactory().get("/")
    try:
        view(request)
    except Exception as error:  # noqa: BLE001 - whatever the view raises is what the middleware gets
        return DatabaseReadyMiddleware(view).process_exception(request, error)
    raise AssertionError("the view did not fail")


def locked(request: HttpRequest) -> HttpResponse:
    raise OperationalError("database is locked")


def broken(request: HttpRequest) -> HttpResponse:
    raise ZeroDivisionError


def test_a_failing_view_becomes_a_503_that_no_cache_keeps() -> None:
    response = answer(locked)
    assert response is not None
    assert response.status_code == 503
    assert response["Cache-Control"] == "no-store"
    assert "Try again in a moment" in response.text


def test_another_fault_of_a_view_goes_its_usual_way() -> None:
    assert answer(broken) is None


@pytest.mark.django_db
def test_a_fault_outside_any_view_is_caught_too(monkeypatch: pytest.MonkeyPatch, client: Client) -> None:
    """The session is read by middleware, where exceptions never reach a middleware's exception hook."""

    def fail(*args: object, **kwargs: object) -> None:
        raise OperationalError("unable to open database file")

    client.cookies["sessionid"] = "x" * 32
    client.raise_request_exception = False
    monkeypatch.setattr("django.contrib.sessions.backends.db.SessionStore.load", fail)
    response = client.get("/")
    assert response.status_code == 503
    assert "cannot be opened" in response.text
    assert "Traceback" not in response.text


def test_a_command_on_a_missing_database_ends_with_the_sentence(tmp_path: Path) -> None:
    done = run_manage("shell", "-c", "from finishing.models import Shop; Shop.objects.count()", folder=tmp_path)
    assert done.returncode == 2
    assert done.stderr.strip().endswith(NOT_SET_UP)
    assert "Traceback" not in done.stderr


def test_a_command_on_a_folder_that_is_not_there_ends_with_a_sentence(tmp_path: Path) -> None:
    done = run_manage("migrate", folder=tmp_path / "not" / "there")
    assert done.returncode == 2
    assert "Check that its folder exists" in done.stderr
    assert "Traceback" not in done.stderr


def run_manage(*arguments: str, folder: Path) -> subprocess.CompletedProcess[str]:
    environ = {
        **os.environ,
        "FINISH_LEDGER_NO_BOOTSTRAP": "1",
        "DATABASE_URL": f"sqlite:///{(folder / 'none.sqlite3').as_posix()}",
    }
    return subprocess.run(
        [sys.executable, "manage.py", *arguments], cwd=ROOT, env=environ, capture_output=True, text=True, check=False
    )
