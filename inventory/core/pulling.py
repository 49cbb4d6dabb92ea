"""What could be bought before it is due, so that an order reaches its supplier's minimum (replenishment model, section 5).

Pure: no Django, no clock. Quantities are in the material's stock unit, times in days, money in the shop's currency.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from inventory.core.packs import choose_packs
from inventory.core.reorder import Advice

WITHIN = 90  # days; what is not due by then is not bought early: own choice
DAYS_A_WEEK, DAYS_A_YEAR = 7, 365
_CENT = Decimal("0.000001")


@dataclass(frozen=True, slots=True, kw_only=True)
class Early:
    """A material that is not due yet, with the packs that would be bought of it."""

    advice: Advice  # with the packs as its choice
    due_in: int  # days until it is expected to reach its reorder point
    holding: Decimal  # what having it that much earlier costs


def early_ones(known: Sequence[Advice], *, supplier: int) -> tuple[Early, ...]:
    """What is usually bought from a supplier and is expected to be due soon, the nearest to its reorder point first.

    Left out: what must be ordered anyway, what cannot be bought, and what would not be used up while it is fresh.
    """
    found = [one for advice in known if (one := _early(advice, supplier)) is not None]
    return tuple(sorted(found, key=lambda one: (one.due_in, one.advice.facts.key)))


def _early(advice: Advice, supplier: int) -> Early | None:
    if advice.must_order or advice.held_by_cap or advice.supply.usual != supplier or advice.demand.rate <= 0:
        return None
    offers = [offer for offer in advice.offers if offer.supplier == supplier]
    if not offers or any(finding.stops for finding in advice.findings):
        return None
    above = float(advice.available) - advice.point.quantity
    due_in = max(0, math.ceil(above / advice.demand.rate * DAYS_A_WEEK))
    if due_in > WITHIN:
        return None
    least = min(offer.content * offer.minimum for offer in offers)
    coming = float(advice.available + advice.on_order - advice.in_time)
    need = max(Decimal(str(round(max(advice.order_up_to - coming, 0.0), 6))), least)
    cap = None if advice.cap is None else Decimal(str(round(advice.cap, 6)))
    if cap is not None:
        need = max(min(need, cap), least)
    [choice, *_] = choose_packs(offers, need=need, cap=cap, costs=advice.costs)
    if cap is not None and choice.quantity > cap:
        return None
    holding = float(choice.cost) * advice.policy.holding_rate * due_in / DAYS_A_YEAR
    bought = replace(advice, wanted=need, choices=(choice,))
    return Early(advice=bought, due_in=due_in, holding=Decimal(str(holding)).quantize(_CENT))
