"""Materials and where they come from, places, lots, purchase orders, counts, and the stock ledger."""

from inventory.models.bringing_in import ListUpload
from inventory.models.buying import PackPrice, PurchaseOrder, PurchaseOrderLine
from inventory.models.counting import CountFind, CountLine, StockCount
from inventory.models.labels import LabelSheet
from inventory.models.ledger import Booking, Movement, Posting
from inventory.models.lots import Lot, LotEvent
from inventory.models.materials import Material, Pack, Supplier
from inventory.models.places import Location
from inventory.models.snoozing import Snooze

__all__ = [
    "Booking",
    "CountFind",
    "CountLine",
    "LabelSheet",
    "ListUpload",
    "Location",
    "Lot",
    "LotEvent",
    "Material",
    "Movement",
    "Pack",
    "PackPrice",
    "Posting",
    "PurchaseOrder",
    "PurchaseOrderLine",
    "Snooze",
    "StockCount",
    "Supplier",
]
