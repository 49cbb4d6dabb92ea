"""Checks that run when the program starts, each with a hint that says what would be right."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, register
from django.core.checks import Warning as CheckWarning
from django.db import DatabaseError, connections

SUPPORTED = frozenset({"sqlite", "postgresql"})
# As SQLite reports them: synchronous 2 is FULL, foreign_keys 1 is on.
SQLITE_PROMISES: tuple[tuple[str, object, str], ...] = (
    ("journal_mode", "wal", "readers and the writer would block each other"),
    ("synchronous", 2, "a power cut could lose the last postings"),
    ("foreign_keys", 1, "rows could point at nothing"),
)


@register(Tags.security)
def check_debug(**kwargs: Any) -> list[CheckMessage]:  # noqa: ARG001
    """Error pages with program details belong on the developer's own machine only."""
    if settings.DEBUG and not settings.LOCAL:
        return [
            Error(
                "DEBUG is on in production: error pages would show settings and data to anybody.",
                hint="Unset FINISH_LEDGER_DEBUG.",
                id="finishing.E001",
            )
        ]
    return []


@register()
def check_database_kind(**kwargs: Any) -> list[CheckMessage]:  # noqa: ARG001
    """The triggers that guard the ledger exist for two databases only."""
    return [
        Error(
            f"The database {alias!r} is of a kind ({connections[alias].vendor}) on which the ledger is not guarded.",
            hint="Set DATABASE_URL to sqlite:///… or postgres://….",
            id="finishing.E002",
        )
        for alias in connections
        if connections[alias].vendor not in SUPPORTED
    ]


@register(Tags.database)
def check_sqlite_promises(databases: Sequence[str] | None = None, **kwargs: Any) -> list[CheckMessage]:  # noqa: ARG001
    """The open SQLite database really works as the ledger needs it; asked of the connection, not of the settings."""
    found: list[CheckMessage] = []
    for alias in databases or ():
        connection = connections[alias]
        if connection.vendor != "sqlite":
            continue
        try:
            with connection.cursor() as cursor:
                for pragma, wanted, otherwise in SQLITE_PROMISES:
                    actual = cursor.execute(f"PRAGMA {pragma}").fetchone()[0]
                    if actual != wanted:
                        found.append(
                            Error(
                                f"SQLite runs with {pragma} = {actual}, not {wanted}: {otherwise}.",
                                hint="Leave OPTIONS of the database as settings give them; "
                                "a network folder cannot keep a SQLite database, use a local disk or PostgreSQL.",
                                id="finishing.E003",
                            )
                        )
            if getattr(connection, "transaction_mode", None) != "IMMEDIATE":
                found.append(
                    Error(
                        "SQLite transactions do not begin IMMEDIATE: a posting that reads first would fail under load.",
                        hint="Leave OPTIONS of the database as settings give them.",
                        id="finishing.E004",
                    )
                )
        except DatabaseError as error:
            found.append(Error(f"The database cannot be used: {error}.", hint="See DATABASE_URL.", id="finishing.E005"))
    return found


@register()
def check_output_folder(**kwargs: Any) -> list[CheckMessage]:  # noqa: ARG001
    """Documents can be written where the settings say."""
    problem = folder_problem(Path(settings.OUTPUT_DIR))
    if problem is None:
        return []
    return [
        CheckWarning(
            f"Documents cannot be written: {problem}",
            hint="Set FINISH_LEDGER_OUTPUT_DIR to a folder that the program may write to.",
            id="finishing.W001",
        )
    ]


def folder_problem(folder: Path) -> str | None:
    """Why nothing can be written into ``folder``, or None. A folder that does not exist yet counts by its parent.

    Tried by writing a file that vanishes at once: permission bits do not tell about read-only or full disks.
    """
    place = folder
    while not place.exists() and place != place.parent:
        place = place.parent
    if not place.is_dir():
        return f"{place} is a file, not a folder."
    if not os.access(place, os.W_OK | os.X_OK):
        return f"{place} may not be written to."
    try:
        with tempfile.TemporaryFile(dir=place):
            return None
    except OSError as error:
        return f"{place}: {error.strerror}."
