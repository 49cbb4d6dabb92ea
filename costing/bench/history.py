"""A long ledger: deliveries used up coat by coat, with returns, reversals and write-offs, through the ledger's own door."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db import connection, transaction

from costing.bench.measure import BenchError
from finishing.models import User
from inventory.choices import WriteOffCause
from inventory.models import Lot, Material, Movement, Supplier
from inventory.services import ledger
from inventory.services.verify import check_ledger

SPAN_DAYS = 1_000  # the history ends about now and reaches this far back, however many movements it has
LIFE_DAYS = 400  # from receipt to expiry
LINES = 6  # lots of a delivery, and lines of an issue
ISSUES = 11  # until a delivery is nearly used up
WEEK = timedelta(days=7)
DRUM = "BENCH-DRUM"  # a lot that something is drawn from all the time

ONE = Decimal(1)
_NAMES = uuid.UUID("4f0a6f04-2f52-4b57-8e35-6c1f7b1f0f3d")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cycle:
    """One delivery and what becomes of it."""

    number: int
    by: User
    supplier: Supplier
    materials: Sequence[Material]
    start: date
    today: date

    def key(self, step: object) -> uuid.UUID:
        """A key that is the same in every run."""
        return uuid.uuid5(_NAMES, f"{self.number} {step}")

    def day(self, weeks: int) -> date:
        """So many weeks after the delivery, but not after today."""
        return min(self.start + weeks * WEEK, self.today)


def grow_ledger(*, to: int, by: User, today: date, leave_every: int = 20) -> int:
    """Post deliveries, issues and the rest until the ledger holds at least ``to`` movements; gives how many it holds then.

    One lot in ``leave_every`` keeps a little, the others are used up or written off. Raises ``BenchError`` when the ledger
    disagrees with itself afterwards.
    """
    materials = list(Material.objects.select_related("usual_location").order_by("code"))
    supplier = Supplier.objects.order_by("pk")[0]
    held = Movement.objects.count()
    number = Lot.objects.count()  # goes on where an earlier call stopped, since every cycle makes lots
    per_cycle = LINES * (ISSUES + 3)
    planned = max(1, -(-(to - held) // per_cycle))
    done = 0
    with transaction.atomic():
        drum = _drum(materials[0], by=by, supplier=supplier, today=today)
        while held < to:
            ago = SPAN_DAYS - SPAN_DAYS * done // planned
            turned = number + done
            cycle = _Cycle(
                number=turned,
                by=by,
                supplier=supplier,
                materials=[materials[(turned * LINES + place) % len(materials)] for place in range(LINES)],
                start=today - timedelta(days=max(ago, 0)),
                today=today,
            )
            held += _post(cycle, drum, leave=leave_every)
            done += 1
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")  # as a server does by itself; else its planner takes the ledger for empty
    report = check_ledger()
    if report.disagreements:
        raise BenchError("The generated ledger disagrees with itself: " + " ".join(report.disagreements[:3]))
    return report.movements


def _drum(material: Material, *, by: User, supplier: Supplier, today: date) -> Lot:
    found = Lot.objects.filter(number=DRUM).first()
    if found is None:
        line = ledger.ReceiptLine(material=material, quantity=Decimal(100_000), unit_cost=ONE, lot_number=DRUM)
        key = uuid.uuid5(_NAMES, DRUM)
        day = today - timedelta(days=SPAN_DAYS)
        ledger.receive(key=key, by=by, on=day, supplier=supplier, reference="Drum", lines=[line])
        found = Lot.objects.get(number=DRUM)
    return found


def _post(cycle: _Cycle, drum: Lot, *, leave: int) -> int:
    """Post one cycle; how many movements it made."""
    lots = _deliver(cycle)
    made = len(lots)
    issues = []
    for week in range(ISSUES):
        lines = [ledger.IssueLine(material=lot.material, quantity=ONE, lot=lot) for lot in lots]
        if week == 0:
            lines.append(ledger.IssueLine(material=drum.material, quantity=ONE, lot=drum))
        issues.append(
            ledger.issue(
                key=cycle.key(week), by=cycle.by, on=cycle.day(week), lines=lines, reference=f"Work {cycle.number}-{week}"
            )
        )
        made += len(lines)
    end = cycle.day(ISSUES)
    ledger.reverse(key=cycle.key("reversed"), by=cycle.by, on=end, posting=issues[-1], reason="Counted twice.")
    made += len(lots)
    back = Decimal("0.25")
    ledger.return_stock(
        key=cycle.key("back"), by=cycle.by, on=end, lot=lots[0], quantity=back, reference="Came back from the booth"
    )
    return made + 1 + _write_off(cycle, lots, back=back, leave=leave)


def _deliver(cycle: _Cycle) -> list[Lot]:
    lines = [
        ledger.ReceiptLine(
            material=material,
            quantity=Decimal(ISSUES + 1),
            unit_cost=Decimal(20 + place),
            lot_number=f"B{cycle.number}-{place}",
            made_on=cycle.start,
            expires_on=cycle.start + timedelta(days=LIFE_DAYS),
            location=material.usual_location,
        )
        for place, material in enumerate(cycle.materials)
    ]
    posting = ledger.receive(
        key=cycle.key("in"),
        by=cycle.by,
        on=cycle.start,
        supplier=cycle.supplier,
        reference=f"Delivery note B{cycle.number}",
        lines=lines,
    )
    moved = posting.movements.select_related("lot__material").order_by("pk")
    return [movement.lot for movement in moved]


def _write_off(cycle: _Cycle, lots: Sequence[Lot], *, back: Decimal, leave: int) -> int:
    """What is left of most lots goes out, one in three of them as expired."""
    made = 0
    for place, lot in enumerate(lots):
        if (cycle.number * LINES + place) % leave == 0:
            continue
        ledger.write_off(
            key=cycle.key(f"out {place}"),
            by=cycle.by,
            on=cycle.day(ISSUES + 1),
            lot=lot,
            quantity=2 * ONE + (back if place == 0 else 0),
            cause=WriteOffCause.EXPIRED if place % 3 == 0 else WriteOffCause.SPILLED,
            reason="What was left.",
        )
        made += 1
    return made
