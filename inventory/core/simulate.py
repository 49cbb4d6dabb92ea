"""Many materials run through many periods under one rule, all at once (replenishment model, section 7).

Pure: no Django, no clock. Needs numpy: import this module inside the function that uses it.

In a period first what was ordered arrives and serves who waits, then the order is placed, then the period's demand comes. What
can't be served waits for the next arrival. Stock is used oldest first and is gone after its shelf life. An order placed at the
beginning of a period with a lead time of L arrives at the beginning of the L-th period after it.

An **order cycle** runs from one arrival to the next; the first begins with the run. It is served when no demand in it had to
wait. A cycle that is still open at the end counts if its next order is under way or somebody already waited in it; a material
that never ordered and never went short has no cycle and says nothing. Counting the open ones as well, which flatters every
policy, is reported beside it.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

NOISE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """What happens, whatever the rule."""

    demand: Floats  # a row a material, a column a period
    lead: Whole  # periods that an order takes, by material and by the period in which it is placed
    price: Floats  # by material, for a unit
    shelf: int | None = None  # periods of use from arrival; None: keeps
    whole: bool = True  # orders are whole units

    def __post_init__(self) -> None:
        if self.demand.ndim != 2 or self.lead.shape != self.demand.shape or self.price.shape != self.demand.shape[:1]:
            raise ValueError("demand, lead times and prices are of the same materials and periods")
        if not np.isfinite(self.demand).all() or (self.demand < 0).any():
            raise ValueError("demand is a number of 0 or more in every period")
        if (self.lead < 0).any():
            raise ValueError("a lead time is 0 periods or more")
        if self.shelf is not None and self.shelf < 1:
            raise ValueError("a shelf life is 1 period or more")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """Order when what is there and under way is below ``low``, up to ``high``; by material and period."""

    low: Floats
    high: Floats
    every: int = 1  # periods from one review to the next
    rate: Floats | None = None  # expected demand a period: then nothing is bought that would spoil
    freshness: float = 0.8  # share of the shelf life in which a purchase should be used up
    caps_all: bool = False  # the cap goes before the reorder point; False: it holds for what goes beyond the reorder point


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a rule brought about, over all materials and periods."""

    cycles: int
    cycles_short: int  # with demand that had to wait
    open_cycles: int  # not ended, no order under way, nobody waited: not among the cycles
    periods: int  # materials × periods
    periods_short: int
    demanded: float
    waited: float  # units that could not be served at once
    stock_value: float  # mean over the periods, at their end
    orders: int
    ordered: float  # units
    expired_value: float
    service_after: tuple[float, ...] = field(default=(), repr=False, compare=False)  # cycle service up to each period's end

    @property
    def cycle_service(self) -> float:
        """Share of order cycles in which nobody waited; 1 without a cycle."""
        return 1 - self.cycles_short / self.cycles if self.cycles else 1.0

    @property
    def cycle_service_with_open(self) -> float:
        """The same with cycles that had not ended."""
        return 1 - self.cycles_short / max(self.cycles + self.open_cycles, 1)

    @property
    def period_service(self) -> float:
        """Share of periods in which nobody had to wait."""
        return 1 - self.periods_short / self.periods

    @property
    def fill_rate(self) -> float:
        """Share of demanded units served at once; 1 without demand."""
        return 1 - self.waited / self.demanded if self.demanded else 1.0


@dataclass(slots=True)
class _Shelf:
    """Stock by age while a run goes on: column 0 goes out of date first. One column when it keeps."""

    left: Floats
    keeps: bool
    owed: Floats = field(init=False)

    def __post_init__(self) -> None:
        self.owed = np.zeros(len(self.left))

    def on_hand(self) -> Floats:
        found: Floats = self.left.sum(axis=1)
        return found

    def receive(self, quantity: Floats) -> None:
        served = np.minimum(self.owed, quantity)
        self.owed -= served
        self.left[:, -1] += quantity - served

    def take(self, wanted: Floats) -> Floats:
        """Serve the demand, oldest first; returns what has to wait."""
        rest = wanted.copy()
        for column in range(self.left.shape[1]):
            taken = np.minimum(self.left[:, column], rest)
            self.left[:, column] -= taken
            rest -= taken
        self.owed += rest
        return rest

    def age(self) -> Floats:
        """A period passes: what went out of date."""
        if self.keeps:
            return np.zeros(len(self.left))
        gone = self.left[:, 0].copy()
        self.left[:, :-1] = self.left[:, 1:]
        self.left[:, -1] = 0.0
        return gone

    def to_spoil(self, rate: Floats, within: Whole) -> Floats:
        """What is expected to go out of date unused within so many periods, at a steady rate of use."""
        if self.keeps:
            return np.zeros(len(self.left))
        reached = np.cumsum(self.left, axis=1)
        worst = np.zeros(len(self.left))
        for column in range(self.left.shape[1]):
            unused = np.maximum(reached[:, column] - rate * (column + 1), 0.0)
            worst = np.where(column < within, np.maximum(worst, unused), worst)
        return worst


def simulate(world: World, rule: Rule) -> Outcome:
    """Run the rule through the world. Every material begins with what the rule would have it order up to."""
    materials, periods = world.demand.shape
    low = np.broadcast_to(rule.low, world.demand.shape)
    high = np.broadcast_to(rule.high, world.demand.shape)
    rate = None if rule.rate is None else np.broadcast_to(rule.rate, world.demand.shape)
    furthest = int(world.lead.max(initial=0))
    coming = np.zeros((materials, periods + furthest + 1))
    shelf = _Shelf(left=np.zeros((materials, world.shelf or 1)), keeps=world.shelf is None)
    shelf.receive(_quantity(world, rule, position=np.zeros(materials), low=low[:, 0], high=high[:, 0], rate=rate, at=0))
    failed = np.zeros(materials, dtype=bool)
    rows = np.arange(materials)
    cycles = cycles_short = periods_short = orders = 0
    waited = stock = expired = ordered = 0.0
    service_after: list[float] = []
    for at in range(periods):
        comes = coming[:, at] > 0
        shelf.receive(coming[:, at])
        quantity = np.zeros(materials)
        if at % rule.every == 0:
            position = shelf.on_hand() - shelf.owed + coming[:, at + 1 :].sum(axis=1)
            if rate is not None:
                position -= shelf.to_spoil(rate[:, at], world.lead[:, at] + rule.every)
            wanted = _quantity(world, rule, position=position, low=low[:, at], high=high[:, at], rate=rate, at=at)
            quantity = np.where(position < low[:, at] - NOISE, wanted, 0.0)
            placed = quantity > 0
            orders += int(placed.sum())
            ordered += float(quantity.sum())
            at_once = placed & (world.lead[:, at] == 0)
            shelf.receive(np.where(at_once, quantity, 0.0))
            comes |= at_once
            later = placed & ~at_once
            coming[rows[later], at + world.lead[later, at]] += quantity[later]
        cycles += int(comes.sum())
        cycles_short += int((comes & failed).sum())
        failed &= ~comes
        short = shelf.take(world.demand[:, at])
        failed |= short > NOISE
        periods_short += int((short > NOISE).sum())
        waited += float(short.sum())
        decided = cycles + int(failed.sum())
        service_after.append(1 - (cycles_short + int(failed.sum())) / decided if decided else 1.0)
        stock += float(shelf.on_hand() @ world.price)
        expired += float(shelf.age() @ world.price)
    counted = (coming[:, periods:] > 0).any(axis=1) | failed
    return Outcome(
        cycles=cycles + int(counted.sum()),
        cycles_short=cycles_short + int(failed.sum()),
        open_cycles=int((~counted).sum()),
        periods=materials * periods,
        periods_short=periods_short,
        demanded=float(world.demand.sum()),
        waited=waited,
        stock_value=stock / periods,
        orders=orders,
        ordered=ordered,
        expired_value=expired,
        service_after=tuple(service_after),
    )


def _quantity(world: World, rule: Rule, *, position: Floats, low: Floats, high: Floats, rate: Floats | None, at: int) -> Floats:
    """What to order to come up to ``high``; where things spoil, beyond ``low`` no more than can be used while fresh."""
    wanted = _whole(world, np.maximum(high - position, 0.0))
    if rate is None or world.shelf is None:
        return wanted
    cap = rate[:, at] * world.shelf * rule.freshness - np.maximum(position, 0.0)
    if world.whole:
        cap = np.where(cap > NOISE, np.maximum(np.floor(cap + NOISE), 1.0), 0.0)  # the smallest pack holds one
    least = np.maximum(-position, 0.0) if rule.caps_all else _whole(world, np.maximum(low - position, 0.0))
    found: Floats = np.minimum(wanted, np.maximum(cap, least))
    return found


def _whole(world: World, quantity: Floats) -> Floats:
    found: Floats = np.ceil(quantity - NOISE) if world.whole else quantity
    return found
