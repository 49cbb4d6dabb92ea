"""What packs cost, from when on, and how the shop learnt of it.

Every change of a pack's price goes through ``set_price``: it keeps a row of history and the pack's own price in step. The
price of a pack is the one that holds today; a price learnt late for an earlier day goes into the history only.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from finishing.fields import to_step
from finishing.models import User
from finishing.show import preferences
from inventory.choices import PostingKind, PriceSource
from inventory.errors import DayError, QuantityError, StockError
from inventory.models import Lot, Movement, Pack, PackPrice, Posting
from inventory.services.checks import exact_cost, kept_text

EARLIEST = date(2000, 1, 1)
BEFORE = "Price before the first change"


@transaction.atomic
def set_price(
    *, pack: Pack, price: Decimal, valid_from: date, source: PriceSource, by: User | None, note: str = ""
) -> PackPrice | None:
    """Let a pack cost this much from a day on; ``None`` when it cost that already and that is written down.

    Raises ``QuantityError`` for what is no price, ``DayError`` for a day to come or one before 2000.
    """
    known = exact_cost(price, field="price")
    if valid_from > timezone.localdate():
        raise DayError(f"{valid_from} is still to come: enter the price on the day from which it holds.", on=valid_from)
    if valid_from < EARLIEST:
        raise DayError(f"{valid_from} lies too far back.", on=valid_from, field="valid_from")
    words = kept_text(PackPrice, "note", note)
    kept = Pack.objects.select_for_update().get(pk=pack.pk)
    former = kept.prices.order_by("valid_from", "pk").last()
    if former is None and known != kept.price:
        _keep_first(kept, valid_from)
    is_latest = former is None or valid_from >= former.valid_from
    _set_current(pack, kept, known if is_latest else kept.price)
    if former is not None and price_on(kept, valid_from) == known:
        return None
    return PackPrice.objects.create(pack=kept, price=known, valid_from=valid_from, source=source, by=by, note=words)


def _keep_first(pack: Pack, valid_from: date) -> None:
    """Write down what the pack cost until now, from the day on which it was entered."""
    entered = pack.history.order_by("history_date").first()
    since = timezone.localdate(entered.history_date) if entered else valid_from
    PackPrice.objects.create(
        pack=pack,
        price=pack.price,
        valid_from=min(since, valid_from - timedelta(days=1)),
        source=PriceSource.ENTERED,
        note=BEFORE,
    )


def _set_current(given: Pack, kept: Pack, price: Decimal) -> None:
    given.price = price
    if kept.price != price:
        kept.price = price
        kept.save(update_fields=["price"])


def price_on(pack: Pack, day: date) -> Decimal | None:
    """What a pack cost on a day; ``None`` for a day before the first price that is known. At most two queries.

    A pack whose price never changed costs what it costs today.
    """
    row = pack.prices.filter(valid_from__lte=day).order_by("valid_from", "pk").last()
    if row is not None:
        return row.price
    return None if pack.prices.exists() else pack.price


@dataclass(frozen=True, slots=True, kw_only=True)
class PaidOtherwise:
    """A lot of a delivery that was paid at another price than its pack had that day."""

    lot: Lot
    pack: Pack
    paid: Decimal  # for one pack
    known: Decimal | None  # what the pack cost that day, as far as the shop knew

    @property
    def is_dearer(self) -> bool:
        """True when more was paid than was known."""
        return self.known is None or self.paid > self.known


def paid_for_pack(lot: Lot, content: Decimal) -> Decimal:
    """The price of one pack that led to a lot's cost per stock unit.

    A lot keeps its cost per unit to a millionth, so the price is read as the amount in whole cents that gives this cost,
    where there is one.
    """
    exact = lot.unit_cost * content
    cents = exact.quantize(Decimal(1).scaleb(-preferences().places))
    return cents if to_step(cents / content) == lot.unit_cost else to_step(exact)


def paid_otherwise(posting: Posting) -> list[PaidOtherwise]:
    """The lots of a delivery that were paid at another price than the pack's of that day. Two queries.

    A reversed delivery has none: what it says was not so.
    """
    if posting.kind != PostingKind.RECEIPT:
        return []
    moves = Movement.objects.filter(posting=posting, lot__pack__isnull=False, reversed_by__isnull=True)
    lots = [move.lot for move in moves.select_related("lot__pack", "lot__material", "lot__order_line").order_by("pk")]
    known = prices_on([lot.pack for lot in lots if lot.pack], posting.on)
    found = []
    for lot in lots:
        if lot.pack is None:
            continue
        content = lot.order_line.content if lot.order_line else lot.pack.content
        before = known[lot.pack.pk]
        if before is None or to_step(before / content) != lot.unit_cost:
            found.append(PaidOtherwise(lot=lot, pack=lot.pack, paid=paid_for_pack(lot, content), known=before))
    return found


def prices_on(packs: Iterable[Pack], day: date) -> dict[int, Decimal | None]:
    """``price_on`` for several packs, by pack. One query."""
    asked = {pack.pk: pack for pack in packs}
    rows: dict[int, list[PackPrice]] = {}
    for row in PackPrice.objects.filter(pack__in=asked).order_by("valid_from", "pk"):
        rows.setdefault(row.pack_id, []).append(row)
    known: dict[int, Decimal | None] = {}
    for pack in asked.values():
        history = rows.get(pack.pk, [])
        past = [row.price for row in history if row.valid_from <= day]
        known[pack.pk] = past[-1] if past else None if history else pack.price
    return known


@transaction.atomic
def take_over_price(*, lot: Lot, by: User) -> PackPrice | None:
    """Let the pack cost from now on what was paid for a lot; ``None`` when it does so already.

    The price holds from the day of the delivery. Raises ``StockError`` where the lot has no pack or its delivery was reversed.
    """
    received = lot.movements.filter(posting__kind=PostingKind.RECEIPT).select_related("posting").first()
    if lot.pack is None or received is None:
        raise StockError("It is not known in which pack this lot came, so no price can be taken from it.", field="lot")
    if Movement.objects.filter(reverses=received).exists():
        raise StockError(f"{received.posting} was reversed, so its price can’t be taken over.", field="lot")
    content = lot.order_line.content if lot.order_line else lot.pack.content
    if content != lot.pack.content:
        words = "The pack holds another amount today. Enter its price on the pack’s page."
        raise QuantityError(words, value=content, field="lot")
    reference = received.posting.reference
    return set_price(
        pack=lot.pack,
        price=paid_for_pack(lot, content),
        valid_from=received.posting.on,
        source=PriceSource.RECEIPT,
        by=by,
        note=f"Lot {lot.number}, {reference}"[:120] if reference else f"Lot {lot.number}",
    )
