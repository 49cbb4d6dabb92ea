"""Moving lots between places: whole ones, and parts of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import UUID

from django.db import transaction

from finishing.models import User
from inventory.choices import LotEventKind
from inventory.errors import KeyUsedError, PlaceError
from inventory.models import Location, Lot, LotEvent, Posting
from inventory.services import ledger
from inventory.services.checks import kept_text, not_before, past_day
from inventory.services.places import check_place


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """What stands in the new place now, and the posting where a lot was split."""

    lot: Lot
    posting: Posting | None = None
    again: bool = False  # the same form was sent before: nothing was moved this time


@transaction.atomic
def move(*, key: UUID, by: User, on: date, lot: Lot, quantity: Decimal, to_location: Location, reason: str = "") -> Moved:
    """Move ``quantity`` stock units of a lot: all that is left moves the lot itself, less of it splits the lot.

    Raises ``PlaceError``, ``DayError``, ``QuantityError``, ``NotEnoughStockError``, ``TextError`` or ``KeyUsedError``.
    """
    kept = ledger.locked_lot(lot)
    # Under the lock: what this very form has moved before is answered again, though the lot has changed by it.
    event = LotEvent.objects.filter(key=key).first()
    if event is not None:
        _check_same(event, by=by, on=on, lot=kept, to_location=to_location)
        return Moved(lot=kept, again=True)
    was_split = Posting.objects.filter(key=key).exists()
    if quantity == kept.on_hand and not was_split:
        return Moved(lot=move_lot(key=key, by=by, on=on, lot=kept, to_location=to_location, reason=reason))
    posting = ledger.transfer(key=key, by=by, on=on, lot=kept, quantity=quantity, to_location=to_location, reason=reason)
    return Moved(lot=posting.movements.get(quantity__gt=0).lot, posting=posting, again=was_split)


def _check_same(event: LotEvent, *, by: User, on: date, lot: Lot, to_location: Location) -> None:
    """Refuse a key that belongs to another move; raises ``KeyUsedError``."""
    if event.by_id != by.pk:
        raise KeyUsedError("Somebody else has sent this form.")
    if (event.lot_id, event.to_location_id, event.on) != (lot.pk, to_location.pk, on):
        raise KeyUsedError("This form has moved something already.")


@transaction.atomic
def move_lot(*, by: User, on: date, lot: Lot, to_location: Location, reason: str = "", key: UUID | None = None) -> Lot:
    """Move a whole lot, with a record of who, when, from where and to where; ``key`` is that of the form, where there is one.

    Raises ``PlaceError``, ``DayError`` for a day before it came in or before its last move, and ``TextError``.
    """
    past_day(on, what="A move")
    why = kept_text(LotEvent, "reason", reason)
    kept = ledger.locked_lot(lot)
    not_before(on, kept.received_on, what=f"lot {kept.number} came in")
    last = kept.events.filter(kind=LotEventKind.MOVED).first()
    if last is not None:
        not_before(on, last.on, what=f"lot {kept.number} was moved last")
    check_place(kept, to_location)
    if not kept.on_hand:
        raise PlaceError(f"Lot {kept.number} is used up; there is nothing to move.", field="quantity")
    left = kept.location
    kept.location = to_location
    kept.save(update_fields=["location"])
    LotEvent.objects.create(
        lot=kept, kind=LotEventKind.MOVED, by=by, on=on, reason=why, from_location=left, to_location=to_location, key=key
    )
    return kept
