"""The kinds of things that the inventory knows."""

from __future__ import annotations

from django.db import models

from finishing.units import Kind


class MaterialKind(models.TextChoices):
    """What a material is for; it decides the cost group of a supply."""

    COATING = "coating", "Coating"
    HARDENER = "hardener", "Hardener"
    THINNER = "thinner", "Thinner"
    CLEANER = "cleaner", "Cleaner"
    LINER = "liner", "Cup liner"
    STRAINER = "strainer", "Strainer"
    ABRASIVE = "abrasive", "Abrasive"
    TACK_CLOTH = "tack_cloth", "Tack cloth"
    MASKING = "masking", "Masking"
    WEAR = "wear", "Protective wear"
    FILTER = "filter", "Booth filter"
    OTHER = "other", "Other supply"


LIQUIDS = frozenset({MaterialKind.COATING, MaterialKind.HARDENER, MaterialKind.THINNER, MaterialKind.CLEANER})


class StockUnit(models.TextChoices):
    """The unit in which a material is kept."""

    LITRE = "L", "litres"
    KILOGRAM = "kg", "kilograms"
    PIECE = "pcs", "pieces"
    METRE = "m", "metres"
    SQUARE_METRE = "m²", "square metres"

    @property
    def measure(self) -> Kind:
        """What is measured: decides which units people may type."""
        return _MEASURES[self]


_MEASURES = {
    StockUnit.LITRE: Kind.VOLUME,
    StockUnit.KILOGRAM: Kind.MASS,
    StockUnit.PIECE: Kind.COUNT,
    StockUnit.METRE: Kind.LENGTH,
    StockUnit.SQUARE_METRE: Kind.AREA,
}


class SignalWord(models.TextChoices):
    """The one signal word of a label (UN GHS)."""

    NONE = "", "none"
    WARNING = "warning", "Warning"
    DANGER = "danger", "Danger"


class FlammableCategory(models.IntegerChoices):
    """Category of a flammable liquid, as its safety data sheet says; never computed here."""

    NONE = 0, "Not a flammable liquid"
    ONE = 1, "Category 1"
    TWO = 2, "Category 2"
    THREE = 3, "Category 3"
    FOUR = 4, "Category 4"


class PostingKind(models.TextChoices):
    """How stock moves."""

    RECEIPT = "receipt", "Receipt"
    ISSUE = "issue", "Issue"
    RETURN = "return", "Return"
    WRITE_OFF = "write_off", "Write-off"
    TRANSFER = "transfer", "Transfer"
    COUNT = "count", "Count difference"
    REVERSAL = "reversal", "Counter-movement"


class LotEventKind(models.TextChoices):
    """What happens to a lot besides movements."""

    OPENED = "opened", "Opened"
    QUARANTINED = "set_aside", "Set aside"
    RELEASED = "released", "Freed"
    MOVED = "moved", "Moved"
    CLOSED = "closed", "Not opened after all"


class WriteOffCause(models.TextChoices):
    """Why stock was written off; ``expired`` feeds the expiry allowance of the costing model."""

    NONE = "", "—"
    EXPIRED = "expired", "Out of date"
    SPILLED = "spilled", "Spilled"
    SPOILED = "spoiled", "Spoiled: skinned, frozen, contaminated"
    LOST = "lost", "Lost"
    OTHER = "other", "Other"


class LocationKind(models.TextChoices):
    """What a place is for."""

    SHELF = "shelf", "Shelf"
    FLAMMABLES = "flammables", "Flammables cabinet"
    BOOTH = "booth", "Booth"
    QUARANTINE = "quarantine", "Quarantine"


class OrderStatus(models.TextChoices):
    """Where a purchase order stands."""

    DRAFT = "draft", "Draft"
    SENT = "sent", "Sent"
    PARTLY = "partly", "Partly received"
    CLOSED = "closed", "Closed"
    CANCELLED = "cancelled", "Cancelled"


class PriceSource(models.TextChoices):
    """How the shop learnt of a price."""

    ENTERED = "entered", "Entered"
    RECEIPT = "receipt", "Paid on a delivery"
    PRICE_LIST = "price_list", "Supplier’s price list"


class CountStatus(models.TextChoices):
    """Where a count stands."""

    OPEN = "open", "Open"
    POSTED = "posted", "Posted"
    CANCELLED = "cancelled", "Cancelled"


class ListKind(models.TextChoices):
    """The lists that can be brought in."""

    MATERIALS = "materials", "Materials"
    PACKS = "packs", "Packs and prices"
    STOCK = "stock", "Opening stock"
    PRICES = "prices", "Supplier’s price list"
