"""Recall and past value over a ledger of a million movements, each against bare SQL on the same file."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import date, timedelta
from decimal import Decimal

from costing.bench.history import grow_ledger
from costing.bench.measure import BenchError, Ratio, Size, take_turns
from costing.bench.multiply import multiply_ledger
from costing.bench.shop import BenchShop
from costing.bench.temporary import Databases
from costing.recall import recall
from inventory.choices import MaterialKind
from inventory.models import Movement
from inventory.recall import lots_numbered
from inventory.value import stock_value

LONG = "long-ledger"
SEED = 1_000  # movements that come through the ledger's door before they are copied
YEAR = timedelta(days=365)

# What a person who knows the tables would write: no return, no booking without a log, no list of single issues.
BARE_RECALL = """
SELECT c.id, c.name, c.phone, c.email, -SUM(m.quantity) AS stayed
FROM inventory_lot l
JOIN inventory_movement m ON m.lot_id = l.id
JOIN inventory_posting p ON p.id = m.posting_id
JOIN (SELECT posting_id, step_id FROM costing_coatlog UNION SELECT posting_id, step_id FROM costing_batch) g
  ON g.posting_id = p.id
JOIN costing_jobstep s ON s.id = g.step_id
JOIN costing_job j ON j.id = s.job_id
JOIN costing_quoteoption o ON o.id = j.quote_option_id
JOIN costing_quote q ON q.id = o.quote_id
JOIN costing_customer c ON c.id = q.customer_id
WHERE UPPER(l.number) = UPPER(?) AND p.kind IN ('issue', 'return')
AND NOT EXISTS (SELECT 1 FROM inventory_movement r WHERE r.reverses_id = m.id)
GROUP BY c.id HAVING stayed > 0
"""
BARE_VALUE = """
SELECT m.lot_id, SUM(m.quantity), l.unit_cost
FROM inventory_movement m
JOIN inventory_posting p ON p.id = m.posting_id
JOIN inventory_lot l ON l.id = m.lot_id
WHERE p."on" <= ? GROUP BY m.lot_id
"""
AGAINST = "bare SQL over the same file"
STEP = Decimal("0.000001")


def measure_recall(databases: Databases, source: str, shop: BenchShop, size: Size, *, today: date) -> list[Ratio]:
    """From one supplier's lot number to every customer whose work holds some of it."""
    held = _long_ledger(databases, source, shop, size, today=today)
    used = Movement.objects.filter(booking__step_materials__step__job=shop.job, lot__material__kind=MaterialKind.COATING)
    number = used.order_by("pk")[0].lot.number
    with closing(_reader(databases)) as raw:

        def bare() -> list[tuple[int, int]]:
            return [(row[0], row[4]) for row in raw.execute(BARE_RECALL, (number.lower(),)).fetchall()]

        def ours() -> list[tuple[int, int]]:
            called = recall(lots_numbered(number.lower())).customers
            return [(one.customer.pk, _steps(sum((part.stayed for part in one.parts), Decimal(0)))) for one in called]

        if not bare() or sorted(ours()) != sorted(bare()):
            raise BenchError("The recall and the bare query name different customers.")
        pair = take_turns(ours, bare, rounds=size.long_rounds)
        name = f"Recall of a lot number to {len(bare()):,} customers, {held:,} movements"
    return [pair.milliseconds(name, against=AGAINST)]


def measure_value(databases: Databases, source: str, shop: BenchShop, size: Size, *, today: date) -> list[Ratio]:
    """The value of the stock a year ago, lot by lot."""
    held = _long_ledger(databases, source, shop, size, today=today)
    on = today - YEAR
    with closing(_reader(databases)) as raw:

        def bare() -> Decimal:
            rows = raw.execute(BARE_VALUE, (on.isoformat(),)).fetchall()
            return sum(quantity * cost for _, quantity, cost in rows) * STEP * STEP

        def ours() -> Decimal:
            return stock_value(on).total

        if not bare() or ours() != bare():
            raise BenchError("The value and the bare query disagree.")
        pair = take_turns(ours, bare, rounds=size.long_rounds)
    return [pair.milliseconds(f"Stock value of a day a year ago, {held:,} movements", against=AGAINST)]


def _long_ledger(databases: Databases, source: str, shop: BenchShop, size: Size, *, today: date) -> int:
    """Use the long ledger, made at the first call; how many movements it holds."""
    if databases.path(LONG).exists():
        databases.use(LONG)
        return Movement.objects.count()
    databases.copy(source, LONG)
    databases.use(LONG)
    grow_ledger(to=min(SEED, size.long_movements), by=shop.people["owner"], today=today)
    return multiply_ledger(to=size.long_movements)


def _reader(databases: Databases) -> sqlite3.Connection:
    return sqlite3.connect(f"{databases.path(LONG).as_uri()}?mode=ro", uri=True)


def _steps(value: Decimal) -> int:
    return int(value / STEP)
