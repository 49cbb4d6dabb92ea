"""Ledger postings per second: the ledger service against raw SQLite transactions that write the same rows.

Both work in files of their own with the same tables, indexes, guards and pragmas. A round of ours posts a batch of issues; the
baseline then writes exactly the rows that this batch left, one transaction an issue. At the end both files must hold the same.
"""

from __future__ import annotations

import sqlite3
import uuid
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from statistics import median

from costing.bench.measure import BenchError, Pair, Ratio, Size, seconds_of
from costing.bench.temporary import Databases
from finishing.models import User
from inventory.models import Material
from inventory.services import ledger

BATCH = 20  # issues a round
CODES = ("WHITE-2K", "HARD-2K", "THIN-2K")  # what one coat draws
OURS, RAW = "postings", "postings-raw"
TABLES = ("inventory_posting", "inventory_movement", "inventory_lot")


def measure_postings(databases: Databases, source: str, size: Size, *, today: date) -> list[Ratio]:
    """Issues of three materials each, in copies of the database ``source``."""
    databases.copy(source, OURS)
    databases.use(OURS)
    by = User.objects.get(username="finisher")
    materials = [Material.objects.get(code=code) for code in CODES]
    _fill_shelf(materials, by=by, today=today)
    databases.copy(OURS, RAW)
    with closing(raw_connection(databases.path(RAW))) as raw:
        pair = _rounds(databases.path(OURS), raw, materials, by=by, today=today, rounds=size.posting_rounds)
        with closing(reader(databases.path(OURS))) as ours:
            check_same_rows(ours, raw)
    return [
        pair.rates(
            f"Issue of {len(CODES)} lots, posted by the ledger",
            pieces=BATCH,
            unit="postings/s",
            against="raw sqlite3, same rows, guards and pragmas",
        )
    ]


def _fill_shelf(materials: Sequence[Material], *, by: User, today: date) -> None:
    lines = [
        ledger.ReceiptLine(material=material, quantity=Decimal(100_000), unit_cost=Decimal(10), lot_number=f"FULL-{place}")
        for place, material in enumerate(materials)
    ]
    ledger.receive(key=uuid.uuid4(), by=by, on=today, supplier=None, reference="Full shelf", lines=lines)


def raw_connection(path: Path) -> sqlite3.Connection:
    """A connection as the program opens one: write-ahead log, full sync; its transactions are begun by hand."""
    raw = sqlite3.connect(path, isolation_level=None)
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "busy_timeout=20000", "foreign_keys=ON"):
        raw.execute(f"PRAGMA {pragma}")
    return raw


def reader(path: Path) -> sqlite3.Connection:
    """A connection that only looks."""
    return sqlite3.connect(f"{path.as_uri()}?mode=ro", uri=True)


@dataclass(frozen=True, slots=True)
class _Written:
    """The rows that one posting left: itself, its movements, the balances after it."""

    posting: tuple[object, ...]
    movements: Sequence[tuple[object, ...]]
    balances: Sequence[tuple[object, ...]]


def _rounds(
    ours_path: Path, raw: sqlite3.Connection, materials: Sequence[Material], *, by: User, today: date, rounds: int
) -> Pair:
    times: tuple[list[float], list[float]] = ([], [])
    with closing(reader(ours_path)) as look:
        for number in range(rounds + 1):
            last = look.execute("SELECT max(id) FROM inventory_posting").fetchone()[0]
            balances = dict(look.execute("SELECT id, on_hand FROM inventory_lot").fetchall())
            ours = seconds_of(lambda: _issue_batch(materials, by=by, today=today))
            written = _written_since(look, last, balances)
            theirs = seconds_of(lambda rows=written: _write_batch(raw, rows))  # type: ignore[misc]
            if number:  # the first round warms up
                times[0].append(ours)
                times[1].append(theirs)
    return Pair(ours=median(times[0]), baseline=median(times[1]))


def _issue_batch(materials: Sequence[Material], *, by: User, today: date) -> None:
    for _ in range(BATCH):
        lines = [ledger.IssueLine(material=material, quantity=Decimal("0.75")) for material in materials]
        ledger.issue(key=uuid.uuid4(), by=by, on=today, lines=lines, reference="Coat")


def _written_since(look: sqlite3.Connection, last: int, balances: dict[int, int]) -> list[_Written]:
    """What stands in our file since posting ``last``, in the order in which it was written."""
    found = []
    for posting in look.execute("SELECT * FROM inventory_posting WHERE id > ? ORDER BY id", (last,)).fetchall():
        movements = look.execute("SELECT * FROM inventory_movement WHERE posting_id = ? ORDER BY id", (posting[0],)).fetchall()
        moved = look.execute(
            "SELECT lot_id, sum(quantity) FROM inventory_movement WHERE posting_id = ? GROUP BY lot_id ORDER BY lot_id",
            (posting[0],),
        ).fetchall()
        after = []
        for lot, change in moved:
            balances[lot] += change
            after.append((balances[lot], lot))
        found.append(_Written(posting, movements, after))
    return found


def _write_batch(raw: sqlite3.Connection, batch: Sequence[_Written]) -> None:
    for rows in batch:
        raw.execute("BEGIN IMMEDIATE")
        raw.execute(insert_words("inventory_posting", rows.posting), rows.posting)
        raw.executemany(insert_words("inventory_movement", rows.movements[0]), rows.movements)
        raw.executemany("UPDATE inventory_lot SET on_hand = ? WHERE id = ?", rows.balances)
        raw.execute("COMMIT")


def insert_words(table: str, row: Sequence[object]) -> str:
    """The statement that inserts a whole row."""
    return f"INSERT INTO {table} VALUES ({', '.join('?' * len(row))})"  # noqa: S608 - our own table names


def check_same_rows(ours: sqlite3.Connection, theirs: sqlite3.Connection) -> None:
    """Refuse to compare when the two files hold different postings, movements or lots."""
    for table in TABLES:
        query = f"SELECT * FROM {table} ORDER BY id"  # noqa: S608 - our own table names
        if ours.execute(query).fetchall() != theirs.execute(query).fetchall():
            raise BenchError(f"Ours and the baseline left different rows in {table}.")
