"""Short ways to the ledger's verbs, for tests: each goes through the real services."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

from django.utils import timezone

from finishing.models import User
from inventory.choices import WriteOffCause
from inventory.models import Booking, Lot, Material, Posting
from inventory.services import ledger


def today(days: int = 0) -> date:
    """Today, or so many days later."""
    return timezone.localdate() + timedelta(days=days)


class Counter:
    """Moves stock for one person; quantities and costs may be written as text."""

    def __init__(self, *, by: User) -> None:
        self.by = by

    def receive(
        self,
        material: Material,
        quantity: str | Decimal,
        *,
        cost: str | Decimal = "10",
        number: str = "A1",
        on: date | None = None,
        accept_expired_reason: str = "",
        **dates: Any,
    ) -> Lot:
        """One lot of a delivery without a supplier."""
        line = ledger.ReceiptLine(
            material=material, quantity=Decimal(quantity), unit_cost=Decimal(cost), lot_number=number, **dates
        )
        posting = ledger.receive(
            key=uuid4(),
            by=self.by,
            on=on or today(),
            supplier=None,
            reference="delivery note",
            lines=[line],
            accept_expired_reason=accept_expired_reason,
        )
        return posting.movements.get().lot

    def issue(
        self,
        material: Material,
        quantity: str | Decimal,
        *,
        lot: Lot | None = None,
        booking: Booking | None = None,
        on: date | None = None,
        **more: Any,
    ) -> Posting:
        """One line."""
        line = ledger.IssueLine(material=material, quantity=Decimal(quantity), lot=lot, booking=booking)
        return ledger.issue(key=uuid4(), by=self.by, on=on or today(), lines=[line], reference="job", **more)

    def give_back(self, lot: Lot, quantity: str | Decimal, *, booking: Booking | None = None, on: date | None = None) -> Posting:
        """A return."""
        return ledger.return_stock(
            key=uuid4(), by=self.by, on=on or today(), lot=lot, quantity=Decimal(quantity), reference="job", booking=booking
        )

    def write_off(
        self,
        lot: Lot,
        quantity: str | Decimal,
        *,
        cause: WriteOffCause = WriteOffCause.SPILLED,
        on: date | None = None,
        reason: str = "",
    ) -> Posting:
        """A write-off."""
        return ledger.write_off(
            key=uuid4(), by=self.by, on=on or today(), lot=lot, quantity=Decimal(quantity), cause=cause, reason=reason
        )

    def reverse(self, posting: Posting, *, on: date | None = None, reason: str = "typed wrong") -> Posting:
        """A counter-movement."""
        return ledger.reverse(key=uuid4(), by=self.by, on=on or today(), posting=posting, reason=reason)


def moved(posting: Posting) -> list[tuple[str, Decimal]]:
    """What a posting moved: lot numbers and quantities, in the order written."""
    return [(move.lot.number, move.quantity) for move in posting.movements.select_related("lot").order_by("pk")]


def on_hand(lot: Lot) -> Decimal:
    """The balance as the database has it."""
    return Lot.objects.get(pk=lot.pk).on_hand
