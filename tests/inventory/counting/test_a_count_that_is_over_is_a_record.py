"""A posted or cancelled count, its lines and its finds: kept, and guarded by the database itself."""

# ruff: noqa: S608 - the statements are written here, from table names of our own

from __future__ import annotations

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.db import IntegrityError, connection, transaction

from inventory.errors import KeyUsedError, TextError
from inventory.errors_counts import CountClosedError, LinesError
from inventory.models import CountFind, CountLine, Lot, Posting, StockCount
from inventory.services.count_posting import WHY
from inventory.services.counting import add_lot, cancel_count, note_find, open_count, remove_find
from tests.inventory.counting.counted import Round, on_hand
from tests.inventory.ledger.broken import sql

pytestmark = [pytest.mark.django_db, pytest.mark.database]
TABLES = [model._meta.db_table for model in (StockCount, CountLine, CountFind)]


@pytest.fixture(params=["posted", "cancelled"])
def over(request: pytest.FixtureRequest, lot: Lot, round_: Round) -> StockCount:
    """A count that was posted, or given up, with a line and a find."""
    count = round_.open()
    round_.enter(count, lot, "9")
    note_find(count=count, by=round_.counts, number="F-1", material=None, amount="1 can")
    if request.param == "posted":
        return round_.post(count).count
    return cancel_count(count=count, by=round_.posts, reason="a delivery came in between")


def refused(act: Callable[[], object]) -> None:
    """The act raises IntegrityError and leaves every row as it was."""

    def rows() -> list[object]:
        return [list(model._default_manager.order_by("pk").values()) for model in (StockCount, CountLine, CountFind)]

    before = rows()
    with pytest.raises(IntegrityError, match="record"), transaction.atomic():
        act()
    assert rows() == before


def test_its_rows_are_never_changed(over: StockCount) -> None:
    refused(lambda: StockCount.objects.update(note="x"))
    refused(lambda: StockCount.objects.update(status="open"))
    refused(lambda: CountLine.objects.update(counted=3))
    refused(lambda: CountFind.objects.update(amount="2 cans"))
    for table in TABLES:
        refused(lambda table=table: sql(f"UPDATE {table} SET id = id + 1000"))  # type: ignore[misc]


def test_its_rows_are_never_deleted(over: StockCount) -> None:
    refused(CountFind.objects.all().delete)
    refused(CountLine.objects.all().delete)
    refused(over.delete)


def test_nothing_is_added_to_it(over: StockCount, lot: Lot, round_: Round) -> None:
    find = CountFind.objects.get()
    refused(lambda: CountFind.objects.create(count=over, number="F-2", amount="1", found_by=round_.counts))
    refused(lambda: sql(f"INSERT INTO {TABLES[1]} (count_id, lot_id, book, reason) VALUES ({over.pk}, {lot.pk}, 1, 'x')"))
    for act in (
        lambda: round_.enter(over, lot, "8"),
        lambda: add_lot(count=over, lot=lot),
        lambda: note_find(count=over, by=round_.counts, number="F-2", material=None, amount="1"),
        lambda: remove_find(count=over, find=find),
        lambda: cancel_count(count=over, by=round_.posts, reason="once more"),
    ):
        with pytest.raises(CountClosedError, match="can’t be changed"):
            act()


@pytest.mark.sqlite
@pytest.mark.parametrize("table", TABLES)
def test_sql_that_replaces_a_row_is_refused(over: StockCount, table: str) -> None:
    refused(lambda: sql(f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}"))


@pytest.mark.postgresql
@pytest.mark.parametrize("table", TABLES)
def test_sql_that_truncates_is_refused(over: StockCount, table: str) -> None:
    connection.check_constraints()
    sql("SET CONSTRAINTS ALL IMMEDIATE")
    refused(lambda: sql(f"TRUNCATE {table} CASCADE"))


def test_an_open_count_can_change(lot: Lot, round_: Round) -> None:
    count = round_.open()
    find = note_find(count=count, by=round_.counts, number="F-1", material=None, amount="1 can")
    assert note_find(count=count, by=round_.counts, number="F-1", material=None, amount="1 can") == find
    remove_find(count=count, find=find)
    round_.enter(count, lot, "9")
    assert (count.lines.filter(counted=9).count(), count.finds.count()) == (1, 0)


def test_a_cancelled_count_says_why_and_moves_nothing(lot: Lot, round_: Round) -> None:
    count = round_.open()
    round_.enter(count, lot, "9")
    with pytest.raises(TextError, match="Say why"):
        cancel_count(count=count, by=round_.posts, reason="  ")
    done = cancel_count(count=count, by=round_.posts, reason="interrupted")
    assert (done.status, done.cancel_reason, done.cancelled_by) == ("cancelled", "interrupted", round_.posts)
    assert (on_hand(lot), round_.line(count, lot).counted, Posting.objects.filter(kind="count").count()) == (10, 9, 0)
    assert round_.open().pk != count.pk, "its lots can be counted anew"


def test_posting_it_twice_posts_once(lot: Lot, round_: Round) -> None:
    count = round_.open()
    round_.enter(count, lot, "9")
    first, second = round_.post(count), round_.post(count, seen="whatever")
    assert (first.again, second.again, on_hand(lot)) == (False, True, 9)
    with pytest.raises(CountClosedError):
        round_.post(count, by=round_.counts)
    assert Posting.objects.filter(kind="count").count() == 1


def test_opening_it_twice_opens_one(lot: Lot, round_: Round) -> None:
    key = uuid4()
    first = open_count(key=key, by=round_.counts, note="year end")
    assert open_count(key=key, by=round_.counts, note="year end") == first
    with pytest.raises(KeyUsedError):
        open_count(key=key, by=round_.posts, note="year end")


def test_a_large_difference_needs_a_reason_which_is_kept(lot: Lot, round_: Round) -> None:
    count = round_.open()
    round_.enter(count, lot, "8")  # 20 % of the books, worth 40
    with pytest.raises(LinesError) as told:
        round_.post(count, why=" ")
    assert told.value.lines == {round_.line(count, lot).pk: WHY}
    assert on_hand(lot) == 10
    round_.post(count, why="Spilled on Monday")
    assert (on_hand(lot), round_.line(count, lot).reason) == (8, "Spilled on Monday")
