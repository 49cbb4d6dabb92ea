"""Which packs to buy: the cheapest combination that covers a need, found exactly (replenishment model, section 5).

Pure: no Django, no numpy. A big pack can beat several small ones and can lose to them when half of it would spoil; more of a
pack than is needed can be cheaper where a price break begins. A greedy choice would miss each of these.

Why the search is exact: with a given quantity every cost grows with the purchase price, so of all combinations that hold the
same quantity only the cheapest to buy can win; and a count that is more than enough can only pay where a price break begins,
since one pack less would cost less at the same price. Purchases from two suppliers are not mixed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_CEILING, Decimal

from inventory.core.quantity import expected_to_spoil

ZERO = Decimal(0)
WEEKS_A_YEAR = 365 / 7
_STEP = Decimal("0.000001")


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceBreak:
    """From this many packs on, every pack costs this."""

    packs: int
    price: Decimal

    def __post_init__(self) -> None:
        if self.packs < 2:
            raise ValueError("a price break begins at 2 packs or more")
        if not self.price.is_finite() or self.price < 0:
            raise ValueError("a pack costs 0 or more")


@dataclass(frozen=True, slots=True, kw_only=True)
class PackOffer:
    """A pack that a supplier sells. ``key`` is the caller's own; the content is in the material's stock unit."""

    key: int
    supplier: int
    content: Decimal
    price: Decimal
    minimum: int = 1  # packs, if any are bought
    breaks: tuple[PriceBreak, ...] = ()  # rising

    def __post_init__(self) -> None:
        if not self.content.is_finite() or self.content <= 0:
            raise ValueError("a pack holds more than 0")
        if not self.price.is_finite() or self.price < 0:
            raise ValueError("a pack costs 0 or more")
        if self.minimum < 1:
            raise ValueError("at least one pack is bought")
        starts = [step.packs for step in self.breaks]
        if starts != sorted(set(starts)):
            raise ValueError("price breaks begin at rising numbers of packs")

    def price_at(self, count: int) -> Decimal:
        """The price of one pack when so many are bought."""
        return next((step.price for step in reversed(self.breaks) if count >= step.packs), self.price)

    @property
    def least_price(self) -> Decimal:
        """The lowest price that any count brings."""
        return min(self.price, *(step.price for step in self.breaks)) if self.breaks else self.price


@dataclass(frozen=True, slots=True, kw_only=True)
class PackCount:
    """So many of one pack."""

    pack: PackOffer
    count: int

    @property
    def cost(self) -> Decimal:
        """Purchase price of these packs."""
        return self.pack.price_at(self.count) * self.count


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What a purchase costs beside its price; by default nothing."""

    delivery: Mapping[int, Decimal] = field(default_factory=dict)  # by supplier, for one delivery
    holding_rate: float = 0.0  # of the price, a year
    weekly: float = 0.0  # expected use, stock units a week
    deviation: float = 0.0  # of a week's use
    usable: float = 0.0  # usable stock that will be used first
    fresh_weeks: float | None = None  # usable shelf life at delivery; None: keeps

    def holding(self, quantity: Decimal, purchase: Decimal) -> Decimal:
        """Half of the purchase's value, held until it is used up: a year at most."""
        if self.holding_rate <= 0 or quantity <= 0:
            return ZERO
        years = min(float(quantity) / self.weekly / WEEKS_A_YEAR, 1.0) if self.weekly > 0 else 1.0
        return _money(float(purchase) * self.holding_rate * years / 2)

    def spoilage(self, quantity: Decimal) -> Decimal:
        """Stock units expected to go out of date unused."""
        if self.fresh_weeks is None or quantity <= 0:
            return ZERO
        gone = expected_to_spoil(
            float(quantity), usable=self.usable, weekly=self.weekly, deviation=self.deviation, fresh_weeks=self.fresh_weeks
        )
        return max(ZERO, _money(gone))


NO_COSTS = Costs()


@dataclass(frozen=True, slots=True, kw_only=True)
class PackChoice:
    """A combination of one supplier's packs and everything that it costs."""

    lines: tuple[PackCount, ...]
    quantity: Decimal  # stock units in all
    cost: Decimal  # purchase price in all
    delivery: Decimal = ZERO
    holding: Decimal = ZERO
    spoils: Decimal = ZERO  # stock units expected to go out of date
    expiry: Decimal = ZERO  # what they cost

    @property
    def supplier(self) -> int:
        """Whose packs these are."""
        return self.lines[0].pack.supplier

    @property
    def total(self) -> Decimal:
        """The cost that the choice minimises: purchase, delivery, holding and expected expiry."""
        return self.cost + self.delivery + self.holding + self.expiry


def choose_packs(
    packs: Sequence[PackOffer], *, need: Decimal, cap: Decimal | None = None, costs: Costs = NO_COSTS
) -> tuple[PackChoice, ...]:
    """The best choice of each supplier, the best of all first; empty without packs or without a need.

    A choice holds at least ``need`` and does not pass ``cap`` where that can be met. Then the least total cost wins, among
    equals the smaller quantity, then the fewer packs.
    """
    if need <= 0:
        return ()
    by_supplier: dict[int, list[PackOffer]] = defaultdict(list)
    for pack in packs:
        by_supplier[pack.supplier].append(pack)
    found = [_search(offers, need, cap, costs) for offers in by_supplier.values()]
    return tuple(sorted(found, key=lambda choice: (*_rank(choice, cap), choice.supplier)))


def cheapest_packs(
    packs: Sequence[PackOffer], *, need: Decimal, cap: Decimal | None = None, costs: Costs = NO_COSTS
) -> PackChoice | None:
    """The best choice over all suppliers; ``None`` without packs or without a need.

    >>> offers = [
    ...     PackOffer(key=1, supplier=1, content=Decimal("0.25"), price=Decimal(18)),
    ...     PackOffer(key=2, supplier=1, content=Decimal(1), price=Decimal(52)),
    ...     PackOffer(key=3, supplier=1, content=Decimal(5), price=Decimal(225)),
    ... ]
    >>> cheapest_packs(offers, need=Decimal("3.1")).cost
    Decimal('174')
    """
    return next(iter(choose_packs(packs, need=need, cap=cap, costs=costs)), None)


def single_packs(
    packs: Sequence[PackOffer], *, need: Decimal, cap: Decimal | None = None, costs: Costs = NO_COSTS
) -> tuple[PackChoice, ...]:
    """What covering the need with one kind of pack alone would cost, best first: what the choice is shown beside."""
    if need <= 0:
        return ()
    found = [priced((PackCount(pack=pack, count=count),), costs) for pack in packs for count in _last_counts(pack, need)]
    best: dict[int, PackChoice] = {}
    for choice in sorted(found, key=lambda choice: _rank(choice, cap)):
        best.setdefault(choice.lines[0].pack.key, choice)
    return tuple(best.values())


def _money(value: float) -> Decimal:
    return Decimal(str(round(value, 6))).quantize(_STEP)


def priced(lines: tuple[PackCount, ...], costs: Costs) -> PackChoice:
    """These packs of one supplier with everything that they cost."""
    quantity = sum((line.pack.content * line.count for line in lines), ZERO)
    purchase = sum((line.cost for line in lines), ZERO)
    spoils = costs.spoilage(quantity)
    return PackChoice(
        lines=lines,
        quantity=quantity,
        cost=purchase,
        delivery=costs.delivery.get(lines[0].pack.supplier, ZERO),
        holding=costs.holding(quantity, purchase),
        spoils=spoils,
        expiry=(purchase * spoils / quantity).quantize(_STEP),
    )


def _rank(choice: PackChoice, cap: Decimal | None) -> tuple[Decimal, Decimal, Decimal, int]:
    """What is better comes first: nothing above the cap, then cheaper, then less, then fewer packs."""
    above = max(ZERO, choice.quantity - cap) if cap is not None else ZERO
    return above, choice.total, choice.quantity, sum(line.count for line in choice.lines)


def _enough(pack: PackOffer, need: Decimal) -> int:
    """How many of a pack cover a need by themselves; at least its minimum."""
    return max(int((need / pack.content).to_integral_value(rounding=ROUND_CEILING)), pack.minimum)


def _last_counts(pack: PackOffer, need: Decimal) -> list[int]:
    """The counts that cover a need by themselves and can be the cheapest: just enough, and where a price break begins."""
    enough = _enough(pack, need)
    return [enough, *(step.packs for step in pack.breaks if step.packs > enough)]


def _search(offers: list[PackOffer], need: Decimal, cap: Decimal | None, costs: Costs) -> PackChoice:
    """Pack by pack, largest first: of the ways to each quantity so far only the cheapest is kept."""
    by_unit = {id(pack): pack.least_price / pack.content for pack in offers}
    ordered = sorted(offers, key=lambda pack: (-pack.content, by_unit[id(pack)], pack.key))
    least = [min(by_unit[id(pack)] for pack in ordered[index:]) for index in range(len(ordered))]
    best = single_packs(offers, need=need, cap=cap, costs=costs)[0]
    fixed = best.delivery
    open_ways: dict[Decimal, tuple[Decimal, tuple[PackCount, ...]]] = {ZERO: (ZERO, ())}
    for index, pack in enumerate(ordered):
        last = index + 1 == len(ordered)
        ways = {} if last else dict(open_ways)
        for quantity, (cost, lines) in open_ways.items():
            rest = need - quantity
            fits = cap is None or best.quantity <= cap
            if fits and cost + rest * least[index] + fixed > best.total:
                continue
            for count in (
                _last_counts(pack, rest) if last else [*range(pack.minimum, _enough(pack, rest)), *_last_counts(pack, rest)]
            ):
                added = (*lines, PackCount(pack=pack, count=count))
                held = quantity + pack.content * count
                if held >= need:
                    best = min(best, priced(added, costs), key=lambda choice: _rank(choice, cap))
                    continue
                paid = cost + added[-1].cost
                if held not in ways or _better(paid, added, ways[held]):
                    ways[held] = (paid, added)
        open_ways = ways
    return best


def _better(paid: Decimal, lines: tuple[PackCount, ...], other: tuple[Decimal, tuple[PackCount, ...]]) -> bool:
    """Whether one way to a quantity beats another: cheaper, then fewer packs."""
    return (paid, sum(line.count for line in lines)) < (other[0], sum(line.count for line in other[1]))
