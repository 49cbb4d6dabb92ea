"""What a posting is about to move, and what stands against it. Nothing here writes: the ledger does, under its locks."""

from __future__ import annotations

import dataclasses
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory.choices import PostingKind
from inventory.core.lots import ShortageError, choose_lots, expiry
from inventory.errors import (
    DayError,
    LotNotUsableError,
    NotEnoughStockError,
    NotReversibleError,
    QuantityError,
    ReturnTooLargeError,
    WrongMaterialError,
    amount,
)
from inventory.models import Booking, Location, Lot, Material, Movement, Pack, Posting, PurchaseOrderLine, Supplier
from inventory.services.checks import at_line, exact_cost, exact_quantity, kept_text, not_before

ZERO = Decimal(0)
MOST_CONTAINERS = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class ReceiptLine:
    """One lot of a delivery."""

    material: Material
    quantity: Decimal  # stock units
    unit_cost: Decimal  # money per stock unit, as paid
    lot_number: str
    made_on: date | None = None
    expires_on: date | None = None  # left out: the day it was made and the material's shelf life
    location: Location | None = None  # where it is put
    containers: int = 1  # cans or boxes of this lot
    pack: Pack | None = None  # what it was bought in, where known
    order_line: PurchaseOrderLine | None = None  # what it answers


@dataclass(frozen=True, slots=True, kw_only=True)
class IssueLine:
    """So much of a material, from one lot or from whichever expires first."""

    material: Material
    quantity: Decimal  # stock units
    booking: Booking | None = None
    lot: Lot | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CountDifference:
    """What a lot holds more (or, below 0, less) than the books say."""

    lot: Lot
    quantity: Decimal  # stock units


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A movement about to be written."""

    lot: Lot
    quantity: Decimal  # above 0 into stock
    booking_id: int | None = None
    reverses: Movement | None = None
    override_reason: str = ""


def in_date(lot: Lot, on: date) -> bool:
    """Whether a lot has not passed its expiry date."""
    return lot.expires_on is None or on <= lot.expires_on


def arriving_lot(line: ReceiptLine, *, on: date, supplier: Supplier | None, accepted: str) -> Lot:
    """The lot that a line of a delivery becomes, unsaved and still empty."""
    lot = Lot(
        material=line.material,
        supplier=supplier,
        number=kept_text(Lot, "number", line.lot_number, required="Give the lot number on the label.", shown_as="lot_number"),
        received_on=on,
        made_on=line.made_on,
        expires_on=line.expires_on or expiry(made_on=line.made_on, shelf_life_days=line.material.shelf_life_days),
        location=line.location,
        containers=line.containers,
        pack=line.pack,
        order_line=line.order_line,
        unit_cost=exact_cost(line.unit_cost),
    )
    if not 1 <= line.containers <= MOST_CONTAINERS:
        raise QuantityError(f"A lot comes in 1 to {MOST_CONTAINERS:,} containers.", value=line.containers, field="containers")
    if any(of is not None and of.material_id != line.material.pk for of in (line.pack, line.order_line)):
        raise WrongMaterialError(f"This is not a pack of {line.material.name}.", field="pack")
    if lot.made_on and lot.made_on > on:
        raise DayError(f"It can’t have been made on {lot.made_on}, after it came in.", on=lot.made_on, field="made_on")
    if lot.made_on and lot.expires_on and lot.expires_on < lot.made_on:
        raise DayError(f"It can’t expire before it was made ({lot.made_on}).", on=lot.expires_on, field="expires_on")
    if not in_date(lot, on) and not accepted:
        raise LotNotUsableError(lot, f"expired on {lot.expires_on}, before it came in", field="expires_on")
    return lot


def part_of(lot: Lot, quantity: Decimal, location: Location | None) -> Lot:
    """The lot that a part of another becomes, unsaved and still empty, with as many whole containers as fit."""
    return Lot(
        material=lot.material,
        supplier_id=lot.supplier_id,
        number=lot.number,
        received_on=lot.received_on,
        made_on=lot.made_on,
        expires_on=lot.expires_on,
        opened_on=lot.opened_on,
        is_quarantined=lot.is_quarantined,
        quarantine_reason=lot.quarantine_reason,
        location=location,
        containers=max(1, min(lot.containers, int(lot.containers * quantity / lot.came_with))),
        split_from=lot,
        pack_id=lot.pack_id,
        unit_cost=lot.unit_cost,
    )


class Shelf:
    """The locked lots of an issue, and what is left in them while its lines are filled one after the other."""

    def __init__(self, lots: dict[int, Lot], on: date) -> None:
        self._lots = lots
        self._on = on
        self._left = {pk: lot.on_hand for pk, lot in lots.items()}

    def draw(self, line: IssueLine) -> list[Move]:
        """First expired first out over the material's usable lots; raises ``NotEnoughStockError``."""
        views = [
            dataclasses.replace(lot.as_view(), on_hand=self._left[pk])
            for pk, lot in self._lots.items()
            if lot.material_id == line.material.pk
        ]
        try:
            takes = choose_lots(views, quantity=line.quantity, on=self._on)
        except ShortageError as short:
            here = sum((view.on_hand for view in views if view.received_on <= self._on), ZERO)
            raise NotEnoughStockError(line.material, short.wanted, short.usable, unusable=here - short.usable) from None
        return [self._take(self._lots[take.lot_id], take.quantity, line) for take in takes]

    def draw_from(self, line: IssueLine, override: str) -> list[Move]:
        """From the lot that the line names."""
        lot = self._lots.get(line.lot.pk) if line.lot else None
        if lot is None or lot.material_id != line.material.pk:
            raise WrongMaterialError(f"This lot does not hold {line.material.name}.", field="lot")
        not_before(self._on, lot.received_on, what=f"lot {lot.number} came in")
        usable = lot.is_usable(self._on)
        if not usable and not override:
            raise LotNotUsableError(lot, why_not(lot))
        if line.quantity > self._left[lot.pk]:
            raise NotEnoughStockError(line.material, line.quantity, self._left[lot.pk], lot=lot)
        return [self._take(lot, line.quantity, line, "" if usable else override)]

    def _take(self, lot: Lot, quantity: Decimal, line: IssueLine, override: str = "") -> Move:
        self._left[lot.pk] -= quantity
        return Move(lot=lot, quantity=-quantity, booking_id=line.booking.pk if line.booking else None, override_reason=override)


def why_not(lot: Lot) -> str:
    if lot.is_set_aside:
        return "is in quarantine" + (f" ({lot.why_set_aside})" if lot.why_set_aside else "")
    if lot.expires_on is not None and lot.expires_on == lot.usable_until:
        return f"expired on {lot.expires_on}"
    return f"was opened on {lot.opened_on} and was good until {lot.usable_until}"


def check_booking(booking: Booking | None, material: Material) -> None:
    if booking is not None and booking.material_id != material.pk:
        raise WrongMaterialError(f"The booking of {booking.holder} is not for {material.name}.", field="booking")


def net_issued(lot: Lot, **only: int | None) -> Decimal:
    """What was issued from a lot and has not come back."""
    return -Movement.objects.filter(lot=lot, **only).standing_for(PostingKind.ISSUE, PostingKind.RETURN).total()


def check_out(lot: Lot, back: Decimal, booking_id: int | None) -> None:
    """Refuse to put back more than is out, from the lot and for the booking; raises ``ReturnTooLargeError``."""
    out = net_issued(lot)
    if booking_id is not None:
        out = min(out, net_issued(lot, booking_id=booking_id))
    if back > out:
        raise ReturnTooLargeError(lot, back, max(out, ZERO))


def check_reversible(posting: Posting, moves: Sequence[Move]) -> None:
    for lot, change in by_lot(moves):
        if lot.on_hand + change < 0:
            raise NotReversibleError(
                posting, f"lot {lot.number} holds only {amount(lot.on_hand)} of the {amount(-change)} that would go"
            )
    if posting.kind == PostingKind.ISSUE:
        totals: dict[tuple[Lot, int | None], Decimal] = defaultdict(Decimal)
        for move in moves:
            totals[move.lot, move.booking_id] += move.quantity
            if move.booking_id is not None:
                totals[move.lot, None] += move.quantity
        for (lot, booking_id), back in totals.items():
            try:
                check_out(lot, back, booking_id)
            except ReturnTooLargeError:
                why = f"part of what it took from lot {lot.number} has come back; reverse the return first"
                raise NotReversibleError(posting, why) from None


def counted_moves(differences: Sequence[CountDifference], lots: Mapping[int, Lot], on: date) -> list[Move]:
    """The differences of a count as movements of the locked lots; none may leave less than nothing.

    Raises ``QuantityError`` (also for a lot that comes twice), ``DayError`` or ``NotEnoughStockError``, with the line.
    """
    moves: list[Move] = []
    for place, off in enumerate(differences):
        with at_line(place):
            lot = lots[off.lot.pk]
            size = exact_quantity(abs(off.quantity))
            not_before(on, lot.received_on, what=f"lot {lot.number} came in")
            if any(move.lot is lot for move in moves):
                raise QuantityError(f"Lot {lot.number} comes twice.", value=off.quantity)
            if off.quantity < 0 and size > lot.on_hand:
                raise NotEnoughStockError(lot.material, size, lot.on_hand, lot=lot)
            moves.append(Move(lot=lot, quantity=size if off.quantity > 0 else -size))
    return moves


def by_lot(moves: Iterable[Move]) -> list[tuple[Lot, Decimal]]:
    """Each lot with the sum of its moves, in the order of the lots' numbers."""
    lots, sums = {}, defaultdict[int, Decimal](Decimal)
    for move in moves:
        lots[move.lot.pk] = move.lot
        sums[move.lot.pk] += move.quantity
    return [(lots[pk], sums[pk]) for pk in sorted(lots)]
