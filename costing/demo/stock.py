"""Loads the invented shop's deliveries, weekly use and what befell some lots, day by day, through the stock ledger."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from functools import partial
from typing import Any

from costing.demo.catalogue import read
from costing.demo.dates import from_today
from finishing.models import User
from inventory.choices import WriteOffCause
from inventory.models import Location, Lot, Material, Pack, Supplier
from inventory.services import ledger
from inventory.services.lots import open_lot, quarantine_lot
from inventory.services.transfers import move

NAMESPACE = uuid.UUID("8a1c6c0e-9c1f-4a7e-9b35-2f1f0c0d5e11")


def demo_key(what: str) -> uuid.UUID:
    """A key that is the same in every run, so that a step of the demo is done once."""
    return uuid.uuid5(NAMESPACE, what)


def load_stock(*, people: dict[str, User], materials: dict[str, Material], today: date) -> None:
    """Post everything in the order of its days."""
    data = read("stock.json")
    loader = _Loader(people=people, materials=materials, containers=data["containers"], today=today)
    for post in _in_order(data, loader):
        post()
    for number, reason in data["quarantined"]:
        quarantine_lot(lot=Lot.objects.get(number=number), reason=reason, by=people["office"])


def _in_order(data: dict[str, Any], loader: _Loader) -> list[Callable[[], None]]:
    """What happened, in the order of its days; on one day deliveries come first, then openings, use, losses and moves."""
    use = data["weekly_use"]
    events: list[tuple[int, int, Callable[[], None]]] = [
        *((row["on"], 0, partial(loader.deliver, row)) for row in data["deliveries"]),
        *((day, 1, partial(loader.open, number, day)) for number, day in data["opened"]),
        *(
            (use["from_day"] + 7 * week, 2, partial(loader.use, use["from_day"] + 7 * week, week, use["amounts"]))
            for week in range(use["weeks"])
        ),
        *((row[4], 3, partial(loader.write_off, *row)) for row in data["written_off"]),
        *((row[4], 4, partial(loader.move, *row)) for row in data["moved"]),
    ]
    return [post for _, _, post in sorted(events, key=lambda event: event[:2])]


class _Loader:
    """Posts single events of the fixture."""

    def __init__(
        self, *, people: dict[str, User], materials: dict[str, Material], containers: dict[str, int], today: date
    ) -> None:
        self.people, self.materials, self.containers, self.today = people, materials, containers, today

    def day(self, offset: int) -> date:
        """The day that an offset means."""
        found = from_today(offset, self.today)
        if found is None:
            raise ValueError("an event of the demo needs its day")
        return found

    def deliver(self, row: dict[str, Any]) -> None:
        """A delivery with its lots, in the supplier's usual packs."""
        usual = {pack.material_id: pack for pack in Pack.objects.filter(supplier__name=row["supplier"], is_usual=True)}
        ledger.receive(
            key=demo_key(row["reference"]),
            by=self.people["office"],
            on=self.day(row["on"]),
            supplier=Supplier.objects.get(name=row["supplier"]),
            reference=row["reference"],
            lines=[
                ledger.ReceiptLine(
                    material=self.materials[code],
                    quantity=Decimal(quantity),
                    unit_cost=Decimal(cost),
                    lot_number=number,
                    made_on=from_today(made, self.today),
                    expires_on=from_today(expires, self.today),
                    location=self.materials[code].usual_location,
                    pack=usual.get(self.materials[code].pk),
                    containers=self.containers.get(number, 1),
                )
                for code, quantity, cost, number, made, expires in row["lines"]
            ],
        )

    def use(self, offset: int, week: int, amounts: dict[str, list[str]]) -> None:
        """A week's work."""
        lines = [
            ledger.IssueLine(material=self.materials[code], quantity=Decimal(series[week % len(series)]))
            for code, series in amounts.items()
            if Decimal(series[week % len(series)]) > 0
        ]
        ledger.issue(
            key=demo_key(f"week {week}"),
            by=self.people["finisher"],
            on=self.day(offset),
            lines=lines,
            reference="Work of the week",
        )

    def open(self, number: str, offset: int) -> None:
        """The first time a container is opened."""
        open_lot(lot=Lot.objects.get(number=number), on=self.day(offset), by=self.people["finisher"])

    def move(self, number: str, quantity: str, place: str, reason: str, offset: int) -> None:
        """A lot, or a part of it, put elsewhere."""
        move(
            key=demo_key(f"move {number}"),
            by=self.people["finisher"],
            on=self.day(offset),
            lot=Lot.objects.get(number=number),
            quantity=Decimal(quantity),
            to_location=Location.objects.get(name=place),
            reason=reason,
        )

    def write_off(self, number: str, quantity: str, cause: str, reason: str, offset: int) -> None:
        """Something spilled or went bad."""
        ledger.write_off(
            key=demo_key(f"write-off {number}"),
            by=self.people["finisher"],
            on=self.day(offset),
            lot=Lot.objects.get(number=number),
            quantity=Decimal(quantity),
            cause=WriteOffCause(cause),
            reason=reason,
        )
