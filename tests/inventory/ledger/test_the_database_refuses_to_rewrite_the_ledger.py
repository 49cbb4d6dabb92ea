"""Triggers: postings, movements and lot events are added only; a lot keeps its cost; a balance is the sum of its movements."""

# ruff: noqa: S608 - the statements are written here, from table names of our own

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.core.management import call_command
from django.core.management.sql import emit_pre_migrate_signal
from django.db import IntegrityError, connection, transaction
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.operations import RunPython

from inventory import triggers
from inventory.models import CountFind, CountLine, Location, Lot, LotEvent, Material, Movement, Posting, StockCount
from inventory.services.lots import open_lot
from tests.inventory.ledger.broken import sql, without_guards
from tests.inventory.ledger.counter import Counter, on_hand, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]

RECORDS = [Posting, Movement, LotEvent]
HOW_MANY = {"sqlite": 20, "postgresql": 18}  # guards of each kind of database
TABLES = [model._meta.db_table for model in RECORDS]


@pytest.fixture
def lot(counter: Counter, clear: Material) -> Lot:
    """Received, opened and drawn from: a row in each table."""
    lot = counter.receive(clear, "5")
    open_lot(lot=lot, on=today(), by=counter.by)
    counter.issue(clear, "2")
    return lot


def everything() -> list[object]:
    """All rows of the ledger as they stand."""
    return [list(model._default_manager.order_by("pk").values()) for model in (*RECORDS, Lot)]


def refused(act: Callable[[], object], words: str = "its rows are never changed or deleted") -> None:
    """The act raises IntegrityError and leaves every row as it was."""
    before = everything()
    with pytest.raises(IntegrityError, match=words), transaction.atomic():
        act()
    assert everything() == before


def test_every_guard_stands_after_migrate() -> None:
    assert triggers.missing_guards(connection) == []
    assert len(triggers.guards_of(connection)) == HOW_MANY[connection.vendor]


@pytest.mark.parametrize("model", RECORDS)
def test_saving_a_row_again_is_refused(lot: Lot, model: type[Movement]) -> None:
    refused(model._default_manager.earliest("pk").save)


@pytest.mark.parametrize(
    ("model", "change"), [(Posting, {"reason": "x"}), (Movement, {"quantity": Decimal(9)}), (LotEvent, {"reason": "x"})]
)
def test_updating_a_queryset_is_refused(lot: Lot, model: type[Movement], change: dict[str, object]) -> None:
    refused(lambda: model._default_manager.all().update(**change))


@pytest.mark.parametrize("model", [Movement, LotEvent])
def test_deleting_a_row_is_refused(lot: Lot, model: type[Movement]) -> None:
    refused(model._default_manager.latest("pk").delete)
    refused(model._default_manager.all().delete)


def test_deleting_a_posting_without_movements_is_refused(counter: Counter) -> None:
    """With movements the foreign keys protect it already."""
    with without_guards():
        posting = Posting.objects.create(key="0" * 32, kind="issue", by=counter.by, on=today())
    refused(posting.delete)
    with without_guards():
        posting.delete()


@pytest.mark.parametrize("table", TABLES)
def test_sql_that_updates_is_refused(lot: Lot, table: str) -> None:
    refused(lambda: sql(f"UPDATE {table} SET id = id + 1000"))


@pytest.mark.parametrize("table", TABLES)
def test_sql_that_deletes_is_refused(lot: Lot, table: str) -> None:
    refused(lambda: sql(f"DELETE FROM {table}"))


@pytest.mark.sqlite
@pytest.mark.parametrize("table", TABLES)
def test_sql_that_replaces_a_row_is_refused(lot: Lot, table: str) -> None:
    """SQLite deletes the row in the way without asking the delete trigger."""
    refused(lambda: sql(f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}"))


@pytest.mark.sqlite
def test_sql_that_replaces_by_the_key_is_refused(lot: Lot) -> None:
    columns = "key, kind, by_id, 'on', reference, reason, cause, digest"
    refused(
        lambda: sql(
            f"INSERT OR REPLACE INTO inventory_posting ({columns}) "
            "SELECT key, 'receipt', by_id, \"on\", '', 'forged', '', '' FROM inventory_posting"
        )
    )


@pytest.mark.postgresql
@pytest.mark.parametrize("table", TABLES)
def test_sql_that_inserts_or_updates_is_refused(lot: Lot, table: str) -> None:
    refused(lambda: sql(f"INSERT INTO {table} SELECT * FROM {table} ON CONFLICT (id) DO UPDATE SET id = excluded.id"))


@pytest.mark.postgresql
@pytest.mark.parametrize("table", TABLES)
def test_sql_that_truncates_is_refused(lot: Lot, table: str) -> None:
    sql("SET CONSTRAINTS ALL IMMEDIATE")
    refused(lambda: sql(f"TRUNCATE {table} CASCADE"))


def test_a_lot_keeps_its_cost_and_its_material(lot: Lot, thinner: Material) -> None:
    words = "the unit cost and the material of a lot stay as received"
    refused(lambda: Lot.objects.update(unit_cost=Decimal(1)), words)
    refused(lambda: Lot.objects.update(material=thinner), words)
    refused(lambda: sql("UPDATE inventory_lot SET unit_cost = unit_cost + 1"), words)


@pytest.mark.parametrize("balance", ["0", "2.999999", "3.000001", "5"])
def test_a_balance_is_the_sum_of_its_movements(lot: Lot, balance: str) -> None:
    words = "on_hand of a lot is the sum of its movements"
    refused(lambda: Lot.objects.update(on_hand=Decimal(balance)), words)
    refused(lambda: sql("UPDATE inventory_lot SET on_hand = %s", int(Decimal(balance) * 1_000_000)), words)


def test_what_may_change_of_a_lot_can_change(lot: Lot) -> None:
    cabinet = Location.objects.create(name="Cabinet 2")
    assert Lot.objects.update(location=cabinet, on_hand=Decimal(3), opened_on=None) == 1
    lot.refresh_from_db()
    assert (lot.place, lot.on_hand) == ("Cabinet 2", 3)


def test_a_lot_with_movements_can_not_be_deleted(lot: Lot) -> None:
    def delete() -> None:
        sql("DELETE FROM inventory_lot")
        connection.check_constraints()  # what the commit does

    refused(delete, "(?i)foreign key")
    assert on_hand(lot) == 3


def test_a_balance_below_nothing_is_refused_by_a_constraint_too(lot: Lot) -> None:
    with without_guards():
        refused(lambda: sql("UPDATE inventory_lot SET on_hand = -1"), "lot_on_hand_not_negative")


def guard_operations() -> list[RunPython]:
    """The operations of the inventory's migrations that put up the guards."""
    migrations = MigrationLoader(connection).disk_migrations
    return [
        operation
        for (app, _), migration in migrations.items()
        if app == "inventory"
        for operation in migration.operations
        if isinstance(operation, RunPython) and "install_append_only" in operation.code.__code__.co_names
    ]


@pytest.mark.usefixtures("may_disagree")
@pytest.mark.django_db(transaction=True)
def test_a_migration_brings_the_guards_and_takes_them_away() -> None:
    (operation,) = guard_operations()
    with connection.schema_editor() as editor:
        operation.reverse_code(None, editor)
    assert len(triggers.missing_guards(connection)) == HOW_MANY[connection.vendor]
    with connection.schema_editor() as editor:
        operation.code(None, editor)
    standing = set(triggers.guards_of(connection)) - set(triggers.missing_guards(connection))
    assert {name.rpartition("_no_")[0] for name in standing} == set(triggers.APPEND_ONLY)
    assert {"inventory_lot_as_received", "inventory_lot_balance"} <= set(triggers.missing_guards(connection))


@pytest.mark.django_db(transaction=True)
def test_they_are_put_back_by_every_migrate(lot: Lot) -> None:
    triggers.remove_guards(connection)
    call_command("migrate", verbosity=0)
    assert triggers.missing_guards(connection) == []
    refused(lambda: Movement.objects.update(quantity=Decimal(1)))


@pytest.mark.sqlite
@pytest.mark.django_db(transaction=True)
def test_they_survive_a_migration_that_rebuilds_their_tables(lot: Lot) -> None:
    """SQLite drops the triggers of a rebuilt table, and refuses the rebuild while a trigger elsewhere reads it."""
    before = everything()
    emit_pre_migrate_signal(verbosity=0, interactive=False, db="default")
    for model in (*RECORDS, Lot, StockCount, CountLine, CountFind):
        with connection.schema_editor() as editor:
            editor._remake_table(model)
    assert len(triggers.missing_guards(connection)) == HOW_MANY["sqlite"]
    call_command("migrate", verbosity=0)
    assert triggers.missing_guards(connection) == []
    assert everything() == before
    refused(lambda: Movement.objects.update(quantity=Decimal(1)))
    refused(lambda: Lot.objects.update(on_hand=Decimal(1)), "on_hand of a lot is the sum")


@pytest.mark.django_db(transaction=True)
def test_putting_them_up_twice_harms_nothing(lot: Lot) -> None:
    triggers.install_guards()
    triggers.install_guards()
    assert triggers.missing_guards(connection) == []
