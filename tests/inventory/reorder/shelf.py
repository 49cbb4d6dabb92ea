"""Puts something on the shelf."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from decimal import Decimal

from django.utils import timezone

from finishing.models import User
from inventory.models import Lot, Material
from inventory.services import ledger

D = Decimal


def deliver(material: Material, quantity: str, *, by: User, expires: date | None = None, number: str = "A1") -> Lot:
    """A lot that came in today."""
    on = timezone.localdate() - timedelta(days=1)
    ledger.receive(
        key=uuid.uuid4(),
        by=by,
        on=on,
        supplier=None,
        reference="note",
        lines=[
            ledger.ReceiptLine(
                material=material, quantity=D(quantity), unit_cost=D("21.8"), lot_number=number, expires_on=expires
            )
        ],
    )
    return Lot.objects.get(number=number)
