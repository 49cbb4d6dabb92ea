"""Places: kept by the office, and asked before a lot is moved there."""

from __future__ import annotations

from inventory.errors import PlaceError
from inventory.models import Location, Lot


def check_place(lot: Lot, to_location: Location) -> None:
    """Refuse to move a lot to where it stands, or to a place out of use; raises ``PlaceError``."""
    if lot.location_id == to_location.pk:
        raise PlaceError(f"Lot {lot.number} stands in {to_location.name} already.")
    if not to_location.is_active:
        raise PlaceError(f"{to_location.name} is out of use. Choose another place.")
