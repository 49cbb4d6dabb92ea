"""What packs cost, from when on, and how the shop learnt of it.

Every change of a pack's price goes through ``set_prices``: it keeps a row of history and the pack's own price in step. The
price of a pack is the one that holds today; a price learnt late for an earlier day goes into the history only.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db import transaction
from django.db.models import Min, QuerySet
from django.utils import timezone
from simple_history.utils import bulk_update_with_history

from finishing.fields import to_step
from finishing.models import User
from finishing.show import preferences
from inventory.choices import PostingKind, PriceSource
from inventory.errors import DayError, QuantityError, StockError
from inventory.models import Lot, Material, Movement, Pack, PackPrice, Posting
from inventory.services.checks import exact_cost, kept_text

EARLIEST = date(2000, 1, 1)
BEFORE = "Price before the first change"


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPrice:
    """What a pack costs from some day on."""

    pack: Pack
    price: Decimal


def set_price(
    *, pack: Pack, price: Decimal, valid_from: date, source: PriceSource, by: User | None, note: str = ""
) -> PackPrice | None:
    """Let a pack cost this much from a day on; ``None`` when it cost that already and that is written down.

    Raises ``QuantityError`` for what is no price, ``DayError`` for a day to come or one before 2000.
    """
    new = [NewPrice(pack=pack, price=price)]
    return set_prices(prices=new, valid_from=valid_from, source=source, by=by, note=note)[0]


@transaction.atomic
def set_prices(
    *, prices: Sequence[NewPrice], valid_from: date, source: PriceSource, by: User | None, note: str = ""
) -> list[PackPrice | None]:
    """``set_price`` for many packs at once, in a constant number of queries; all of them or none."""
    if valid_from > timezone.localdate():
        raise DayError(f"{valid_from} is still to come: enter the price on the day from which it holds.", on=valid_from)
    if valid_from < EARLIEST:
        raise DayError(f"{valid_from} lies too far back.", on=valid_from, field="valid_from")
    words = kept_text(PackPrice, "note", note)
    known = [exact_cost(new.price, field="price") for new in prices]
    kept = {pack.pk: pack for pack in Pack.objects.select_for_update().filter(pk__in={n.pack.pk for n in prices}).order_by("pk")}
    history = _history(kept)
    entered = _entered([pk for pk in kept if pk not in history])
    changed: list[Pack] = []
    found: list[PackPrice | None] = []
    for new, price in zip(prices, known, strict=True):
        pack, past = kept[new.pack.pk], history.setdefault(new.pack.pk, [])
        is_first, before = not past, _price_of(past, valid_from)
        if is_first and price != pack.price:
            past.append(_first_price(pack, entered.get(pack.pk), valid_from))
        if (not past or valid_from >= past[-1].valid_from) and pack.price != price:
            pack.price = price
            changed.append(pack)
        new.pack.price = pack.price
        if not is_first and before == price:
            found.append(None)
            continue
        row = PackPrice(pack=pack, price=price, valid_from=valid_from, source=source, by=by, note=words)
        past.append(row)
        past.sort(key=lambda one: one.valid_from)  # stable: of the same day the newest comes last
        found.append(row)
    bulk_update_with_history(changed, Pack, ["price"], default_user=by)
    PackPrice.objects.bulk_create(row for past in history.values() for row in past if row.pk is None)
    return found


def _history(packs: Iterable[int]) -> dict[int, list[PackPrice]]:
    """The rows of these packs, oldest first."""
    rows: dict[int, list[PackPrice]] = {}
    for row in PackPrice.objects.filter(pack__in=list(packs)).order_by("valid_from", "pk"):
        rows.setdefault(row.pack_id, []).append(row)
    return rows


def _entered(packs: Iterable[int]) -> dict[int, date]:
    """The day on which each of these packs was entered, or came for the first time where that was before. Two queries."""
    asked = list(packs)
    if not asked:
        return {}
    first = Pack.history.filter(id__in=asked).values_list("id").annotate(Min("history_date"))
    entered = {pk: timezone.localdate(moment) for pk, moment in first}
    came = Lot.objects.filter(pack__in=asked).order_by().values_list("pack").annotate(Min("received_on"))
    return entered | {pk: min(on, entered.get(pk, on)) for pk, on in came if pk is not None}


def _price_of(rows: Sequence[PackPrice], day: date) -> Decimal | None:
    """The price that holds on a day by these rows, oldest first."""
    return next((row.price for row in reversed(rows) if row.valid_from <= day), None)


def _first_price(pack: Pack, entered: date | None, valid_from: date) -> PackPrice:
    """What the pack cost until now, from the day on which it was entered."""
    since = min(entered or valid_from, valid_from - timedelta(days=1))
    return PackPrice(pack=pack, price=pack.price, valid_from=since, source=PriceSource.ENTERED, note=BEFORE)


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
    on: date  # when it came
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
    return _apart(_receipts().filter(posting=posting).order_by("pk"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Paid:
    """What a lot that came in packs was paid, and who booked it."""

    lot: Lot
    pack: Pack
    on: date  # when it came
    price: Decimal  # of one pack
    by: User


def paid_for(material: Material, *, most: int) -> list[Paid]:
    """What the latest ``most`` lots of a material that came in packs were paid, newest first. One query."""
    came = _receipts().filter(lot__material=material).select_related("posting__by").order_by("-posting__on", "-pk")[:most]
    return [
        Paid(lot=move.lot, pack=pack, on=move.posting.on, price=paid_for_pack(move.lot, content), by=move.posting.by)
        for move in came
        if (pack := move.lot.pack) is not None
        and (content := move.lot.order_line.content if move.lot.order_line else pack.content)
    ]


def _receipts() -> QuerySet[Movement]:
    """What came in packs and stands."""
    came = Movement.objects.filter(posting__kind=PostingKind.RECEIPT, lot__pack__isnull=False, reversed_by__isnull=True)
    return came.select_related("posting", "lot__pack__supplier", "lot__material", "lot__order_line")


def _apart(receipts: Iterable[Movement]) -> list[PaidOtherwise]:
    came = [(move, move.lot.pack) for move in receipts if move.lot.pack is not None]
    history = _history({pack.pk for _, pack in came})
    found = []
    for move, pack in came:
        content = move.lot.order_line.content if move.lot.order_line else pack.content
        rows = history.get(pack.pk)
        before = _price_of(rows, move.posting.on) if rows else pack.price
        if before is None or to_step(before / content) != move.lot.unit_cost:
            paid = paid_for_pack(move.lot, content)
            found.append(PaidOtherwise(lot=move.lot, pack=pack, on=move.posting.on, paid=paid, known=before))
    return found


def prices_on(packs: Iterable[Pack], day: date) -> dict[int, Decimal | None]:
    """``price_on`` for several packs, by pack. One query."""
    asked = {pack.pk: pack for pack in packs}
    history = _history(asked)
    return {pk: _price_of(history[pk], day) if pk in history else pack.price for pk, pack in asked.items()}


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
