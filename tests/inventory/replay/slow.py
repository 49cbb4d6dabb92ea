"""A rule run through a world one material and one unit batch at a time: another way to what ``simulate`` reckons in columns."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from inventory.core.simulate import Rule, World


@dataclass
class Tally:
    """What came of it, over all materials."""

    cycles: int = 0
    cycles_short: int = 0
    periods_short: int = 0
    orders: int = 0
    waited: float = 0.0
    stock: float = 0.0
    expired: float = 0.0
    ordered: float = 0.0
    open_cycles: int = 0
    shelf: list[list[float]] = field(default_factory=list)


def slowly(world: World, rule: Rule) -> Tally:
    """Every material by itself; stock is a list of (period it came, quantity)."""
    tally = Tally()
    for row in range(len(world.demand)):
        _one(world, rule, row, tally)
    return tally


def _one(world: World, rule: Rule, row: int, tally: Tally) -> None:  # noqa: C901 - one material's story from top to bottom
    life = world.shelf or 10**9
    batches: list[list[float]] = []  # [period it came in, quantity]
    under_way: list[tuple[int, float]] = []
    owed, failed = 0.0, False
    demand = world.demand[row]

    def come(at: int, quantity: float) -> None:
        nonlocal owed
        served = min(owed, quantity)
        owed -= served
        if quantity - served > 0:
            batches.append([at, quantity - served])

    def there() -> float:
        return sum(quantity for _, quantity in batches)

    def order(at: int, position: float) -> float:
        low, high = rule.low[row][at], rule.high[row][at]
        wanted = max(high - position, 0)
        least = max(low - position, 0)
        if world.whole:
            wanted, least = math.ceil(wanted - 1e-9), math.ceil(least - 1e-9)
        if rule.rate is None or world.shelf is None:
            return wanted
        cap = rule.rate[row][at] * world.shelf * rule.freshness - max(position, 0)
        if world.whole:
            cap = max(math.floor(cap + 1e-9), 1) if cap > 1e-9 else 0
        return min(wanted, max(cap, max(-position, 0) if rule.caps_all else least))

    come(0, order(0, 0.0))
    for at in range(len(demand)):
        arrived = [quantity for due, quantity in under_way if due == at]
        under_way = [one for one in under_way if one[0] != at]
        ended = bool(arrived)
        come(at, sum(arrived))
        if at % rule.every == 0:
            position = there() - owed + sum(quantity for _, quantity in under_way)
            lead = int(world.lead[row][at])
            if rule.rate is not None and world.shelf is not None:
                position -= _to_spoil(batches, at, rule.rate[row][at], life, lead + rule.every)
            quantity = order(at, position) if position < rule.low[row][at] - 1e-9 else 0
            if quantity > 0:
                tally.orders += 1
                tally.ordered += quantity
                if lead == 0:
                    come(at, quantity)
                    ended = True
                else:
                    under_way.append((at + lead, quantity))
        if ended:
            tally.cycles += 1
            tally.cycles_short += failed
            failed = False
        rest = demand[at]
        for batch in batches:
            taken = min(batch[1], rest)
            batch[1] -= taken
            rest -= taken
        owed += rest
        if rest > 1e-9:
            failed = True
            tally.periods_short += 1
            tally.waited += rest
        tally.stock += there() * world.price[row]
        tally.expired += sum(quantity for came, quantity in batches if came + life - 1 <= at) * world.price[row]
        batches = [batch for batch in batches if batch[0] + life - 1 > at and batch[1] > 0]
    if under_way or failed:
        tally.cycles += 1
        tally.cycles_short += failed
    else:
        tally.open_cycles += 1


def _to_spoil(batches: list[list[float]], at: int, rate: float, life: int, within: int) -> float:
    """The most that is left over when a batch's last period is used up, at a steady rate."""
    worst = 0.0
    for last in range(at, at + min(within, life)):
        held = sum(quantity for came, quantity in batches if came + life - 1 <= last)
        worst = max(worst, held - rate * (last - at + 1))
    return worst
