"""How far a priced system may stray from its cost, and how often its price would not cover it. Reads nothing, writes nothing.

The library of the draws is brought in by the call, not by the import: pages that draw nothing stay light.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from costing.core.spreads import USUAL_SPREADS, Uncertain
from costing.services.estimating import PricedOption

if TYPE_CHECKING:
    from costing.core.risk import Influence

CURVE_POINTS = 61


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessed:
    """The risk of one priced system."""

    option: PricedOption
    spreads: Mapping[Uncertain, float]
    price: Decimal  # before tax, the one that is tested
    p10: Decimal
    p50: Decimal
    p90: Decimal
    mean: Decimal
    loss: float  # chance that the cost is above the price
    influences: tuple[Influence, ...]  # the strongest first
    unexplained: float
    curve: tuple[tuple[float, float], ...]  # cost, and the share of draws that cost no more
    draws: int


def assess(option: PricedOption, *, spreads: Mapping[Uncertain, float] = USUAL_SPREADS, price: Decimal | None = None) -> Assessed:
    """Draw the system's uncertain inputs; ``price`` before tax is the option's own where none is given."""
    from costing.core.risk import DRAWS, inputs_of, risk_of

    tested = option.price.net if price is None else price
    risk = risk_of(option.result, inputs_of(option.result, spreads))
    costs = sorted(risk.costs.tolist())
    places = [round((len(costs) - 1) * point / (CURVE_POINTS - 1)) for point in range(CURVE_POINTS)]
    return Assessed(
        option=option,
        spreads=spreads,
        price=tested,
        p10=_money(risk.p10),
        p50=_money(risk.p50),
        p90=_money(risk.p90),
        mean=_money(risk.mean),
        loss=risk.chance_of_loss(float(tested)),
        influences=risk.influences,
        unexplained=risk.unexplained,
        curve=tuple((costs[place], 100 * (place + 1) / len(costs)) for place in places),
        draws=DRAWS,
    )


def _money(amount: float) -> Decimal:
    return Decimal(f"{amount:.6f}")
