"""The rules that a replay sets side by side: levels by material and period, from what was known before each period.

Pure: no Django, no clock. Needs numpy: import this module inside the function that uses it. A history is a table, a row a
material, a column a period, oldest first. No rule sees a period before it has to decide on it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.core.bootstrap import Chance, Floats, age_weights, kin_of, upper_quantiles, usual_sizes
from inventory.core.demand import INTERVAL_CUT, LEAST_WEEKS_WITH_USE, SMOOTHING, START_WEEKS
from inventory.core.draws import Draws
from inventory.core.normal import quantile

Places = NDArray[np.int64]
Tick = Callable[[], None]


def _nothing() -> None:
    pass


@dataclass(frozen=True, slots=True, kw_only=True)
class Memory:
    """How much the draws look back and around."""

    half_life: float | None  # periods; None: all count alike
    borrowed: float  # periods of the other materials beside one's own

    @property
    def words(self) -> str:
        """For the table."""
        back = "all periods count alike" if self.half_life is None else f"half-life {self.half_life:g} periods"
        return f"{back}, {self.borrowed:g} borrowed periods" if self.borrowed else f"{back}, own periods only"


MEMORY = Memory(half_life=12.0, borrowed=8.0)  # chosen on a part of the data: see DEVELOPERS.md
OWN_ONLY = Memory(half_life=None, borrowed=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """The periods that are decided on: from ``begin`` to before ``end``."""

    begin: int
    end: int

    @property
    def length(self) -> int:
        """Periods in it."""
        return self.end - self.begin


def forecast_rates(history: Floats, *, alpha: float = SMOOTHING) -> Floats:
    """The forecast of each row, as ``inventory.core.demand.forecast`` gives it one by one; 0 without use."""
    periods = history.shape[1]
    used = history > 0
    with_use = used.sum(axis=1)
    last = np.where(with_use > 0, periods - np.argmax(used[:, ::-1], axis=1), 0)
    interval = last / np.maximum(with_use, 1)
    level = history[:, :START_WEEKS].mean(axis=1)
    for column in range(START_WEEKS, periods):
        level = level + alpha * (history[:, column] - level)
    rate = np.where(interval < INTERVAL_CUT, level, (1 - alpha / 2) * _croston_rates(history, alpha))
    found: Floats = np.where(with_use < LEAST_WEEKS_WITH_USE, history.mean(axis=1), rate)
    return found


def _croston_rates(history: Floats, alpha: float) -> Floats:
    size, distance, since = (np.zeros(len(history)) for _ in range(3))
    for column in range(history.shape[1]):
        since += 1
        use = history[:, column]
        now, first = use > 0, (use > 0) & (distance == 0)
        size = np.where(first, use, np.where(now, size + alpha * (use - size), size))
        distance = np.where(first, since, np.where(now, distance + alpha * (since - distance), distance))
        since = np.where(now, 0.0, since)
    found: Floats = np.divide(size, distance, out=np.zeros_like(size), where=distance > 0)
    return found


def rates_over(history: Floats, span: Span) -> Floats:
    """The forecast before each period of the span: a column a period."""
    return np.stack([forecast_rates(history[:, :at]) for at in range(span.begin, span.end)], axis=1)


def drawn_levels(
    history: Floats,
    span: Span,
    *,
    levels: Sequence[float],
    memory: Memory,
    leads: Sequence[int],
    draws: Draws,
    rows: Places | None = None,
    units: Sequence[str] = (),
    tick: Tick = _nothing,
) -> list[Floats]:
    """For each level the reorder points of every period of the span, by the bootstrap of the own and borrowed periods.

    ``leads`` are equally likely; ``rows`` names the materials that are asked for, all by default; ``units`` says in what each is
    kept.
    """
    chance = Chance(
        Draws(seed=draws.seed, count=draws.count, half_life=memory.half_life, borrowed=memory.borrowed), most_weeks=max(leads) + 2
    )
    choice = np.sort(np.asarray(leads, dtype=np.float64))
    times = choice[np.minimum((chance.lead * len(choice)).astype(np.int64), len(choice) - 1)] + 1
    asked = np.arange(len(history)) if rows is None else rows
    found = [np.zeros((len(asked), span.length)) for _ in levels]
    for place, at in enumerate(range(span.begin, span.end)):
        known = history[:, :at]
        sizes = usual_sizes(known, units or None)
        kin = kin_of(known, sizes, age_weights(at, memory.half_life)) if memory.borrowed else None
        taken, lent = chance.counts(at, times, kin, in_lumps=True)
        drawn = known[asked] @ taken + np.outer(sizes[asked], lent)
        for table, points in zip(found, upper_quantiles(drawn, levels), strict=True):
            table[:, place] = points
        tick()
    return found


def normal_levels(history: Floats, span: Span, *, level: float, leads: Sequence[int]) -> Floats:
    """The normal form λ τ + z √(τ σ² + λ² σ_τ²) before each period of the span, with τ the lead time and one period."""
    time, spread, z = float(np.mean(leads)) + 1, float(np.std(leads)), quantile(level)
    columns = []
    for at in range(span.begin, span.end):
        known = history[:, :at]
        rate, deviation = forecast_rates(known), known.std(axis=1, ddof=1)
        columns.append(rate * time + max(z, 0.0) * np.sqrt(time * deviation**2 + rate**2 * spread**2))
    return np.stack(columns, axis=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fixed:
    """A rule that is set once: so many spreads, or so many times the highest, and so many units more."""

    by: str  # "spread" or "highest"
    factor: float
    more: float = 0.0  # units
    every: int = 1  # periods from one review to the next

    @property
    def words(self) -> str:
        """For the table."""
        return f"{self.factor:g} {self.scaled}"

    @property
    def scaled(self) -> str:
        """What the factor multiplies, and the rest."""
        what = "standard deviations above the mean" if self.by == "spread" else "times the highest seen"
        more = f", {self.more:g} more" if self.more else ""
        return f"{what}{more}" + (f", every {self.every} periods" if self.every > 1 else "")


def fixed_levels(known: Floats, fixed: Fixed, *, leads: Sequence[int]) -> NDArray[np.float64]:
    """The level that is set from a history: a column that holds for every period. Covers the lead time and one interval."""
    time = max(leads) + fixed.every
    if fixed.by == "highest":
        span = min(time, known.shape[1])
        sums = np.cumsum(np.pad(known, ((0, 0), (1, 0))), axis=1)
        base = fixed.factor * (sums[:, span:] - sums[:, :-span]).max(axis=1)
    else:
        base = known.mean(axis=1) * time + fixed.factor * known.std(axis=1, ddof=1) * math.sqrt(time)
    found: Floats = np.ceil(base - 1e-9)[:, None] + fixed.more
    return found
