"""Bringing in a list of materials, from the file to the books, against raw SQLite that writes the same rows.

Ours reads the file, finds out what it would change, looks a second time under the transaction and writes. The baseline writes the
rows that this left, materials and their history, in one transaction of its own. Both files must then hold the same.
"""

from __future__ import annotations

import csv
import io
import sqlite3
import uuid
from contextlib import closing
from datetime import date
from functools import partial
from statistics import median

from costing.bench.measure import BenchError, Pair, Ratio, Size, seconds_of
from costing.bench.temporary import Databases
from finishing.models import User
from finishing.steps import finish
from inventory.bringing_in.materials import COLUMNS
from inventory.bringing_in.plan import Given
from inventory.choices import ListKind
from inventory.models import ListUpload
from inventory.services.bringing_in import Upload, apply_list, take_in

OURS, RAW = "imports", "imports-raw"
TABLES = ("inventory_material", "inventory_historicalmaterial")


def material_file(count: int) -> bytes:
    """A list of invented materials with all columns filled."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([column.heading for column in COLUMNS])
    for number in range(count):
        row = {
            "code": f"M-{number:05d}",
            "name": f"Coating {number}, invented",
            "kind": "Coating",
            "stock_unit": "L",
            "is_active": "yes",
            "usual_location": f"Shelf {number % 40}",
            "density": f"{1 + number % 300 / 1000}",
            "volume_solids": f"{20 + number % 400 / 10}",
            "voc": str(number % 500),
            "water_fraction": str(number % 60),
            "yield_fraction": "98",
            "shelf_life_days": "365",
            "h_codes": "H225, H317",
            "weekly_use": f"{number % 90 / 10}",
            "note": f"Row {number} of a list for measuring",
        }
        writer.writerow([row.get(column.field, "") for column in COLUMNS])
    return out.getvalue().encode()


def measure_imports(databases: Databases, source: str, size: Size, *, today: date) -> list[Ratio]:
    """The dry run, and dry run and application together, in copies of the database ``source``."""
    content = material_file(size.import_rows)
    dry: list[float] = []
    whole: list[float] = []
    raw: list[float] = []
    for _ in range(size.import_rounds):
        for name in (OURS, RAW):
            databases.drop(name)
            databases.copy(source, name)
        databases.use(OURS)
        first = _take_in(content, today)
        dry.append(first[1])
        whole.append(first[1] + seconds_of(partial(_apply, first[0])))
        raw.append(_write_raw(databases))
    against = "raw sqlite3, same rows of materials and history"
    name = f"{size.import_rows:,} materials from a CSV file"
    baseline = median(raw)
    return [
        Pair(ours=median(dry), baseline=baseline).milliseconds(f"{name}, dry run", against=against),
        Pair(ours=median(whole), baseline=baseline).milliseconds(f"{name}, dry run and applied", against=against),
    ]


def _take_in(content: bytes, today: date) -> tuple[ListUpload, float]:
    by = User.objects.get(username="office")
    given = Given(by=by, on=today, file_name="materials.csv", key=uuid.uuid4())
    made: list[ListUpload] = []
    upload = Upload(kind=ListKind.MATERIALS, content=content, most_bytes=len(content), given=given)
    seconds = seconds_of(lambda: made.append(finish(take_in(upload))))
    return made[0], seconds


def _apply(upload: ListUpload) -> None:
    finish(apply_list(upload=upload, by=User.objects.get(username="office")))


def _write_raw(databases: Databases) -> float:
    """Write what ours left into the copy that it began with; the seconds that took."""
    with (
        closing(sqlite3.connect(f"{databases.path(OURS).as_uri()}?mode=ro", uri=True)) as ours,
        closing(sqlite3.connect(databases.path(RAW), isolation_level=None)) as raw,
    ):
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
            raw.execute(f"PRAGMA {pragma}")
        _copy_rows(ours, raw, "inventory_location", _last(raw, "inventory_location"))
        new = {table: _rows(ours, table, _last(raw, table)) for table in TABLES}
        seconds = seconds_of(lambda: _insert(raw, new))
        for table in TABLES:
            if _rows(ours, table, 0) != _rows(raw, table, 0):
                raise BenchError(f"Ours and the baseline left different rows in {table}.")
    return seconds


def _key(table: str) -> str:
    return "history_id" if "historical" in table else "id"


def _last(connection: sqlite3.Connection, table: str) -> int:
    last: int = connection.execute(f"SELECT coalesce(max({_key(table)}), 0) FROM {table}").fetchone()[0]  # noqa: S608 - our tables
    return last


def _rows(connection: sqlite3.Connection, table: str, after: int) -> list[tuple[object, ...]]:
    key = _key(table)
    query = f"SELECT * FROM {table} WHERE {key} > ? ORDER BY {key}"  # noqa: S608 - our own table names
    return connection.execute(query, (after,)).fetchall()


def _copy_rows(ours: sqlite3.Connection, raw: sqlite3.Connection, table: str, after: int) -> None:
    rows = _rows(ours, table, after)
    if rows:
        raw.executemany(f"INSERT INTO {table} VALUES ({', '.join('?' * len(rows[0]))})", rows)  # noqa: S608 - our own table names


def _insert(raw: sqlite3.Connection, new: dict[str, list[tuple[object, ...]]]) -> None:
    raw.execute("BEGIN IMMEDIATE")
    for table, rows in new.items():
        raw.executemany(f"INSERT INTO {table} VALUES ({', '.join('?' * len(rows[0]))})", rows)  # noqa: S608 - our own table names
    raw.execute("COMMIT")
