"""The reorder list: what the shop knows about each material, put before the core, and its advice grouped by supplier.

Reads only. A constant number of queries, however many materials there are.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import cached_property

from finishing import show
from finishing.models import Shop
from finishing.money import round_money
from inventory.core.demand import Forecast, forecast
from inventory.core.draws import Draws, seed_from
from inventory.core.findings import Trouble
from inventory.core.packs import PackCount
from inventory.core.projection import Arrival
from inventory.core.pulling import early_ones
from inventory.core.reorder import Advice, advise_all
from inventory.models import Material, Pack, Snooze, Supplier
from inventory.reorder_pulled import Pulled
from inventory.reorder_reads import Known, read_facts, snoozes_in_force
from inventory.reorder_words import Reason, Subject, Told, reasons, summary, told

ZERO = Decimal(0)
DRAWS = Draws(seed=seed_from("reorder list"))


@dataclass(frozen=True, slots=True, kw_only=True)
class PackLine:
    """So many packs to order."""

    pack: Pack
    count: int
    price: Decimal  # of one pack, when so many are bought

    @property
    def amount(self) -> Decimal:
        """Purchase price of these packs, rounded as it is shown: totals add up what stands above them."""
        return round_money(self.price * self.count, show.preferences().places)

    @property
    def quantity(self) -> Decimal:
        """Content of these packs, in the stock unit."""
        return self.pack.content * self.count


@dataclass(frozen=True, kw_only=True)
class ReorderLine:
    """Advice about one material, and the packs that follow from it."""

    material: Material
    advice: Advice
    offered: Mapping[int, Pack]  # all packs on sale, by key
    packs: tuple[PackLine, ...]  # to buy
    pulled: Pulled | None = None  # not due: bought to reach the supplier's minimum

    @property
    def arrivals(self) -> tuple[Arrival, ...]:
        """Ordered and not here yet."""
        return self.advice.facts.arrivals

    @property
    def on_order(self) -> Decimal:
        """Bought and not here yet."""
        return sum((arrival.quantity for arrival in self.arrivals), ZERO)

    @property
    def amount(self) -> Decimal:
        """Purchase price of the line."""
        return sum((line.amount for line in self.packs), ZERO)

    @property
    def quantity(self) -> Decimal:
        """Stock units bought."""
        return sum((line.quantity for line in self.packs), ZERO)

    @property
    def _subject(self) -> Subject:
        return Subject(material=self.material, advice=self.advice, packs=self.offered)

    @cached_property
    def reasons(self) -> tuple[Reason, ...]:
        """Why, number by number (replenishment model, section 6)."""
        found = reasons(self._subject)
        if self.pulled is not None:
            found = (*(Reason(words=words, figure=figure) for words, figure in self.pulled.reasons), *found)
        return found

    @property
    def reorder_point(self) -> str:
        """The reorder point as a person counts it: pieces are whole."""
        return self._subject.level(self.advice.point.quantity)

    @cached_property
    def summary(self) -> str:
        """Why, in one sentence."""
        said = summary(self._subject)
        return said if self.pulled is None else f"{said} {self.pulled.words}"

    @cached_property
    def told(self) -> tuple[Told, ...]:
        """What is odd about its data, and what would mend it."""
        return tuple(told(finding, self._subject) for finding in self.advice.findings)

    @property
    def problem(self) -> str:
        """What must be mended before it can be bought; empty when nothing stands in the way."""
        return " ".join(one.words for one in self.told if one.stops)

    @property
    def doubts(self) -> tuple[Told, ...]:
        """What is odd and does not keep it from being bought."""
        return tuple(one for one in self.told if not one.stops)

    @property
    def is_odd(self) -> bool:
        """Whether something should be mended. A material that nobody wants to buy needs no pack."""
        return any(finding.trouble is not Trouble.NO_PACK for finding in self.advice.findings)


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
    def pulled(self) -> tuple[ReorderLine, ...]:
        """Lines that are not due and help to reach the supplier's minimum."""
        return tuple(line for line in self.lines if line.pulled is not None)

    @property
    def missing(self) -> Decimal:
        """How much the order lacks to the supplier's minimum."""
        return max(ZERO, self.supplier.minimum_order - self.goods)

    @property
    def order_by(self) -> date | None:
        """The earliest day among its lines."""
        return min((line.advice.order_by for line in self.lines if line.advice.order_by), default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class SnoozedLine:
    """A material that somebody put off, with what would be advised."""

    line: ReorderLine
    snooze: Snooze

    @property
    def runs_short(self) -> bool:
        """Whether the stock is not expected to last as long as it is put off."""
        short_on = self.line.advice.short_on
        return short_on is not None and short_on <= self.snooze.until


@dataclass(frozen=True, slots=True, kw_only=True)
class ReorderList:
    """The whole list of a day."""

    on: date
    orders: tuple[SupplierOrder, ...]
    unbuyable: tuple[ReorderLine, ...]  # wanted, but nobody sells it, or its data must be mended first
    enough: tuple[ReorderLine, ...]  # nothing to order
    silent: tuple[Material, ...]  # no use, no booking, no rate entered: nothing can be said
    odd: tuple[ReorderLine, ...] = ()  # of all materials, those whose data should be looked at
    snoozed: tuple[SnoozedLine, ...] = ()  # put off by somebody: neither ordered nor counted
    idle_suppliers: tuple[Supplier, ...] = ()  # nothing can be bought from them: no pack on sale is entered

    @property
    def to_look_at(self) -> tuple[ReorderLine, ...]:
        """What is odd and stands at no line of an order and not among what can't be bought."""
        told = {line.material.pk for line in (*self.unbuyable, *(line for order in self.orders for line in order.lines))}
        return tuple(line for line in self.odd if line.material.pk not in told)

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
    known = read_facts(materials, today=today, shop=shop)
    advice = advise_all([known.facts[material.pk] for material in materials], draws=DRAWS)
    lines = [_line(material, found, known) for material, found in zip(materials, advice, strict=True)]
    selling = {pack.supplier_id for line in lines for pack in line.offered.values()}
    idle = tuple(supplier for supplier in Supplier.objects.filter(is_active=True) if supplier.pk not in selling)
    return _grouped(today, lines, idle, snoozes_in_force(today))


def demand_of(material: Material, weeks: Sequence[Decimal]) -> Forecast | None:
    """Use per week: learnt from the log, or as the shop entered it where the log shows no use (replenishment model, section 2).

    ``None`` when neither is there.
    """
    entered = None if material.weekly_use is None else float(material.weekly_use)
    deviation = None if material.weekly_use_sd is None else float(material.weekly_use_sd)
    return forecast([float(week) for week in weeks], entered=entered, entered_deviation=deviation)


def _line(material: Material, advice: Advice, known: Known) -> ReorderLine:
    offered = {pack.pk: pack for pack in known.packs[material.pk]}
    chosen = advice.choice.lines if advice.choice else ()
    return ReorderLine(material=material, advice=advice, offered=offered, packs=pack_lines(chosen, offered))


def pack_lines(chosen: Sequence[PackCount], by_key: Mapping[int, Pack]) -> tuple[PackLine, ...]:
    """Packs as chosen, with what so many of them cost."""
    return tuple(PackLine(pack=by_key[line.pack.key], count=line.count, price=line.pack.price_at(line.count)) for line in chosen)


def _grouped(today: date, lines: Sequence[ReorderLine], idle: tuple[Supplier, ...], snoozes: Mapping[int, Snooze]) -> ReorderList:
    by_supplier: dict[int, list[ReorderLine]] = defaultdict(list)
    unbuyable, enough, silent, snoozed = [], [], [], []
    for line in lines:
        if line.material.pk in snoozes:
            snoozed.append(SnoozedLine(line=line, snooze=snoozes[line.material.pk]))
        elif line.advice.knows_nothing:
            silent.append(line.material)
        elif not line.advice.must_order:
            enough.append(line)
        elif not line.packs:
            unbuyable.append(line)
        else:
            by_supplier[line.packs[0].pack.supplier_id].append(line)
    orders = [_order(found, enough, today) for found in by_supplier.values()]
    orders.sort(key=lambda order: (order.order_by or date.max, order.supplier.name))
    early = {line.material.pk for order in orders for line in order.pulled}
    return ReorderList(
        on=today,
        orders=tuple(orders),
        unbuyable=tuple(unbuyable),
        enough=tuple(line for line in enough if line.material.pk not in early),
        silent=tuple(silent),
        odd=tuple(line for line in lines if line.is_odd),
        snoozed=tuple(snoozed),
        idle_suppliers=idle,
    )


def _order(due: Sequence[ReorderLine], enough: Sequence[ReorderLine], today: date) -> SupplierOrder:
    """The due lines of one supplier, and where they lack to its minimum, what reaches it."""
    supplier = due[0].packs[0].pack.supplier
    lines = sorted(due, key=lambda line: _urgency(line, today))
    order = SupplierOrder(supplier=supplier, lines=tuple(lines))
    if order.missing <= 0:
        return order
    return SupplierOrder(supplier=supplier, lines=(*lines, *_pulled_forward(order, enough)))


def _pulled_forward(order: SupplierOrder, enough: Sequence[ReorderLine]) -> list[ReorderLine]:
    """The nearest to their reorder points, as many as reach the minimum; none where all of them together do not."""
    by_key = {line.material.pk: line for line in enough}
    reached, found = order.goods, []
    for early in early_ones([line.advice for line in enough], supplier=order.supplier.pk):
        if reached >= order.supplier.minimum_order:
            break
        line, choice = by_key[early.advice.facts.key], early.advice.choice
        pulled = replace(
            line,
            advice=early.advice,
            packs=pack_lines(choice.lines if choice else (), line.offered),
            pulled=Pulled(supplier=order.supplier, early=early, lacked=order.missing),
        )
        found.append(pulled)
        reached += pulled.amount
    return found if reached >= order.supplier.minimum_order else []


def _urgency(line: ReorderLine, today: date) -> tuple[date, str]:
    return line.advice.order_by or today, line.material.name
