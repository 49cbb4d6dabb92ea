"""Which packs to buy: the cheapest combination that covers a need, found exactly (replenishment model, section 5).

Pure: no Django. A big pack can beat several small ones and can lose to them; a greedy choice would miss either.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class PackOffer:
    """A pack that a supplier sells. ``key`` is the caller's own; the content is in the material's stock unit."""

    key: int
    supplier: int
    content: Decimal
    price: Decimal
    minimum: int = 1  # packs, if any are bought

    def __post_init__(self) -> None:
        if not self.content.is_finite() or self.content <= 0:
            raise ValueError("a pack holds more than 0")
        if not self.price.is_finite() or self.price < 0:
            raise ValueError("a pack costs 0 or more")
        if self.minimum < 1:
            raise ValueError("at least one pack is bought")


@dataclass(frozen=True, slots=True, kw_only=True)
class PackCount:
    """So many of one pack."""

    pack: PackOffer
    count: int

    @property
    def cost(self) -> Decimal:
        """Purchase price of these packs."""
        return self.pack.price * self.count


@dataclass(frozen=True, slots=True, kw_only=True)
class PackChoice:
    """A combination of one supplier's packs."""

    lines: tuple[PackCount, ...]
    quantity: Decimal  # stock units in all
    cost: Decimal  # purchase price in all

    @property
    def supplier(self) -> int:
        """Whose packs these are."""
        return self.lines[0].pack.supplier


def cheapest_packs(packs: Sequence[PackOffer], *, need: Decimal, cap: Decimal | None = None) -> PackChoice | None:
    """The cheapest whole packs of one supplier that hold at least ``need``, without passing ``cap`` where that can be met.

    Among equals the smaller quantity wins, then the fewer packs. ``None`` without packs or without a need.

    >>> offers = [
    ...     PackOffer(key=1, supplier=1, content=Decimal("0.25"), price=Decimal(18)),
    ...     PackOffer(key=2, supplier=1, content=Decimal(1), price=Decimal(52)),
    ...     PackOffer(key=3, supplier=1, content=Decimal(5), price=Decimal(225)),
    ... ]
    >>> cheapest_packs(offers, need=Decimal("3.1")).cost
    Decimal('174')
    """
    if need <= 0:
        return None
    by_supplier: dict[int, list[PackOffer]] = defaultdict(list)
    for pack in packs:
        by_supplier[pack.supplier].append(pack)
    found = [_search(offers, need, cap) for offers in by_supplier.values()]
    return min(found, key=lambda choice: _rank(choice, cap), default=None)


def _rank(choice: PackChoice, cap: Decimal | None) -> tuple[Decimal, Decimal, Decimal, int]:
    """What is better comes first: nothing above the cap, then cheaper, then less, then fewer packs."""
    above = max(Decimal(0), choice.quantity - cap) if cap is not None else Decimal(0)
    return above, choice.cost, choice.quantity, sum(line.count for line in choice.lines)


def _packs_for(pack: PackOffer, need: Decimal) -> int:
    whole = int((need / pack.content).to_integral_value(rounding=ROUND_CEILING))
    return max(whole, pack.minimum)


def _search(offers: list[PackOffer], need: Decimal, cap: Decimal | None) -> PackChoice:
    """Try every count of each pack, largest first; the last pack covers what is left.

    More of a pack than covers the need alone can only cost more, so the counts are bounded and the search ends.
    """
    ordered = sorted(offers, key=lambda pack: (-pack.content, pack.price / pack.content, pack.key))
    # The least that a unit can cost in the packs from each place on: what is left can't be had for less.
    least = [min(pack.price / pack.content for pack in ordered[index:]) for index in range(len(ordered))]
    best: PackChoice | None = None

    def visit(index: int, lines: tuple[PackCount, ...], quantity: Decimal, cost: Decimal) -> None:
        nonlocal best
        if quantity >= need:
            choice = PackChoice(lines=lines, quantity=quantity, cost=cost)
            if best is None or _rank(choice, cap) < _rank(best, cap):
                best = choice
            return
        if index == len(ordered):
            return
        fits = best is not None and (cap is None or best.quantity <= cap)
        if fits and best is not None and cost + (need - quantity) * least[index] > best.cost:
            return
        pack = ordered[index]
        most = _packs_for(pack, need - quantity)
        counts = range(most, pack.minimum - 1, -1) if index + 1 < len(ordered) else (most,)
        for count in counts:
            added = (*lines, PackCount(pack=pack, count=count))
            visit(index + 1, added, quantity + pack.content * count, cost + pack.price * count)
        visit(index + 1, lines, quantity, cost)

    visit(0, (), Decimal(0), Decimal(0))
    if best is None:  # pragma: no cover - the last pack always covers the need
        raise RuntimeError("no combination of packs covers the need")
    return best
