"""How much to order: economic quantity, freshness cap, and what is expected to spoil (replenishment model, section 5).

Pure: no Django, no clock, no numpy. Quantities are in the stock unit, rates per week or per year as named.
"""

from __future__ import annotations

import math
from statistics import NormalDist

_STANDARD = NormalDist()


def economic_quantity(*, order_cost: float, yearly_demand: float, yearly_holding: float) -> float:
    """The economic order quantity √(2 K λ / h); 0 when an order, or holding, costs nothing.

    >>> round(economic_quantity(order_cost=8, yearly_demand=1300, yearly_holding=0.225), 4)
    304.0468
    """
    if order_cost <= 0 or yearly_demand <= 0 or yearly_holding <= 0:
        return 0.0
    return math.sqrt(2 * order_cost * yearly_demand / yearly_holding)


def fresh_cap(*, weekly: float, fresh_weeks: float, freshness: float, usable: float) -> float:
    """The most to buy: expected demand over the usable shelf life at delivery × the freshness share, less usable stock.

    >>> fresh_cap(weekly=2, fresh_weeks=10, freshness=0.8, usable=6)
    10.0
    """
    return max(0.0, weekly * max(fresh_weeks, 0.0) * freshness - usable)


def normal_loss(z: float) -> float:
    """The standard normal loss E(Z − z)⁺ = φ(z) − z (1 − Φ(z)).

    >>> round(normal_loss(1.3), 8)
    0.04552796
    """
    return _STANDARD.pdf(z) - z * _STANDARD.cdf(-z)


def expected_left(quantity: float, *, mean: float, deviation: float) -> float:
    """What is left of a quantity after a normal demand, E(Q − D)⁺; without spread the plain difference.

    >>> round(expected_left(60, mean=50, deviation=8), 8)
    10.40469495
    """
    if deviation <= 0:
        return max(0.0, quantity - mean)
    return deviation * normal_loss((mean - quantity) / deviation)


def expected_short(quantity: float, *, mean: float, deviation: float) -> float:
    """What a normal demand asks beyond a quantity, E(D − Q)⁺.

    >>> round(expected_short(60, mean=50, deviation=8), 8)
    0.40469495
    """
    if deviation <= 0:
        return max(0.0, mean - quantity)
    return deviation * normal_loss((quantity - mean) / deviation)


def expected_to_spoil(bought: float, *, usable: float, weekly: float, deviation: float, fresh_weeks: float) -> float:
    """What of a purchase is expected to be unused when its shelf life is over; older stock is used first.

    Demand over the shelf life is taken as normal with mean λ m and deviation σ √m. What would be left of the stock that is
    there anyway does not count against the purchase.
    """
    weeks = max(fresh_weeks, 0.0)
    mean, spread = weekly * weeks, deviation * math.sqrt(weeks)
    both = expected_left(usable + bought, mean=mean, deviation=spread)
    return min(bought, both - expected_left(usable, mean=mean, deviation=spread))
