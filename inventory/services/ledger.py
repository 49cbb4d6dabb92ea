"""The one door of the stock: receive, issue, return, write off, transfer, part an opened container, count, reverse.

Nothing else writes a posting, a movement or a lot's balance. Each verb is one transaction: it writes the submission's key
(a second arrival of the same submission finds it and gets the first answer), locks the lots in the order of their numbers,
checks under the lock, then writes movements and balances together. Quantities are in the material's stock unit, money in the
shop's currency. Refusals are ``inventory.errors.StockError``; nothing is written then.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import TypeVar
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import Q

from finishing.models import User
from inventory.choices import PostingKind, WriteOffCause
from inventory.errors import (
    AlreadyReversedError,
    KeyUsedError,
    NotEnoughStockError,
    NotReversibleError,
    QuantityError,
    StockError,
    TextError,
)
from inventory.models import Booking, Location, Lot, Material, Movement, Posting, Supplier
from inventory.services.checks import at_line, exact_quantity, kept_text, not_before, past_day
from inventory.services.lots import close_again, open_by, open_first_issued
from inventory.services.moves import (
    MOST_CONTAINERS,
    CountDifference,
    IssueLine,
    Move,
    ReceiptLine,
    Shelf,
    arriving_lot,
    by_lot,
    check_booking,
    check_out,
    check_reversible,
    counted_moves,
    in_date,
    part_of,
)
from inventory.services.places import check_place

__all__ = [
    "MOST_CONTAINERS",
    "CountDifference",
    "IssueLine",
    "ReceiptLine",
    "count_difference",
    "issue",
    "locked_lot",
    "part_opened",
    "receive",
    "return_stock",
    "reverse",
    "transfer",
    "write_off",
]

# What makes two deliveries of the same key the same delivery.
_AS_RECEIVED = (
    *("material_id", "supplier_id", "number", "unit_cost", "made_on", "expires_on", "location_id"),
    *("containers", "pack_id", "order_line_id"),
)
_Line = TypeVar("_Line")


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
            lots.append(arriving_lot(line, on=on, supplier=supplier, accepted=accepted))
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
                Move(lot=lot, quantity=quantity, override_reason="" if in_date(lot, on) else accepted)
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
    opens: bool = False,
) -> Posting:
    """Take material out of stock, first expired first out over usable lots, or from the lot that a line names.

    An expired or quarantined lot is taken only when a line names it and ``override_reason`` says why; the reason stays on
    its movement. Whether the person may override is for the caller to check. With ``opens`` the lots taken from count as
    opened from that day; so do those of a material whose first issue opens the container.
    """
    past_day(on, what="An issue")
    override = kept_text(Movement, "override_reason", override_reason, shown_as="override_reason")
    wanted = [_checked_issue_line(place, line) for place, line in enumerate(_some(lines))]
    posting, is_new = _begin(
        Posting(key=key, kind=PostingKind.ISSUE, by=by, on=on, reference=reference, reason=reason),
        [[line.material.pk, line.quantity, line.booking and line.booking.pk, line.lot and line.lot.pk] for line in wanted],
        override,
        *(["opens"] if opens else []),
    )
    if is_new:
        materials = {line.material.pk for line in wanted}
        named = {line.lot.pk for line in wanted if line.lot}
        shelf = Shelf(locked_lots(Q(material__in=materials, on_hand__gt=0) | Q(pk__in=named)), on)
        moves: list[Move] = []
        # Lines that name a lot go first: otherwise a line that may take any lot could empty the one another line needs.
        for place, line in sorted(enumerate(wanted), key=lambda entry: entry[1].lot is None):
            with at_line(place):
                moves.extend(shelf.draw_from(line, override) if line.lot else shelf.draw(line))
        _write(posting, moves)
        open_first_issued(posting, [lot for lot, _ in by_lot(moves)], asked=opens)
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
        kept = locked_lot(lot)
        check_booking(booking, kept.material)
        not_before(on, kept.received_on, what=f"lot {kept.number} came in")
        check_out(kept, back, booking.pk if booking else None)
        _write(posting, [Move(lot=kept, quantity=back, booking_id=booking.pk if booking else None)])
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
        kept = locked_lot(lot)
        not_before(on, kept.received_on, what=f"lot {kept.number} came in")
        if gone > kept.on_hand:
            raise NotEnoughStockError(kept.material, gone, kept.on_hand, lot=kept)
        _write(posting, [Move(lot=kept, quantity=-gone)])
    return posting


@transaction.atomic
def transfer(*, key: UUID, by: User, on: date, lot: Lot, quantity: Decimal, to_location: Location, reason: str = "") -> Posting:
    """Move a part of a lot to another place, where it becomes a lot of its own with the same number, dates, state and cost.

    Nothing is gained or lost in quantity or value. A whole lot is not split: it moves by ``transfers.move_lot``.
    """
    past_day(on, what="A transfer")
    part = exact_quantity(quantity)
    posting, is_new = _begin(
        Posting(key=key, kind=PostingKind.TRANSFER, by=by, on=on, reference=f"To {to_location.name}", reason=reason),
        [[lot.pk, part, to_location.pk]],
    )
    if is_new:
        kept = locked_lot(lot)
        not_before(on, kept.received_on, what=f"lot {kept.number} came in")
        check_place(kept, to_location)
        _split(posting, kept, part, to_location)
    return posting


@transaction.atomic
def part_opened(*, key: UUID, by: User, on: date, lot: Lot, quantity: Decimal) -> Posting:
    """Make the container that was opened a lot of its own, in the same place, so that the open life is its alone.

    ``quantity`` is what is in it. The last container of a lot is not parted: ``services.lots.open_lot`` opens it.
    """
    past_day(on, what="Opening")
    part = exact_quantity(quantity)
    posting, is_new = _begin(
        Posting(key=key, kind=PostingKind.TRANSFER, by=by, on=on, reference="Container opened"), [[lot.pk, part]]
    )
    if is_new:
        kept = locked_lot(lot)
        not_before(on, kept.received_on, what=f"lot {kept.number} came in")
        open_by(posting, _split(posting, kept, part, kept.location))
    return posting


@transaction.atomic
def count_difference(*, key: UUID, by: User, on: date, differences: Sequence[CountDifference], reference: str) -> Posting:
    """Bring the books to what was counted: each lot by its difference, a lot at most once."""
    past_day(on, what="A count")
    posting, is_new = _begin(
        Posting(key=key, kind=PostingKind.COUNT, by=by, on=on, reference=reference),
        [[off.lot.pk, off.quantity] for off in _some(differences)],
    )
    if is_new:
        lots = locked_lots(Q(pk__in={off.lot.pk for off in differences}))
        _write(posting, counted_moves(differences, lots, on))
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
        lots = locked_lots(Q(pk__in={old.lot_id for old in originals}))
        if Movement.objects.filter(reverses__in=originals).exists():
            raise AlreadyReversedError(posting)
        moves = [Move(lot=lots[old.lot_id], quantity=-old.quantity, booking_id=old.booking_id, reverses=old) for old in originals]
        check_reversible(posting, moves)
        _write(counter, moves)
        close_again(posting, counter)
    return counter


def _some(lines: Sequence[_Line]) -> Sequence[_Line]:
    if not lines:
        raise StockError("There is no line to book.", field="lines")
    return lines


def _split(posting: Posting, lot: Lot, quantity: Decimal, location: Location | None) -> Lot:
    """Part a locked lot: so much of it becomes a lot of its own."""
    if quantity > lot.on_hand:
        raise NotEnoughStockError(lot.material, quantity, lot.on_hand, lot=lot)
    if quantity == lot.on_hand:
        raise QuantityError("This is all of the lot: it needs no parting.", value=quantity)
    part = part_of(lot, quantity, location)
    part.save(force_insert=True)
    _write(posting, [Move(lot=lot, quantity=-quantity), Move(lot=part, quantity=quantity)])
    return part


def _checked_issue_line(place: int, line: IssueLine) -> IssueLine:
    with at_line(place):
        check_booking(line.booking, line.material)
        return dataclasses.replace(line, quantity=exact_quantity(line.quantity))


def locked_lots(which: Q) -> dict[int, Lot]:
    """The lots by number, locked in that order until the transaction ends, so that no two postings wait for each other.

    SQLite has no row locks; there every transaction holds the write lock from its first statement on.
    """
    lots = {lot.pk: lot for lot in Lot.objects.select_for_update().filter(which).order_by("pk")}
    # Many lots share few materials and places: fetched once each, not joined to every lot.
    materials = Material.objects.in_bulk({lot.material_id for lot in lots.values()})
    places = Location.objects.in_bulk({lot.location_id for lot in lots.values() if lot.location_id})
    for lot in lots.values():
        lot.material = materials[lot.material_id]
        lot.location = places[lot.location_id] if lot.location_id else None
    return lots


def locked_lot(lot: Lot) -> Lot:
    """The lot afresh, locked until the transaction ends."""
    return Lot.objects.select_for_update(of=("self",)).with_state().get(pk=lot.pk)


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


def _write(posting: Posting, moves: Sequence[Move]) -> None:
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
    for lot, change in by_lot(moves):
        lot.on_hand += change
        lot.save(update_fields=["on_hand"])
