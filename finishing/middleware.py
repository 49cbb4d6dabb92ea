"""A plain page instead of a fault when the database is missing, out of date, busy or not writable."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.signals import got_request_exception
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connections
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponse
from django.shortcuts import resolve_url
from django.template.loader import render_to_string

NOT_SET_UP = (
    "The database has not been set up yet. To look around in an invented shop, run: python3 manage.py demo. "
    "To start your own, run: python3 manage.py migrate"
)
OUT_OF_DATE = (
    "The database is older than the program. Make a backup of it, then bring it up to date with: python3 manage.py migrate"
)
_NOT_OPENED = (
    "The database file cannot be opened. Check that its folder exists and may be written to; "
    "DATABASE_URL or FINISH_LEDGER_DATA_DIR says where it lies. "
)

# What the databases say, lower case, and what it means for whoever runs the program.
_MEANINGS: tuple[tuple[str, str], ...] = (
    ("no such table", NOT_SET_UP),
    ("unable to open database file", _NOT_OPENED + NOT_SET_UP),
    ("file is not a database", "The file that DATABASE_URL names is not a database. Put back a backup, or name another file."),
    ("database disk image is malformed", "The database file is damaged. Stop the program and put back the last backup."),
    (
        "readonly database",
        "The database may be read but not written. Give the program the right to write the file and its folder.",
    ),
    ("disk is full", "The disk is full, so nothing was saved. Free some space and try again."),
    ("database is locked", "The database was busy for too long, so nothing was saved. Try again in a moment."),
    ("connection refused", "The database server does not answer. Start it, or correct DATABASE_URL."),
    ("connection failed", "The database server cannot be reached with what DATABASE_URL says. Start it, or correct the address."),
    ("failed to resolve host", "The database server's name in DATABASE_URL is not known on this network."),
)
_UNDEFINED_TABLE, _UNDEFINED_COLUMN = "42P01", "42703"


def explain_database_error(error: BaseException) -> str | None:
    """Say in plain words what a database error means for the person at the machine, or None when it is a program fault."""
    if not isinstance(error, DatabaseError):
        return None
    said = str(error).lower()
    state = getattr(error.__cause__, "sqlstate", None)
    if "no such column" in said or state == _UNDEFINED_COLUMN:
        # A wrong query of ours says the same; only migrations that wait tell the two apart.
        return OUT_OF_DATE if migrations_wait() else None
    if "no such table" in said or state == _UNDEFINED_TABLE:
        return OUT_OF_DATE if _is_set_up() else NOT_SET_UP
    return next((meaning for sign, meaning in _MEANINGS if sign in said), None)


def migrations_wait(alias: str = DEFAULT_DB_ALIAS) -> bool:
    """Whether migrations of this program are not yet applied. False when that cannot be told."""
    try:
        executor = MigrationExecutor(connections[alias])
        return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))
    except DatabaseError:
        return False


def _is_set_up(alias: str = DEFAULT_DB_ALIAS) -> bool:
    try:
        return "django_migrations" in connections[alias].introspection.table_names()
    except DatabaseError:
        return False


def _note_database_fault(sender: object, request: HttpRequest | None = None, **extra: Any) -> None:  # noqa: ARG001
    """Keep the reason of a fault on its request.

    Faults in other middleware never reach ``process_exception``; by the time the response passes here again the
    exception is gone, and only this signal saw it.
    """
    error = sys.exc_info()[1]
    if request is not None and error is not None:
        request.database_fault = explain_database_error(error)  # type: ignore[attr-defined]


got_request_exception.connect(_note_database_fault, dispatch_uid="finishing.middleware.database_fault")


class DatabaseReadyMiddleware:
    """Turn a fault of the database itself into a page that says what to do, with status 503."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Replace the response of a request that failed on the database outside a view."""
        response = self.get_response(request)
        fault: str | None = getattr(request, "database_fault", None)
        return response if fault is None else _page(fault)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:  # noqa: ARG002
        """Answer for a view that failed on the database; every other fault goes its usual way."""
        fault = explain_database_error(exception)
        return None if fault is None else _page(fault)


def _page(explanation: str) -> HttpResponse:
    response = HttpResponse(render_to_string("503.html", {"explanation": explanation}), status=503)
    response["Retry-After"] = "30"
    response["Cache-Control"] = "no-store"
    return response


SIGNED_OUT = (
    "You have been signed out, so this page no longer answers. Sign in in another window and go on here: "
    "what you typed is still there."
)


class PartOfAPageMiddleware:
    """Answer a page's own small request with 401 where signing in is wanted: the sign-in page has no place inside a page."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Replace a redirect to the sign-in page; ``house.js`` shows the words."""
        response = self.get_response(request)
        sent_away = response.status_code == 302 and urlsplit(response["Location"]).path == resolve_url(settings.LOGIN_URL)
        if sent_away and request.headers.get("HX-Request") == "true":
            return HttpResponse(SIGNED_OUT, status=401, content_type="text/plain; charset=utf-8")
        return response
