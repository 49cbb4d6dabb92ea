"""Materials and where they come from, lots, and the stock ledger."""

from inventory.models.ledger import Booking, Movement, Posting
from inventory.models.lots import Lot, LotEvent
from inventory.models.materials import Material, Pack, Supplier

__all__ = ["Booking", "Lot", "LotEvent", "Material", "Movement", "Pack", "Posting", "Supplier"]
