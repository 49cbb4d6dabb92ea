"""The reorder list: what the shop knows about each material, put before the core, and its advice grouped by supplier.

Reads only. A constant number of queries, however many materials there are.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from statistics import fmean, stdev

from finishing import show
from finishing.models import Shop
from finishing.money import round_money
from inventory.core.packs import PackCount, PackOffer
from inventory.core.reorder import USUAL_SPREAD, Advice, Demand, Need, Policy, StockLot, Supply, advise
from inventory.models import Booking, Lot, Material, Pack, Supplier
from inventory.models.lots import SET_ASIDE
from inventory.selectors import weekly_demand
from inventory.selectors_orders import on_order

ZERO = Decimal(0)
LEAST_WEEKS = 4  # weeks with use before the history is trusted over the rate that the shop entered


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One number behind a line, in words: the page, the PDF and the spreadsheet print the same."""

    words: str
    figure: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PackLine:
    """So many packs to order."""

    pack: Pack
    count: int

    @property
    def amount(self) -> Decimal:
        """Purchase price of these packs, rounded as it is shown: totals add up what stands above them."""
        return round_money(self.pack.price * self.count, show.preferences().places)

    @property
    def quantity(self) -> Decimal:
        """Content of these packs, in the stock unit."""
        return self.pack.content * self.count


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """A part that is ordered, and the day on which it is promised."""

    quantity: Decimal  # stock units
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class ReorderLine:
    """Advice about one material, and the packs that follow from it."""

    material: Material
    advice: Advice
    packs: tuple[PackLine, ...]
    arrivals: tuple[Arrival, ...] = ()  # ordered and not here yet; the advice counts them as usable
    problem: str = ""  # what must be mended before it can be bought

    @property
    def on_order(self) -> Decimal:
        """Bought and not here yet."""
        return sum((arrival.quantity for arrival in self.arrivals), ZERO)

    @property
    def usable_here(self) -> Decimal:
        """Usable and in the building. What is ordered counts as usable in the advice, unless it is out of date on arrival."""
        return max(self.advice.usable - self.on_order, ZERO)

    @property
    def amount(self) -> Decimal:
        """Purchase price of the line."""
        return sum((line.amount for line in self.packs), ZERO)

    @property
    def quantity(self) -> Decimal:
        """Stock units bought."""
        return sum((line.quantity for line in self.packs), ZERO)

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """Why, number by number (replenishment model, section 6)."""
        return _reasons(self)

    @property
    def summary(self) -> str:
        """Why, in one sentence."""
        return _summary(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierOrder:
    """What to order from one supplier."""

    supplier: Supplier
    lines: tuple[ReorderLine, ...]

    @property
    def goods(self) -> Decimal:
        """Purchase price of all lines. A supplier's minimum is reckoned on it."""
        return sum((line.amount for line in self.lines), ZERO)

    @property
    def delivery_charge(self) -> Decimal:
        """What the supplier takes for bringing it, rounded as it is shown."""
        return round_money(self.supplier.delivery_charge, show.preferences().places)

    @property
    def total(self) -> Decimal:
        """Purchase price of all lines and the delivery charge."""
        return self.goods + self.delivery_charge

    @property
    def missing(self) -> Decimal:
        """How much the order lacks to the supplier's minimum."""
        return max(ZERO, self.supplier.minimum_order - self.goods)

    @property
    def order_by(self) -> date | None:
        """The earliest day among its lines."""
        return min((line.advice.order_by for line in self.lines if line.advice.order_by), default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReorderList:
    """The whole list of a day."""

    on: date
    orders: tuple[SupplierOrder, ...]
    unbuyable: tuple[ReorderLine, ...]  # wanted, but nobody sells it, or its data must be mended first
    enough: tuple[ReorderLine, ...]  # nothing to order
    silent: tuple[Material, ...]  # no use, no booking, no rate entered: nothing can be said

    @property
    def total(self) -> Decimal:
        """Purchase price of everything on it, and the delivery charges."""
        return sum((order.total for order in self.orders), ZERO)

    @property
    def line_count(self) -> int:
        """How many materials are to be bought."""
        return sum(len(order.lines) for order in self.orders)


def reorder_list(*, today: date, shop: Shop | None = None) -> ReorderList:
    """What to buy today, why, in which packs, from whom."""
    shop = shop or Shop.current()
    materials = list(Material.objects.filter(is_active=True))
    packs, lots, needs = _packs(), _lots(), _needs()
    shares = _delivery_shares(packs)
    history, ordered = weekly_demand(on=today), on_order(today)
    lines: list[ReorderLine] = []
    silent: list[Material] = []
    for material in materials:
        demand = demand_of(material, history.get(material.pk, ()))
        if demand is None and not needs[material.pk]:
            silent.append(material)
            continue
        lines.append(
            _line(
                material,
                demand=demand or Demand(mean=0, deviation=0),
                packs=packs[material.pk],
                lots=lots[material.pk],
                needs=needs[material.pk],
                shop=shop,
                today=today,
                shares=shares,
                arrivals=tuple(Arrival(quantity=quantity, on=on) for quantity, on in ordered.get(material.pk, ())),
            )
        )
    return _grouped(today, lines, silent)


def demand_of(material: Material, weeks: Sequence[Decimal]) -> Demand | None:
    """Use per week: learnt from the log where there are enough weeks with use, else as the shop entered it.

    ``None`` when neither is there. The history's zero weeks count; its spread is the sample standard deviation.
    """
    used = [max(float(amount), 0.0) for amount in weeks]
    if sum(1 for amount in used if amount > 0) >= LEAST_WEEKS:
        return Demand(mean=fmean(used), deviation=stdev(used), weeks=len(used))
    if material.weekly_use is None:
        return Demand(mean=fmean(used), deviation=USUAL_SPREAD * fmean(used), weeks=len(used)) if any(used) else None
    entered = float(material.weekly_use)
    spread = float(material.weekly_use_sd) if material.weekly_use_sd is not None else USUAL_SPREAD * entered
    return Demand(mean=entered, deviation=spread)


def _packs() -> Mapping[int, list[Pack]]:
    found: dict[int, list[Pack]] = defaultdict(list)
    for pack in Pack.objects.filter(is_active=True, supplier__is_active=True).select_related("supplier"):
        found[pack.material_id].append(pack)
    return found


def _usual(packs: Sequence[Pack]) -> Pack | None:
    return next((pack for pack in packs if pack.is_usual), packs[0] if packs else None)


def _delivery_shares(packs: Mapping[int, list[Pack]]) -> Mapping[int, Decimal]:
    """By supplier: a material's share of the delivery charge. One delivery brings several materials, and each bears its part."""
    usual = [found for found in map(_usual, packs.values()) if found]
    brought = Counter(pack.supplier_id for pack in usual)
    return {pack.supplier_id: pack.supplier.delivery_charge / brought[pack.supplier_id] for pack in usual}


def _lots() -> Mapping[int, list[StockLot]]:
    found: dict[int, list[StockLot]] = defaultdict(list)
    for lot in Lot.objects.in_stock().exclude(SET_ASIDE).select_related("material"):
        found[lot.material_id].append(StockLot(on_hand=lot.on_hand, usable_until=lot.usable_until))
    return found


def _needs() -> Mapping[int, list[Need]]:
    found: dict[int, list[Need]] = defaultdict(list)
    for booking in Booking.objects.with_remaining().filter(is_open=True):
        if booking.remaining > 0:
            found[booking.material_id].append(Need(quantity=booking.remaining, on=booking.needed_on))
    return found


def _line(
    material: Material,
    *,
    demand: Demand,
    packs: Sequence[Pack],
    lots: Sequence[StockLot],
    needs: Sequence[Need],
    shop: Shop,
    today: date,
    shares: Mapping[int, Decimal],
    arrivals: tuple[Arrival, ...],
) -> ReorderLine:
    usual = _usual(packs)
    supplier = usual.supplier if usual else None
    advice = advise(
        lots=[*lots, *(_arriving(arrival, material) for arrival in arrivals)],
        needs=needs,
        demand=demand,
        supply=Supply(
            lead_days=float(supplier.lead_time_days) if supplier else 7.0,
            lead_deviation=float(supplier.lead_time_sd_days) if supplier else 0.0,
            delivery_charge=shares[supplier.pk] if supplier else ZERO,
        ),
        policy=Policy(
            service_level=float(material.service_level or shop.service_level),
            review_days=float(shop.review_days),
        ),
        packs=[_offer(pack) for pack in packs],
        usual_price=usual.unit_price if usual else ZERO,
        shelf_days=material.shelf_life_days,
        today=today,
    )
    by_key = {pack.pk: pack for pack in packs}
    chosen = advice.choice.lines if advice.choice else ()
    problem = "" if packs else "No supplier’s pack is entered for it. Add a pack with its price to buy it."
    return ReorderLine(material=material, advice=advice, packs=_pack_lines(chosen, by_key), arrivals=arrivals, problem=problem)


def _arriving(arrival: Arrival, material: Material) -> StockLot:
    """What is ordered, as good as here: it arrives with its full shelf life."""
    life = material.shelf_life_days
    return StockLot(on_hand=arrival.quantity, usable_until=arrival.on + timedelta(days=life) if life else None)


def _offer(pack: Pack) -> PackOffer:
    return PackOffer(key=pack.pk, supplier=pack.supplier_id, content=pack.content, price=pack.price, minimum=pack.minimum_packs)


def _pack_lines(chosen: Sequence[PackCount], by_key: Mapping[int, Pack]) -> tuple[PackLine, ...]:
    return tuple(PackLine(pack=by_key[line.pack.key], count=line.count) for line in chosen)


def _grouped(today: date, lines: Sequence[ReorderLine], silent: Sequence[Material]) -> ReorderList:
    by_supplier: dict[int, list[ReorderLine]] = defaultdict(list)
    suppliers: dict[int, Supplier] = {}
    unbuyable, enough = [], []
    for line in lines:
        if not line.advice.must_order:
            enough.append(line)
        elif not line.packs:
            unbuyable.append(line)
        else:
            supplier = line.packs[0].pack.supplier
            suppliers[supplier.pk] = supplier
            by_supplier[supplier.pk].append(line)
    orders = [
        SupplierOrder(supplier=suppliers[key], lines=tuple(sorted(found, key=lambda line: _urgency(line, today))))
        for key, found in by_supplier.items()
    ]
    orders.sort(key=lambda order: (order.order_by or date.max, order.supplier.name))
    return ReorderList(on=today, orders=tuple(orders), unbuyable=tuple(unbuyable), enough=tuple(enough), silent=tuple(silent))


def _urgency(line: ReorderLine, today: date) -> tuple[date, str]:
    return line.advice.order_by or today, line.material.name


def _arrivals(line: ReorderLine) -> str:
    parts = [f"{_amount(line, arrival.quantity)} promised for {show.day(arrival.on)}" for arrival in line.arrivals]
    return "; ".join(parts) or show.NOTHING


def _amount(line: ReorderLine, value: Decimal | float) -> str:
    return show.quantity(Decimal(str(value)), line.material.stock_unit)


def _summary(line: ReorderLine) -> str:
    advice = line.advice
    ordered = f" with {_amount(line, line.on_order)} on order" if line.on_order else ""
    said = f"{_amount(line, advice.available)} available{ordered}, reorder point {_amount(line, advice.point.quantity)}."
    if advice.short_on is None:
        return said
    if (advice.short_on - advice.today).days < advice.supply.lead_days:
        return f"{said} Runs short on {show.day(advice.short_on)}, before a delivery is likely to come."
    return f"{said} Runs short on {show.day(advice.short_on)}."


def _reasons(line: ReorderLine) -> tuple[Reason, ...]:
    advice = line.advice
    demand, point = advice.demand, advice.point
    source = f"from {demand.weeks} weeks of the log" if demand.weeks else "as entered"
    reasons = [
        Reason(words="Usable now", figure=_amount(line, line.usable_here)),
        Reason(words="On order", figure=_arrivals(line)),
        Reason(words="Expected to expire unused before then", figure=_amount(line, advice.expires_unused)),
        Reason(words="Booked by jobs until then", figure=_amount(line, advice.booked)),
        Reason(words="Available", figure=_amount(line, advice.available)),
        Reason(words=f"Use per week, {source}", figure=f"{_amount(line, demand.mean)} ± {_amount(line, demand.deviation)}"),
        Reason(
            words="Protection time: lead time and days between orders",
            figure=f"{show.number(advice.supply.lead_days, 1)} + {show.number(advice.policy.review_days, 0)} days",
        ),
        Reason(
            words=f"Reorder point, normal form, for {show.percent(advice.policy.service_level)} of order cycles",
            figure=f"{_amount(line, point.expected)} + {_amount(line, point.safety)} = {_amount(line, point.quantity)}",
        ),
        Reason(
            words="Order up to: reorder point + the larger of economic quantity and use between orders",
            figure=f"{_amount(line, point.quantity)} + max({_amount(line, advice.economic)}, "
            f"{_amount(line, advice.review_demand)}) = {_amount(line, advice.order_up_to)}",
        ),
    ]
    if advice.cap is not None:
        reasons.append(Reason(words="Most that can be used while fresh, less what is there", figure=_amount(line, advice.cap)))
    if advice.short_on is not None:
        reasons.append(Reason(words="Runs short on", figure=show.day(advice.short_on)))
    if advice.above_cap:
        reasons.append(
            Reason(words="The smallest packs hold more than can be used while fresh", figure=_amount(line, line.quantity))
        )
    return tuple(reasons)
