"""Where lots stand."""

from __future__ import annotations

from inventory.models import Lot
from inventory.services.checks import kept_text


def place_lot(*, lot: Lot, place: str) -> Lot:
    """Note where a lot stands; empty when nobody knows. Raises ``TextError`` for a text that is too long."""
    lot.place = kept_text(Lot, "place", place)
    lot.save(update_fields=["place"])
    return lot
