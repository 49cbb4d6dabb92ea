"""Guards inside the database: the stock ledger's rows are added, never changed, never deleted.

They hold against every way in: the pages, a shell, another program with a connection.

* A posting, a movement or a lot's event can't be changed, deleted or replaced (PostgreSQL: nor truncated).
* A lot's unit cost and material stay as received.
* A lot's ``on_hand`` can be set to the sum of its movements only.
* A posted or cancelled count stays as it is (``inventory.triggers_counts``).

A broken rule raises ``IntegrityError`` on both databases. SQLite forgets the triggers of a table that a migration rebuilds,
so they are put back after every ``migrate``. The guards of lots and of counts read other tables, which SQLite does not allow
while those are being rebuilt, so ``lift_lot_guards`` takes them away before a ``migrate``.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.backends.base.base import BaseDatabaseWrapper

from inventory import triggers_counts

APPEND_ONLY = ("inventory_posting", "inventory_movement", "inventory_lotevent")
_LOT = "inventory_lot"
_MOVEMENT = "inventory_movement"
_SUM = f"(SELECT COALESCE(SUM(quantity), 0) FROM {_MOVEMENT} WHERE lot_id = NEW.id)"  # noqa: S608 - our own table names
# A REPLACE deletes the row in its way without any delete trigger, so SQLite needs to look before an insert.
_TAKEN = {
    "inventory_posting": "id = NEW.id OR key = NEW.key",
    "inventory_movement": "id = NEW.id OR reverses_id = NEW.reverses_id",
    "inventory_lotevent": "id = NEW.id",
}


def _append_only_words(table: str) -> str:
    return f"{table} is a record: its rows are never changed or deleted"


_COST_WORDS = "the unit cost and the material of a lot stay as received"
_BALANCE_WORDS = "on_hand of a lot is the sum of its movements"


def _sqlite_append_only() -> Mapping[str, str]:
    guards = {}
    for table in APPEND_ONLY:
        refuse = f"BEGIN SELECT RAISE(ABORT, '{_append_only_words(table)}'); END"
        guards[f"{table}_no_update"] = f"BEFORE UPDATE ON {table} {refuse}"
        guards[f"{table}_no_delete"] = f"BEFORE DELETE ON {table} {refuse}"
        taken = f"EXISTS (SELECT 1 FROM {table} WHERE {_TAKEN[table]})"  # noqa: S608
        guards[f"{table}_no_replace"] = f"BEFORE INSERT ON {table} WHEN {taken} {refuse}"
    return guards


def _sqlite_lot() -> Mapping[str, str]:
    return {
        f"{_LOT}_as_received": (
            f"BEFORE UPDATE OF unit_cost, material_id ON {_LOT} "
            "WHEN NEW.unit_cost <> OLD.unit_cost OR NEW.material_id <> OLD.material_id "
            f"BEGIN SELECT RAISE(ABORT, '{_COST_WORDS}'); END"
        ),
        f"{_LOT}_balance": (
            f"BEFORE UPDATE OF on_hand ON {_LOT} WHEN NEW.on_hand <> {_SUM} BEGIN SELECT RAISE(ABORT, '{_BALANCE_WORDS}'); END"
        ),
    }


def _postgresql_append_only() -> Mapping[str, str]:
    guards = {}
    for table in APPEND_ONLY:
        refuse = f"EXECUTE FUNCTION inventory_refuse('{_append_only_words(table)}')"
        guards[f"{table}_no_update"] = f"BEFORE UPDATE ON {table} FOR EACH ROW {refuse}"
        guards[f"{table}_no_delete"] = f"BEFORE DELETE ON {table} FOR EACH ROW {refuse}"
        guards[f"{table}_no_truncate"] = f"BEFORE TRUNCATE ON {table} FOR EACH STATEMENT {refuse}"
    return guards


def _postgresql_lot() -> Mapping[str, str]:
    return {
        f"{_LOT}_as_received": (
            f"BEFORE UPDATE OF unit_cost, material_id ON {_LOT} FOR EACH ROW "
            "WHEN (NEW.unit_cost <> OLD.unit_cost OR NEW.material_id <> OLD.material_id) "
            f"EXECUTE FUNCTION inventory_refuse('{_COST_WORDS}')"
        ),
        f"{_LOT}_balance": f"BEFORE UPDATE OF on_hand ON {_LOT} FOR EACH ROW EXECUTE FUNCTION inventory_lot_balance()",
    }


_POSTGRESQL_FUNCTIONS = {
    "inventory_refuse": "BEGIN RAISE EXCEPTION '%', TG_ARGV[0] USING ERRCODE = '23514'; END",
    "inventory_lot_balance": (
        f"BEGIN IF NEW.on_hand <> {_SUM} THEN RAISE EXCEPTION '{_BALANCE_WORDS}' USING ERRCODE = '23514'; END IF; RETURN NEW; END"
    ),
    **triggers_counts.POSTGRESQL_FUNCTIONS,
}
_APPEND_ONLY_GUARDS = {"sqlite": _sqlite_append_only(), "postgresql": _postgresql_append_only()}
# Those that read another table, which may be missing while tables are rebuilt.
_READING_GUARDS = {
    "sqlite": {**_sqlite_lot(), **triggers_counts.GUARDS["sqlite"]},
    "postgresql": {**_postgresql_lot(), **triggers_counts.GUARDS["postgresql"]},
}


def _table_of(trigger: str) -> str:
    return next(table for table in (*APPEND_ONLY, _LOT, *triggers_counts.COUNT_TABLES) if trigger.startswith(f"{table}_"))


def guards_of(connection: BaseDatabaseWrapper) -> Mapping[str, str]:
    """The triggers that a database must have: name and definition. Raises ``KeyError`` for an unknown kind of database."""
    return {**_APPEND_ONLY_GUARDS[connection.vendor], **_READING_GUARDS[connection.vendor]}


def _put(connection: BaseDatabaseWrapper, guards: Mapping[str, str]) -> None:
    _take_away(connection, guards)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            for name, body in _POSTGRESQL_FUNCTIONS.items():
                cursor.execute(f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS $guard$ {body} $guard$")
        for name, definition in guards.items():
            cursor.execute(f"CREATE TRIGGER {name} {definition}")


def _take_away(connection: BaseDatabaseWrapper, guards: Mapping[str, str]) -> None:
    present = set(connection.introspection.table_names())
    with connection.cursor() as cursor:
        for name in guards:
            table = _table_of(name)
            if table in present:
                cursor.execute(f"DROP TRIGGER IF EXISTS {name}" + (f" ON {table}" if connection.vendor == "postgresql" else ""))


def install_append_only(connection: BaseDatabaseWrapper) -> None:
    """Put up the guards that look at their own table only; safe while later migrations of the same run rebuild tables."""
    _put(connection, _APPEND_ONLY_GUARDS[connection.vendor])


def remove_guards(connection: BaseDatabaseWrapper) -> None:
    """Take all guards away: to undo the migration that brought them, or to empty a test database."""
    _take_away(connection, guards_of(connection))
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            for name in _POSTGRESQL_FUNCTIONS:
                cursor.execute(f"DROP FUNCTION IF EXISTS {name}()")


def missing_guards(connection: BaseDatabaseWrapper) -> list[str]:
    """The names of guards that the database should have and does not (one query)."""
    catalogue = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname FROM pg_trigger WHERE tgenabled <> 'D'",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(catalogue)
        present = {row[0] for row in cursor.fetchall()}
    return sorted(set(guards_of(connection)) - present)


def install_guards(*, using: str = DEFAULT_DB_ALIAS, **_signal: Any) -> None:
    """Put up every guard afresh; listens to ``post_migrate``. A table that is not there yet is left for the next time."""
    connection = connections[using]
    present = set(connection.introspection.table_names())
    _put(connection, {name: text for name, text in guards_of(connection).items() if {_table_of(name), _MOVEMENT} <= present})


def lift_lot_guards(*, using: str = DEFAULT_DB_ALIAS, **_signal: Any) -> None:
    """Take the guards of lots away while tables are rebuilt; listens to ``pre_migrate``."""
    connection = connections[using]
    _take_away(connection, _READING_GUARDS[connection.vendor])
