"""Opening one container of a lot that came in several."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from uuid import UUID

from django.db import transaction

from finishing.models import User
from inventory.models import Lot, Posting
from inventory.services import ledger
from inventory.services.lots import open_lot


@transaction.atomic
def open_container(*, key: UUID, by: User, on: date, lot: Lot, quantity: Decimal) -> Lot:
    """Open one container, which holds ``quantity`` stock units; returns the lot whose open life counts from that day.

    With others beside it, it becomes a lot of its own in the same place; when it is all that is left, the lot itself is
    opened. Raises ``LotStateError``, ``DayError``, ``QuantityError``, ``NotEnoughStockError`` or ``KeyUsedError``.
    """
    kept = ledger.locked_lot(lot)
    was_parted = Posting.objects.filter(key=key).exists()  # by this very form: what is left may equal what it asked for
    if quantity == kept.on_hand and not was_parted:
        return open_lot(lot=kept, on=on, by=by)
    posting = ledger.part_opened(key=key, by=by, on=on, lot=kept, quantity=quantity)
    return posting.movements.get(quantity__gt=0).lot
