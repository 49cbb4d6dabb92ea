"""The lot part of a recall: which lots bear a number, what became of them in the stock, and what was issued from them.

Reads only, each in a constant number of queries. What work the issues went into is for those who know the work.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import QuerySet, Sum, Value
from django.db.models.functions import Coalesce, Upper

from inventory.choices import PostingKind
from inventory.core.gs1 import ScanProblem, read_scan
from inventory.models import Lot, Material, Movement

ZERO = Decimal(0)
SIMILAR = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Flow:
    """An issue from a lot or a return to it. ``quantity`` is in stock units: above 0 out of stock, below 0 back into it."""

    pk: int
    lot_id: int
    on: date
    kind: PostingKind  # issue or return
    quantity: Decimal
    posting_id: int
    reference: str
    booking_id: int | None
    holder: str  # whom the booking names; empty without one
    reversed_on: date | None  # taken back by a counter-movement: it does not count

    @property
    def counts(self) -> Decimal:
        """What stands of it."""
        return ZERO if self.reversed_on else self.quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """What became of all that came in of one material under these lots, in stock units; reversals are netted."""

    material: Material
    received: Decimal
    issued: Decimal  # less what came back
    written_off: Decimal
    counted: Decimal  # what counts found: above 0 more, below 0 less
    on_hand: Decimal

    @property
    def adds_up(self) -> bool:
        """Received and found is issued, written off or still here."""
        return self.received + self.counted == self.issued + self.written_off + self.on_hand


def lots_numbered(number: str) -> list[Lot]:
    """Every lot that bears this number, in capital or small letters: all receipts, all suppliers, all parts."""
    return list(_told(_numbered(number.strip())))


def _numbered(number: str) -> QuerySet[Lot]:
    """By the index of numbers in capital letters."""
    return Lot.objects.alias(folded=Upper("number")).filter(folded=Upper(Value(number)))


def lots_meant(text: str, *, today: date) -> list[Lot]:
    """The lots that a typed number or a scanned code names."""
    found = lots_numbered(text)
    if found:
        return found
    scan = read_scan(text, today=today)
    return [] if isinstance(scan, ScanProblem) or not scan.lot else lots_numbered(scan.lot)


def lots_like(text: str) -> list[Lot]:
    """Some lots whose number holds this text, the latest first. One query."""
    return list(
        Lot.objects.filter(number__icontains=text.strip()).select_related("material", "supplier").order_by("-pk")[:SIMILAR]
    )


def same_batch(lot: Lot) -> list[Lot]:
    """A lot with all that was split from it or that it was split from: the same cans, in several places.

    A part keeps number, material and supplier, so they are looked for among the lots of that number.
    """
    alike = list(_told(_numbered(lot.number).filter(number=lot.number, material=lot.material_id, supplier=lot.supplier_id)))
    root = {one.pk: one.split_from_id for one in alike}

    def origin(pk: int) -> int:
        while (parent := root.get(pk)) is not None:
            pk = parent
        return pk

    return [one for one in alike if origin(one.pk) == origin(lot.pk)]


def _told(lots: QuerySet[Lot]) -> QuerySet[Lot]:
    # Many lots share few materials, suppliers and places: fetched once each, not joined to every lot.
    return lots.prefetch_related("material", "supplier", "location").order_by("received_on", "pk")


def flows(movements: QuerySet[Movement]) -> list[Flow]:
    """The issues and returns among these movements, the oldest first, each with whether it was taken back. One query."""
    rows = movements.filter(posting__kind__in=(PostingKind.ISSUE, PostingKind.RETURN)).order_by("posting__on", "pk")
    columns = (
        *("pk", "lot_id", "posting__on", "posting__kind", "quantity", "posting_id", "posting__reference"),
        *("booking_id", "booking__holder", "reversed_by__posting__on"),
    )
    return [
        Flow(
            pk=pk,
            lot_id=lot_id,
            on=on,
            kind=PostingKind(kind),
            quantity=-quantity,
            posting_id=posting_id,
            reference=reference,
            booking_id=booking_id,
            holder=holder or "",
            reversed_on=reversed_on,
        )
        for pk, lot_id, on, kind, quantity, posting_id, reference, booking_id, holder, reversed_on in rows.values_list(*columns)
    ]


def balances(lots: Sequence[Lot]) -> list[Balance]:
    """What became of these lots, by material. One query.

    A transfer between two of them adds nothing; a part that went to a lot outside them counts as never received here.
    """
    stands = Coalesce("reverses__posting__kind", "posting__kind")
    moved = Movement.objects.filter(lot__in=[lot.pk for lot in lots]).order_by().annotate(stands=stands)
    sums: dict[int, dict[str, Decimal]] = defaultdict(lambda: defaultdict(Decimal))
    of = {lot.pk: lot.material_id for lot in lots}
    for lot_id, kind, total in moved.values_list("lot_id", "stands").annotate(total=Sum("quantity")):
        sums[of[lot_id]][kind] += total
    materials = {lot.material_id: lot.material for lot in lots}
    return [_balance(material, sums[pk], _on_hand(lots, pk)) for pk, material in materials.items()]


def _on_hand(lots: Iterable[Lot], material_id: int) -> Decimal:
    return sum((lot.on_hand for lot in lots if lot.material_id == material_id), ZERO)


def _balance(material: Material, sums: dict[str, Decimal], on_hand: Decimal) -> Balance:
    return Balance(
        material=material,
        received=sums[PostingKind.RECEIPT] + sums[PostingKind.TRANSFER],
        issued=-(sums[PostingKind.ISSUE] + sums[PostingKind.RETURN]),
        written_off=-sums[PostingKind.WRITE_OFF],
        counted=sums[PostingKind.COUNT],
        on_hand=on_hand,
    )
