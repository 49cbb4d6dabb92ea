"""Ways around the ledger's guards, for tests that break it on purpose inside a transaction that is rolled back."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection

from inventory.triggers import install_guards, remove_guards


def sql(statement: str, *parameters: Any) -> None:
    """Run a statement past the framework."""
    with connection.cursor() as cursor:
        cursor.execute(statement, parameters)


@contextmanager
def without_guards() -> Iterator[None]:
    """The database without the ledger's triggers."""
    _settle()
    remove_guards(connection)
    yield
    _settle()
    install_guards()


@contextmanager
def without_balance_check() -> Iterator[None]:
    """The database without the rule that a lot never holds less than nothing."""
    if connection.vendor == "sqlite":
        sql("PRAGMA ignore_check_constraints = ON")
        yield
        sql("PRAGMA ignore_check_constraints = OFF")
    else:
        _settle()
        sql("ALTER TABLE inventory_lot DROP CONSTRAINT lot_on_hand_not_negative")
        yield


def _settle() -> None:
    """PostgreSQL changes no table while checks of foreign keys wait for the commit."""
    if connection.vendor == "postgresql":
        sql("SET CONSTRAINTS ALL IMMEDIATE")
