"""What the shop knows about each material, put as the core wants it. Reads only, in a constant number of queries."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from statistics import median

from django.db.models import Max

from finishing.models import Shop
from finishing.units import Kind, UnitError, read_measure
from inventory.core.facts import Facts, PackFacts, Policy, Supply
from inventory.core.projection import Arrival, Need, StockLot
from inventory.models import Booking, Lot, Material, Movement, Pack, Snooze
from inventory.models.lots import SET_ASIDE
from inventory.selectors import WeekHistory, weekly_history
from inventory.selectors_orders import LeadTime, observed_lead_times, on_order

ZERO = Decimal(0)
AGES_KEPT = timedelta(days=730)  # of deliveries, for the usual age of a material when it comes
_MEASURE = re.compile(r"(\d+(?:\.\d+)?(?:/\d+)?)\s*([A-Za-zµ²]+(?:\s[A-Za-z]+)?)")
_NUMBER = re.compile(r"\d+(?:[.,/]\d+)*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """Everything that was read, by material."""

    packs: Mapping[int, list[Pack]]
    facts: Mapping[int, Facts]


def facts_of(material: Material, *, today: date, shop: Shop) -> Known:
    """The facts of one material alone on a day."""
    return read_facts([material], today=today, shop=shop, only=material.pk)


def read_facts(materials: Sequence[Material], *, today: date, shop: Shop, only: int | None = None) -> Known:
    """The facts of these materials on a day. ``only`` keeps the long reads to one of them."""
    packs, lots, needs = _packs(), _lots(only), _needs(only)
    shares, leads, ages = _delivery_shares(packs), observed_lead_times(), _ages(since=today - AGES_KEPT)
    history, ordered, after = weekly_history(today, only=only), on_order(today), _moved_after(today)
    facts, nothing = {}, WeekHistory(first=today, weeks=())
    for material in materials:
        pk, used = material.pk, history.get(material.pk, nothing)
        for pack in packs[pk]:
            pack.material = material  # known already: nobody has to ask for it again
        supply = _supply(material, packs[pk], shares=shares, leads=leads, ages=ages)
        facts[pk] = Facts(
            key=pk,
            unit=material.stock_unit,
            today=today,
            supply=supply,
            policy=Policy(service_level=float(material.service_level or shop.service_level), review_days=float(shop.review_days)),
            weeks=tuple(map(float, used.weeks)),
            first_week=used.first,
            came_back=used.came_back,
            entered=_as_float(material.weekly_use),
            entered_deviation=_as_float(material.weekly_use_sd),
            lots=tuple(lots[pk]),
            arrivals=tuple(_arrival(material, supply, quantity, on) for quantity, on in ordered.get(pk, ())),
            needs=tuple(needs[pk]),
            packs=tuple(_pack(pack, material) for pack in packs[pk]),
            usual_pack=usual.pk if (usual := usual_of(packs[pk])) else None,
            shelf_days=material.shelf_life_days,
            last_movement=after.get(pk),
        )
    return Known(packs=packs, facts=facts)


def snoozes_in_force(today: date) -> Mapping[int, Snooze]:
    """By material: what keeps it off the list on a day. One query."""
    found = Snooze.objects.filter(ended_on__isnull=True, until__gte=today).select_related("by")
    return {snooze.material_id: snooze for snooze in found}


def usual_of(packs: Sequence[Pack]) -> Pack | None:
    """The pack that the shop usually buys."""
    return next((pack for pack in packs if pack.is_usual), packs[0] if packs else None)


def _as_float(value: Decimal | None) -> float | None:
    return None if value is None else float(value)


def _packs() -> Mapping[int, list[Pack]]:
    found: dict[int, list[Pack]] = defaultdict(list)
    for pack in Pack.objects.filter(is_active=True, supplier__is_active=True).select_related("supplier"):
        found[pack.material_id].append(pack)
    return found


def _delivery_shares(packs: Mapping[int, list[Pack]]) -> Mapping[int, Decimal]:
    """By supplier: a material's share of the delivery charge. One delivery brings several materials, and each bears its part."""
    usual = [found for found in map(usual_of, packs.values()) if found]
    brought = Counter(pack.supplier_id for pack in usual)
    return {pack.supplier_id: pack.supplier.delivery_charge / brought[pack.supplier_id] for pack in usual}


def _lots(only: int | None) -> Mapping[int, list[StockLot]]:
    found: dict[int, list[StockLot]] = defaultdict(list)
    lots = Lot.objects.in_stock().exclude(SET_ASIDE).select_related("material")
    for lot in lots if only is None else lots.filter(material=only):
        found[lot.material_id].append(StockLot(on_hand=lot.on_hand, usable_until=lot.usable_until, key=lot.pk))
    return found


def _needs(only: int | None) -> Mapping[int, list[Need]]:
    found: dict[int, list[Need]] = defaultdict(list)
    bookings = Booking.objects.with_remaining().filter(is_open=True)
    for booking in bookings if only is None else bookings.filter(material=only):
        if booking.remaining > 0:
            found[booking.material_id].append(Need(quantity=booking.remaining, on=booking.needed_on))
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ages:
    """How old things usually are when they come, in days."""

    by_pair: Mapping[tuple[int, int], float]  # material and supplier
    by_supplier: Mapping[int, float]

    def of(self, material: int, supplier: int) -> float:
        return self.by_pair.get((material, supplier), self.by_supplier.get(supplier, 0.0))


def _ages(*, since: date) -> _Ages:
    """From the day it was made to the day it came; where only the last day of use is known, from that and the shelf life."""
    pairs: dict[tuple[int, int], list[float]] = defaultdict(list)
    suppliers: dict[int, list[float]] = defaultdict(list)
    came = Lot.objects.filter(received_on__gte=since, split_from__isnull=True, supplier__isnull=False).order_by()
    columns = ("material", "supplier", "received_on", "made_on", "expires_on", "material__shelf_life_days")
    for material, supplier, received, made, expires, shelf in came.values_list(*columns):
        if made is None and (expires is None or shelf is None):
            continue
        days = (received - made).days if made else shelf - (expires - received).days
        if days >= 0:
            pairs[material, supplier].append(days)
            suppliers[supplier].append(days)
    return _Ages(
        by_pair={key: median(days) for key, days in pairs.items()},
        by_supplier={key: median(days) for key, days in suppliers.items()},
    )


def _moved_after(today: date) -> Mapping[int, date]:
    """By material: the last movement of a day that is still to come. Somebody has set the clock back, or set it wrong."""
    late = Movement.objects.filter(posting__on__gt=today).order_by()
    return dict(late.values_list("lot__material").annotate(Max("posting__on")))


def _supply(
    material: Material,
    packs: Sequence[Pack],
    *,
    shares: Mapping[int, Decimal],
    leads: Mapping[int, LeadTime],
    ages: _Ages,
) -> Supply:
    usual = usual_of(packs)
    if usual is None:
        return Supply(lead_days=None)
    supplier, observed = usual.supplier, leads.get(usual.supplier_id)
    return Supply(
        lead_days=float(supplier.lead_time_days),
        lead_deviation=float(supplier.lead_time_sd_days),
        observed=tuple(float(max(days, 0)) for days in observed.days) if observed else (),
        age_days=ages.of(material.pk, supplier.pk),
        charges={pack.supplier_id: shares.get(pack.supplier_id, pack.supplier.delivery_charge) for pack in packs},
        usual=supplier.pk,
    )


def _arrival(material: Material, supply: Supply, quantity: Decimal, on: date) -> Arrival:
    """It comes on its day with the full shelf life less the supplier's usual age (replenishment model, section 1)."""
    life = material.shelf_life_days
    until = None if life is None else on + timedelta(days=min(int(life - supply.age_days), 36_500))
    return Arrival(quantity=quantity, on=on, usable_until=until)


def _pack(pack: Pack, material: Material) -> PackFacts:
    return PackFacts(
        key=pack.pk,
        supplier=pack.supplier_id,
        content=pack.content,
        price=pack.price,
        minimum=pack.minimum_packs,
        says=described(pack.description, material),
    )


def described(words: str, material: Material) -> Decimal | None:
    """The content that a description such as "5 L can" names, in the stock unit; ``None`` unless it names one measure alone."""
    found = _MEASURE.search(words)
    if found is None or len(_NUMBER.findall(words)) != 1:
        return None
    kind = material.unit.measure
    if kind is Kind.COUNT:
        return None  # "box of 50" names no unit, and "2 L" of a cup liner is its size
    number, unit = found.groups()
    for name in (unit, unit.split()[0]):
        try:
            value = read_measure(f"{number} {name}", kind, assume="mm" if kind is Kind.LENGTH else material.stock_unit).decimal
        except UnitError:
            continue
        return value / 1000 if kind is Kind.LENGTH else value
    return None
