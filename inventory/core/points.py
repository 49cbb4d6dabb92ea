"""The stock below which to order (replenishment model, section 4). Pure: no Django, no clock.

Where a material's own weeks allow it, the reorder point is a quantile of drawn demand; where they are too few, the normal form
λτ + z√(τσ² + λ²σ_τ²). Each point says which of the two it is. numpy is imported inside, by those who draw.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from typing import TYPE_CHECKING

from inventory.core.demand import WEEKS_KEPT, Forecast
from inventory.core.draws import Draws, seed_from
from inventory.core.facts import Policy, Supply
from inventory.core.findings import Examined
from inventory.core.normal import quantile

if TYPE_CHECKING:
    from inventory.core.calibration import Calibration

DAYS_A_WEEK = 7
LEAST_COMMON_WEEKS = 52  # weeks with use, of all materials together, before one borrows from the others: own choice
MOST_FOLLOWED = 200  # materials: more would teach little and take longer
Level = Callable[[float], float]


class PointMethod(StrEnum):
    """How a reorder point was found."""

    DRAWN = "drawn from the log"
    NORMAL = "normal form"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReorderPoint:
    """The stock below which to order, and what it is made of."""

    quantity: float
    expected: float  # λ τ: use expected over the protection time
    protection_days: float  # lead time + review interval
    method: PointMethod
    target: float  # share of order cycles that should pass without a stock-out
    level: float  # quantile at which it was read to get there
    z: float | None = None  # of the normal form
    draws: int = 0  # behind a drawn one

    @property
    def safety(self) -> float:
        """What it holds beyond the expected use; below 0 where the draws say that less is enough."""
        return self.quantity - self.expected


def normal_point(demand: Forecast, supply: Supply, policy: Policy, *, target: float | None = None) -> ReorderPoint:
    """The normal form λ τ + z √(τ σ² + λ² σ_τ²).

    τ is the protection time in weeks, σ_τ the spread of the lead time in weeks. Worked number: 10 a week, spread 3, lead
    time 4 weeks, no review, 95 % of cycles: 49.869.

    >>> from inventory.core.demand import ForecastMethod
    >>> ten = Forecast(rate=10, deviation=3, method=ForecastMethod.ENTERED)
    >>> point = normal_point(ten, Supply(lead_days=28), Policy(service_level=0.95, review_days=0))
    >>> round(point.quantity, 3)
    49.869
    """
    share = policy.service_level if target is None else target
    days = supply.days + policy.review_days
    weeks, spread_weeks = days / DAYS_A_WEEK, supply.deviation / DAYS_A_WEEK
    z = quantile(share)
    deviation = math.sqrt(weeks * demand.deviation**2 + demand.rate**2 * spread_weeks**2)
    return ReorderPoint(
        quantity=demand.rate * weeks + max(z, 0.0) * deviation,
        expected=demand.rate * weeks,
        protection_days=days,
        method=PointMethod.NORMAL,
        target=share,
        level=share,
        z=z,
    )


def same(target: float) -> float:
    """The quantile is read at the target itself."""
    return target


def reorder_points(
    examined: Sequence[Examined], forecasts: Sequence[Forecast], draws: Draws | None, *, level: Level = same
) -> tuple[ReorderPoint, ...]:
    """The reorder point of each material; all draws are made at once. Without ``draws`` the normal form speaks for all."""
    drawn = _drawn(examined, draws, level) if draws is not None else [None] * len(examined)
    return tuple(
        normal_point(demand, one.facts.supply, one.facts.policy, target=one.target)
        if point is None or draws is None
        else ReorderPoint(
            quantity=point,
            expected=demand.rate * protection_days(one) / DAYS_A_WEEK,
            protection_days=protection_days(one),
            method=PointMethod.DRAWN,
            target=one.target,
            level=level(one.target),
            draws=draws.count,
        )
        for one, demand, point in zip(examined, forecasts, drawn, strict=True)
    )


def learnt_level(examined: Sequence[Examined], lots: Sequence[float], draws: Draws) -> Level:
    """The quantile that would have given each target, learnt from materials with a whole year of log.

    ``lots`` is what each orders beyond its reorder point. At most ``MOST_FOLLOWED`` materials are followed, always the same ones.
    Where too few order cycles are known, the quantile is read at the target itself.
    """
    taught = [place for place, one in enumerate(examined) if len(one.weeks) == WEEKS_KEPT and any(one.weeks)]
    taught.sort(key=lambda place: (seed_from(examined[place].facts.key), place))
    chosen = [(examined[place], lots[place]) for place in sorted(taught[:MOST_FOLLOWED])]
    if not chosen:
        return same
    return _followed(
        tuple(one.weeks for one, _ in chosen),
        tuple(max(round(protection_days(one) / DAYS_A_WEEK) - 1, 0) for one, _ in chosen),
        tuple(lot for _, lot in chosen),
        tuple(one.facts.unit for one, _ in chosen),
        draws,
    ).level


@lru_cache(maxsize=4)
def _followed(
    weeks: tuple[tuple[float, ...], ...],
    leads: tuple[int, ...],
    lots: tuple[float, ...],
    units: tuple[str, ...],
    draws: Draws,
) -> Calibration:
    """Kept, since it takes a while and changes once a week."""
    import numpy as np

    from inventory.core.calibration import calibrate

    return calibrate(np.array(weeks), leads=leads, draws=draws, lots=np.array(lots), units=units)


def protection_days(one: Examined) -> float:
    """Lead time + review interval."""
    return one.facts.supply.days + one.facts.policy.review_days


def _drawn(examined: Sequence[Examined], draws: Draws, level: Level) -> Sequence[float | None]:
    if not any(any(week > 0 for week in one.weeks) for one in examined):
        return [None] * len(examined)
    from inventory.core.bootstrap import Series, bootstrap_points, kin_of_series

    series = [
        Series(
            weeks=one.weeks,
            lead_days=one.facts.supply.drawn_days,
            review_days=one.facts.policy.review_days,
            unit=one.facts.unit,
        )
        for one in examined
    ]
    busy = sum(1 for one in examined for week in one.weeks if week > 0)
    kin = kin_of_series(series, draws) if draws.borrowed and busy >= LEAST_COMMON_WEEKS else None
    return bootstrap_points(series, [level(one.target) for one in examined], draws, kin=kin)
