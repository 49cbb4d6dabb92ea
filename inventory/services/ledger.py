"""The one door of the stock: receive, issue, return, write off, reverse.

Nothing else writes a posting, a movement or a lot's balance. Each verb is one transaction: it writes the submission's key
(a second arrival of the same submission finds it and gets the first answer), locks the lots in the order of their numbers,
checks under the lock, then writes movements and balances together. Quantities are in the material's stock unit, money in the
shop's currency. Refusals are ``inventory.errors.StockError``; nothing is written then.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TypeVar
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import Q

from finishing.models import User
from inventory.choices import PostingKind, WriteOffCause
from inventory.core.lots import ShortageError, choose_lots, expiry
from inventory.errors import (
    AlreadyReversedError,
    DayError,
    KeyUsedError,
    LotNotUsableError,
    NotEnoughStockError,
    NotReversibleError,
    QuantityError,
    ReturnTooLargeError,
    StockError,
    TextError,
    WrongMaterialError,
    amount,
)
from inventory.models import Booking, Lot, Material, Movement, Pack, Posting, PurchaseOrderLine, Supplier
from inventory.services.checks import at_line, exact_cost, exact_quantity, kept_text, not_before, past_day

ZERO = Decimal(0)
MOST_CONTAINERS = 10_000
# What makes two deliveries of the same key the same delivery.
_AS_RECEIVED = (
    *("material_id", "supplier_id", "number", "unit_cost", "made_on", "expires_on", "place"),
    *("containers", "pack_id", "order_line_id"),
)
_Line = TypeVar("_Line")


@dataclass(frozen=True, slots=True, kw_only=True)
class ReceiptLine:
    """One lot of a delivery."""

    material: Material
    quantity: Decimal  # stock units
    unit_cost: Decimal  # money per stock unit, as paid
    lot_number: str
    made_on: date | None = None
    expires_on: date | None = None  # left out: the day it was made and the material's shelf life
    place: str = ""
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
class _Move:
    """A movement about to be written."""

    lot: Lot
    quantity: Decimal  # above 0 into stock
    booking_id: int | None = None
    reverses: Movement | None = None
    override_reason: str = ""


@transaction.atomic
def receive(
    *,
    key: UUID,
    by: User,
    on: date,
    supplier: Supplier | None,
    reference: str,
    lines: Sequence[ReceiptLine],
    accept_expired_reason: str = "",
) -> Posting:
    """Book a delivery: each line becomes a lot.

    A lot that is out of date on arrival is refused unless ``accept_expired_reason`` says why it is kept; the reason stays
    on its movement.
    """
    past_day(on, what="A delivery")
    accepted = kept_text(Movement, "override_reason", accept_expired_reason, shown_as="accept_expired_reason")
    lots, quantities = [], []
    for place, line in enumerate(_some(lines)):
        with at_line(place):
            quantities.append(exact_quantity(line.quantity))
            lots.append(_arriving_lot(line, on=on, supplier=supplier, accepted=accepted))
    posting, is_new = _begin(
        Posting(key=key, kind=PostingKind.RECEIPT, by=by, on=on, reference=reference),
        [[getattr(lot, name) for name in _AS_RECEIVED] + [quantity] for lot, quantity in zip(lots, quantities, strict=True)],
        accepted,
    )
    if is_new:
        Lot.objects.bulk_create(lots)
        _write(
            posting,
            [
                _Move(lot=lot, quantity=quantity, override_reason="" if _in_date(lot, on) else accepted)
                for lot, quantity in zip(lots, quantities, strict=True)
            ],
        )
    return posting


@transaction.atomic
def issue(
    *,
    key: UUID,
    by: User,
    on: date,
    lines: Sequence[IssueLine],
    reference: str,
    reason: str = "",
    override_reason: str = "",
) -> Posting:
    """Take material out of stock, first expired first out over usable lots, or from the lot that a line names.

    An expired or quarantined lot is taken only when a line names it and ``override_reason`` says why; the reason stays on
    its movement. Whether the person may override is for the caller to check.
    """
    past_day(on, what="An issue")
    override = kept_text(Movement, "override_reason", override_reason, shown_as="override_reason")
    wanted = [_checked_issue_line(place, line) for place, line in enumerate(_some(lines))]
    posting, is_new = _begin(
        Posting(key=key, kind=PostingKind.ISSUE, by=by, on=on, reference=reference, reason=reason),
        [[line.material.pk, line.quantity, line.booking and line.booking.pk, line.lot and line.lot.pk] for line in wanted],
        override,
    )
    if is_new:
        materials = {line.material.pk for line in wanted}
        named = {line.lot.pk for line in wanted if line.lot}
        shelf = _Shelf(_locked(Q(material__in=materials, on_hand__gt=0) | Q(pk__in=named)), on)
        moves: list[_Move] = []
        # Lines that name a lot go first: otherwise a line that may take any lot could empty the one another line needs.
        for place, line in sorted(enumerate(wanted), key=lambda entry: entry[1].lot is None):
            with at_line(place):
                moves.extend(shelf.draw_from(line, override) if line.lot else shelf.draw(line))
        _write(posting, moves)
    return posting


@transaction.atomic
def return_stock(
    *,
    key: UUID,
    by: User,
    on: date,
    lot: Lot,
    quantity: Decimal,
    reference: str,
    booking: Booking | None = None,
    reason: str = "",
) -> Posting:
    """Put back what was issued from a lot (for that booking, when one is named) and not used."""
    past_day(on, what="A return")
    back = exact_quantity(quantity)
    posting, is_new = _begin(
        Posting(key=key, kind=PostingKind.RETURN, by=by, on=on, reference=reference, reason=reason),
        [[lot.pk, back, booking and booking.pk]],
    )
    if is_new:
        kept = _locked_one(lot)
        _check_booking(booking, kept.material)
        not_before(on, kept.received_on, what=f"lot {kept.number} came in")
        _check_out(kept, back, booking.pk if booking else None)
        _write(posting, [_Move(lot=kept, quantity=back, booking_id=booking.pk if booking else None)])
    return posting


@transaction.atomic
def write_off(
    *, key: UUID, by: User, on: date, lot: Lot, quantity: Decimal, cause: WriteOffCause, reason: str, reference: str = ""
) -> Posting:
    """Take out of the books what nobody will use: out of date, spilled, spoiled, lost. Any lot can be written off."""
    past_day(on, what="A write-off")
    gone = exact_quantity(quantity)
    if cause not in set(WriteOffCause) - {WriteOffCause.NONE}:
        raise TextError("Say why it is written off.", field="cause")
    if cause == WriteOffCause.OTHER and not reason.strip():
        raise TextError("Say in a few words what happened.", field="reason")
    posting, is_new = _begin(
        Posting(key=key, kind=PostingKind.WRITE_OFF, by=by, on=on, reference=reference, reason=reason, cause=cause),
        [[lot.pk, gone]],
    )
    if is_new:
        kept = _locked_one(lot)
        not_before(on, kept.received_on, what=f"lot {kept.number} came in")
        if gone > kept.on_hand:
            raise NotEnoughStockError(kept.material, gone, kept.on_hand, lot=kept)
        _write(posting, [_Move(lot=kept, quantity=-gone)])
    return posting


@transaction.atomic
def reverse(*, key: UUID, by: User, on: date, posting: Posting, reason: str) -> Posting:
    """Undo a posting by a counter-movement for each of its movements. Once only, and with a reason.

    Refused when the stock it brought is gone, when part of an issue came back since (reverse the return first), and for a
    posting that itself reverses another (post anew instead).
    """
    past_day(on, what="A reversal")
    not_before(on, posting.on, what=f"{posting} was booked")
    why = kept_text(Posting, "reason", reason, required="Say why it is reversed.")
    counter, is_new = _begin(
        Posting(key=key, kind=PostingKind.REVERSAL, by=by, on=on, reference=posting.reference, reason=why), [[posting.pk]]
    )
    if is_new:
        if posting.kind == PostingKind.REVERSAL:
            raise NotReversibleError(posting, "it reverses another posting; book what is right anew")
        originals = list(posting.movements.order_by("pk"))
        lots = _locked(Q(pk__in={old.lot_id for old in originals}))
        if Movement.objects.filter(reverses__in=originals).exists():
            raise AlreadyReversedError(posting)
        moves = [
            _Move(lot=lots[old.lot_id], quantity=-old.quantity, booking_id=old.booking_id, reverses=old) for old in originals
        ]
        _check_reversible(posting, moves)
        _write(counter, moves)
    return counter


class _Shelf:
    """The locked lots of an issue, and what is left in them while its lines are filled one after the other."""

    def __init__(self, lots: dict[int, Lot], on: date) -> None:
        self._lots = lots
        self._on = on
        self._left = {pk: lot.on_hand for pk, lot in lots.items()}

    def draw(self, line: IssueLine) -> list[_Move]:
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

    def draw_from(self, line: IssueLine, override: str) -> list[_Move]:
        """From the lot that the line names."""
        lot = self._lots.get(line.lot.pk) if line.lot else None
        if lot is None or lot.material_id != line.material.pk:
            raise WrongMaterialError(f"This lot does not hold {line.material.name}.", field="lot")
        not_before(self._on, lot.received_on, what=f"lot {lot.number} came in")
        usable = lot.is_usable(self._on)
        if not usable and not override:
            raise LotNotUsableError(lot, _why_not(lot))
        if line.quantity > self._left[lot.pk]:
            raise NotEnoughStockError(line.material, line.quantity, self._left[lot.pk], lot=lot)
        return [self._take(lot, line.quantity, line, "" if usable else override)]

    def _take(self, lot: Lot, quantity: Decimal, line: IssueLine, override: str = "") -> _Move:
        self._left[lot.pk] -= quantity
        return _Move(lot=lot, quantity=-quantity, booking_id=line.booking.pk if line.booking else None, override_reason=override)


def _why_not(lot: Lot) -> str:
    if lot.is_quarantined:
        return "is in quarantine" + (f" ({lot.quarantine_reason})" if lot.quarantine_reason else "")
    if lot.expires_on is not None and lot.expires_on == lot.usable_until:
        return f"expired on {lot.expires_on}"
    return f"was opened on {lot.opened_on} and was good until {lot.usable_until}"


def _some(lines: Sequence[_Line]) -> Sequence[_Line]:
    if not lines:
        raise StockError("There is no line to book.", field="lines")
    return lines


def _in_date(lot: Lot, on: date) -> bool:
    return lot.expires_on is None or on <= lot.expires_on


def _arriving_lot(line: ReceiptLine, *, on: date, supplier: Supplier | None, accepted: str) -> Lot:
    """The lot that a line of a delivery becomes, unsaved and still empty."""
    lot = Lot(
        material=line.material,
        supplier=supplier,
        number=kept_text(Lot, "number", line.lot_number, required="Give the lot number on the label.", shown_as="lot_number"),
        received_on=on,
        made_on=line.made_on,
        expires_on=line.expires_on or expiry(made_on=line.made_on, shelf_life_days=line.material.shelf_life_days),
        place=kept_text(Lot, "place", line.place),
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
    if not _in_date(lot, on) and not accepted:
        raise LotNotUsableError(lot, f"expired on {lot.expires_on}, before it came in", field="expires_on")
    return lot


def _checked_issue_line(place: int, line: IssueLine) -> IssueLine:
    with at_line(place):
        _check_booking(line.booking, line.material)
        return dataclasses.replace(line, quantity=exact_quantity(line.quantity))


def _check_booking(booking: Booking | None, material: Material) -> None:
    if booking is not None and booking.material_id != material.pk:
        raise WrongMaterialError(f"The booking of {booking.holder} is not for {material.name}.", field="booking")


def _net_issued(lot: Lot, **only: int | None) -> Decimal:
    """What was issued from a lot and has not come back."""
    return -Movement.objects.filter(lot=lot, **only).standing_for(PostingKind.ISSUE, PostingKind.RETURN).total()


def _check_out(lot: Lot, back: Decimal, booking_id: int | None) -> None:
    """Refuse to put back more than is out, from the lot and for the booking; raises ``ReturnTooLargeError``."""
    out = _net_issued(lot)
    if booking_id is not None:
        out = min(out, _net_issued(lot, booking_id=booking_id))
    if back > out:
        raise ReturnTooLargeError(lot, back, max(out, ZERO))


def _check_reversible(posting: Posting, moves: Sequence[_Move]) -> None:
    for lot, change in _by_lot(moves):
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
                _check_out(lot, back, booking_id)
            except ReturnTooLargeError:
                why = f"part of what it took from lot {lot.number} has come back; reverse the return first"
                raise NotReversibleError(posting, why) from None


def _locked(which: Q) -> dict[int, Lot]:
    """The lots by number, locked in that order until the transaction ends, so that no two postings wait for each other.

    SQLite has no row locks; there every transaction holds the write lock from its first statement on.
    """
    lots = {lot.pk: lot for lot in Lot.objects.select_for_update().filter(which).order_by("pk")}
    # Many lots share few materials: fetched once each, not joined to every lot.
    materials = Material.objects.in_bulk({lot.material_id for lot in lots.values()})
    for lot in lots.values():
        lot.material = materials[lot.material_id]
    return lots


def _locked_one(lot: Lot) -> Lot:
    return Lot.objects.select_for_update(of=("self",)).select_related("material").get(pk=lot.pk)


def _digest(posting: Posting, lines: Sequence[Sequence[object]], *more: str) -> str:
    """The fingerprint of a submission: what the same key must bring again."""
    said = [posting.kind, posting.on, posting.reference, posting.reason, posting.cause, *more, *lines]
    return hashlib.sha256(json.dumps(said, default=str).encode()).hexdigest()


def _begin(posting: Posting, lines: Sequence[Sequence[object]], *more: str) -> tuple[Posting, bool]:
    """Save the posting under its key, or find the one that this very submission made before; True when it is new."""
    posting.reference = kept_text(Posting, "reference", posting.reference)
    posting.reason = kept_text(Posting, "reason", posting.reason)
    posting.digest = _digest(posting, lines, *more)
    try:
        with transaction.atomic():  # a savepoint: PostgreSQL gives up the whole transaction after a refused insert
            posting.save(force_insert=True)
    except IntegrityError:
        earlier = Posting.objects.filter(key=posting.key).first()
        if earlier is None:
            raise
    else:
        return posting, True
    if earlier.by_id != posting.by_id:
        raise KeyUsedError("Somebody else has sent this form.")
    if earlier.kind != posting.kind:
        raise KeyUsedError("This form has been used for something else.")
    if earlier.digest != posting.digest:
        raise KeyUsedError(f"This form has been booked already, with other figures ({earlier}).")
    return earlier, False


def _by_lot(moves: Iterable[_Move]) -> list[tuple[Lot, Decimal]]:
    """Each lot with the sum of its moves, in the order of the lots' numbers."""
    lots, sums = {}, defaultdict[int, Decimal](Decimal)
    for move in moves:
        lots[move.lot.pk] = move.lot
        sums[move.lot.pk] += move.quantity
    return [(lots[pk], sums[pk]) for pk in sorted(lots)]


def _write(posting: Posting, moves: Sequence[_Move]) -> None:
    """Write the movements, then the balances they change: the database takes a balance only as the sum of its movements."""
    Movement.objects.bulk_create(
        Movement(
            posting=posting,
            lot=move.lot,
            quantity=move.quantity,
            unit_cost=move.lot.unit_cost,
            booking_id=move.booking_id,
            reverses=move.reverses,
            override_reason=move.override_reason,
        )
        for move in moves
    )
    for lot, change in _by_lot(moves):
        lot.on_hand += change
        lot.save(update_fields=["on_hand"])
