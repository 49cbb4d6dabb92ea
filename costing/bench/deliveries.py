"""A delivery of many lines: the services that pages use against raw SQLite that inserts the same rows.

Both work in files of their own with the same tables, indexes, guards and pragmas. A round of ours books a delivery; the baseline
then inserts exactly the posting, the lots and the movements that it left, in one transaction. At the end both files must hold
the same.
"""

from __future__ import annotations

import sqlite3
import uuid
from collections.abc import Callable, Sequence
from contextlib import closing
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from statistics import median

from costing.bench.measure import Pair, Ratio, Size, seconds_of
from costing.bench.postings import check_same_rows, insert_words, raw_connection, reader
from costing.bench.temporary import Databases
from finishing.models import User
from inventory.models import Material, Pack, PurchaseOrder, Supplier
from inventory.services.deliveries import receive_delivery
from inventory.services.ledger import ReceiptLine
from inventory.services.order_receipts import ArrivedLine, receive_order
from inventory.services.orders import WantedLine, create_order, send_order

LOTS_A_LINE = 4  # lots in which each line of the order comes
AGAINST = "raw sqlite3, same rows, guards and pragmas"
OURS, RAW = "deliveries", "deliveries-raw"


def measure_deliveries(databases: Databases, source: str, size: Size, *, today: date) -> list[Ratio]:
    """Deliveries of ``size.delivery_lines`` lots, plain and against an order, in copies of the database ``source``."""
    databases.copy(source, OURS)
    databases.use(OURS)
    by = User.objects.get(username="office")
    packs = _packs(size.delivery_lines // LOTS_A_LINE)
    orders = [_order(packs, by=by, today=today) for _ in range(size.delivery_rounds + 1)]
    databases.copy(OURS, RAW)
    numbers = range(size.delivery_rounds + 1)
    plain = [lambda number=number: _plain(packs, number, by=by, today=today) for number in numbers]
    ordered = [lambda order=order: _ordered(order, by=by, today=today) for order in orders]
    with closing(raw_connection(databases.path(RAW))) as raw:
        pairs = [_rounds(databases.path(OURS), raw, works) for works in (plain, ordered)]
        with closing(reader(databases.path(OURS))) as ours:
            check_same_rows(ours, raw)
    words = (f"Delivery of {size.delivery_lines} lots", f"Delivery of {size.delivery_lines} lots against an order")
    return [pair.milliseconds(name, against=AGAINST) for name, pair in zip(words, pairs, strict=True)]


def _packs(count: int) -> list[Pack]:
    supplier = Supplier.objects.create(name="Bench Supplies (invented)")
    made = []
    for number in range(count):
        material = Material.objects.create(code=f"BENCH-{number}", name=f"Bench material {number}", kind="coating")
        made.append(Pack.objects.create(material=material, supplier=supplier, description="5 L can", content=5, price=20))
    return made


def _order(packs: Sequence[Pack], *, by: User, today: date) -> PurchaseOrder:
    wanted = [WantedLine(pack=pack, packs=LOTS_A_LINE) for pack in packs]
    order = create_order(key=uuid.uuid4(), by=by, supplier=packs[0].supplier, lines=wanted)
    return send_order(order=order, by=by, on=today)


def _plain(packs: Sequence[Pack], number: int, *, by: User, today: date) -> None:
    lines = [
        ReceiptLine(
            material=pack.material,
            quantity=Decimal(5),
            unit_cost=Decimal(4),
            lot_number=f"{number}-{place}",
            expires_on=today + timedelta(days=300),
            pack=pack,
        )
        for pack in packs
        for place in range(LOTS_A_LINE)
    ]
    supplier = packs[0].supplier
    receive_delivery(key=uuid.uuid4(), by=by, on=today, supplier=supplier, reference=f"Bench {number}", lines=lines)


def _ordered(order: PurchaseOrder, *, by: User, today: date) -> None:
    lines = [
        ArrivedLine(line=line, packs=1, lot_number=f"{order.number}-{place}", expires_on=today + timedelta(days=300))
        for line in order.lines.select_related("material__usual_location", "pack__material", "pack__supplier")
        for place in range(LOTS_A_LINE)
    ]
    receive_order(key=uuid.uuid4(), by=by, on=today, order=order, reference=order.label, lines=lines)


def _rounds(ours_path: Path, raw: sqlite3.Connection, works: Sequence[Callable[[], None]]) -> Pair:
    """The first round warms up."""
    times: tuple[list[float], list[float]] = ([], [])
    with closing(reader(ours_path)) as look:
        for number, work in enumerate(works):
            last = [look.execute(f"SELECT max(id) FROM {table}").fetchone()[0] for table in _TABLES]  # noqa: S608 - our names
            ours = seconds_of(work)
            rows = [
                look.execute(f"SELECT * FROM {table} WHERE id > ? ORDER BY id", (highest,)).fetchall()  # noqa: S608 - our names
                for table, highest in zip(_TABLES, last, strict=True)
            ]
            theirs = seconds_of(lambda rows=rows: _insert(raw, rows))  # type: ignore[misc]
            if number:
                times[0].append(ours)
                times[1].append(theirs)
    return Pair(ours=median(times[0]), baseline=median(times[1]))


_TABLES = ("inventory_posting", "inventory_lot", "inventory_movement")


def _insert(raw: sqlite3.Connection, rows: Sequence[Sequence[tuple[object, ...]]]) -> None:
    raw.execute("BEGIN IMMEDIATE")
    for table, every in zip(_TABLES, rows, strict=True):
        raw.executemany(insert_words(table, every[0]), every)
    raw.execute("COMMIT")
