"""A shop with as many materials as one likes, and three years of weekly use.

Deliveries and the first issue go through the ledger's own door. The other weeks are copies of that issue with other days and
quantities, written as rows: through the door they would take minutes. The ledger is checked afterwards.
"""

from __future__ import annotations

import random
import uuid
from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal

from django.db import connection, transaction
from django.db.backends.utils import CursorWrapper

from costing.bench.measure import BenchError
from finishing.models import User
from inventory.choices import MaterialKind
from inventory.core.weeks import WEEK, monday
from inventory.models import Lot, Material, Pack, Supplier
from inventory.services import ledger
from inventory.services.bookings import book
from inventory.services.moves import CountDifference
from inventory.services.verify import check_ledger

WEEKS = 156
SUPPLIERS = 20
CHUNK = 500  # lines of a delivery
STEP = 1_000_000
PACKS = (("0.5 L can", "0.5", "18"), ("2.5 L can", "2.5", "70"), ("5 L can", "5", "125"))


def make_big_shop(count: int, *, today: date) -> None:
    """Fill the empty database in use with ``count`` materials. Raises ``BenchError`` when the ledger disagrees with itself."""
    if Material.objects.exists():
        raise BenchError("This database holds a shop's data. The bench fills empty databases of its own only.")
    chance = random.Random(count)  # noqa: S311 - invented use
    by = User.objects.create(username="bench", is_office=True)
    materials = _materials(count)
    _packs(materials)
    with transaction.atomic():
        _deliver(materials, by=by, today=today)
        _use(materials, chance, by=by, today=today)
    for material in materials[:: max(count // 100, 1)]:
        book(material=material, quantity=Decimal(2), needed_on=today + timedelta(days=20), holder="J-1")
    report = check_ledger()
    if report.disagreements:
        raise BenchError("The big shop's ledger disagrees with itself: " + " ".join(report.disagreements[:3]))


def _materials(count: int) -> list[Material]:
    made = [
        Material(code=f"BIG-{place}", name=f"Invented {place:05d}", kind=MaterialKind.COATING, shelf_life_days=365)
        for place in range(count)
    ]
    Material.objects.bulk_create(made, batch_size=CHUNK)
    return list(Material.objects.order_by("pk"))


def _packs(materials: Sequence[Material]) -> None:
    Supplier.objects.bulk_create(
        Supplier(
            name=f"Invented yard {place:02d}",
            lead_time_days=Decimal(3 + place % 12),
            lead_time_sd_days=Decimal(place % 3),
            delivery_charge=Decimal(10),
        )
        for place in range(SUPPLIERS)
    )
    suppliers = list(Supplier.objects.order_by("pk"))
    Pack.objects.bulk_create(
        (
            Pack(
                material=material,
                supplier=suppliers[place % SUPPLIERS],
                description=words,
                content=Decimal(content),
                price=Decimal(price),
                is_usual=number == 0,
            )
            for place, material in enumerate(materials)
            for number, (words, content, price) in enumerate(PACKS)
        ),
        batch_size=CHUNK,
    )


def _deliver(materials: Sequence[Material], *, by: User, today: date) -> None:
    """Two lots each: an old one that everything is drawn from, and a small one that is there today."""
    old = monday(today) - (WEEKS + 1) * WEEK
    for start in range(0, len(materials), CHUNK):
        some = materials[start : start + CHUNK]
        for number, on, quantity, ends in (("OLD", old, 5_000, None), ("NEW", today, 3, today + timedelta(days=200))):
            lines = [
                ledger.ReceiptLine(
                    material=material,
                    quantity=Decimal(quantity),
                    unit_cost=Decimal(25),
                    lot_number=f"{number}-{material.pk}",
                    expires_on=ends,
                )
                for material in some
            ]
            key = uuid.uuid5(uuid.NAMESPACE_OID, f"{number} {start}")
            ledger.receive(key=key, by=by, on=on, supplier=None, reference="Bench", lines=lines)


def _use(materials: Sequence[Material], chance: random.Random, *, by: User, today: date) -> None:
    """A week by the door, the rest as copies of it, and at last what brings the old lots down to what a shop would hold."""
    old = dict(Lot.objects.filter(number__startswith="OLD-").values_list("material", "pk"))
    first = monday(today) - WEEKS * WEEK
    lines = [ledger.IssueLine(material=material, quantity=Decimal(1)) for material in materials]
    template = ledger.issue(key=uuid.uuid5(uuid.NAMESPACE_OID, "first"), by=by, on=first, lines=lines, reference="Bench")
    habits = [(old[material.pk], chance.choice((0.15, 0.4, 0.9)), chance.choice((0.2, 1.0, 4.0))) for material in materials]
    left = {lot: 5_000 * STEP - STEP for lot, _, _ in habits}
    with connection.cursor() as cursor:
        for week in range(1, WEEKS):
            posting = _copy_posting(cursor, template.pk, on=first + week * WEEK, number=week)
            rows = []
            for lot, share, size in habits:
                if chance.random() < share:
                    quantity = max(round(chance.gammavariate(2, size / 2) * 1000) * (STEP // 1000), 1000)
                    rows.append((posting, lot, -quantity))
                    left[lot] -= quantity
            cursor.executemany(_MOVEMENT, rows)
        cursor.executemany("UPDATE inventory_lot SET on_hand = %s WHERE id = %s", [(held, lot) for lot, held in left.items()])
    _write_off_the_rest(left, by=by, today=today)


_MOVEMENT = (
    "INSERT INTO inventory_movement (posting_id, lot_id, quantity, unit_cost, override_reason) VALUES (%s, %s, %s, 25000000, '')"
)


def _copy_posting(cursor: CursorWrapper, template: int, *, on: date, number: int) -> int:
    """A posting like the template's, of another day; gives its number."""
    cursor.execute("SELECT * FROM inventory_posting WHERE id = %s", [template])
    row = dict(zip([column[0] for column in cursor.description], cursor.fetchone(), strict=True))
    del row["id"]
    row |= {"key": uuid.uuid5(uuid.NAMESPACE_OID, f"week {number}").hex, "on": on.isoformat()}
    names, places = ", ".join(f'"{name}"' for name in row), ", ".join(["%s"] * len(row))
    cursor.execute(f"INSERT INTO inventory_posting ({names}) VALUES ({places})", list(row.values()))  # noqa: S608 - own names
    return int(cursor.lastrowid)


def _write_off_the_rest(left: dict[int, int], *, by: User, today: date) -> None:
    """Of the old lots all but a little is written off: otherwise nothing would ever have to be ordered."""
    lots = list(Lot.objects.filter(pk__in=left).order_by("pk"))
    differences = [
        CountDifference(lot=lot, quantity=Decimal(lot.pk % 7) - lot.on_hand) for lot in lots if lot.on_hand != lot.pk % 7
    ]
    for start in range(0, len(differences), CHUNK):
        key = uuid.uuid5(uuid.NAMESPACE_OID, f"count {start}")
        ledger.count_difference(key=key, by=by, on=today, differences=differences[start : start + CHUNK], reference="Bench")
