"""At which quantile a reorder point has to be read so that the target is reached (replenishment model, section 4).

Pure: no Django, no clock. Needs numpy: import this module inside the function that uses it.

A reorder point at the 95 % quantile of what is drawn does not give 95 % of order cycles. Orders are placed when something was
just taken, so a cycle sees more than an ordinary stretch of time, and it lasts longer than one protection time. Every level is
therefore followed through the known history as if it had been in force, and the one is taken that would have given the target.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from inventory.core.bootstrap import Floats
from inventory.core.draws import Draws
from inventory.core.policies import Memory, Span, drawn_levels
from inventory.core.simulate import Outcome, Rule, World, simulate

LEVELS = tuple(1 - math.exp(-step / 5) for step in range(4, 39))  # 55 % to 99.95 %
LEAST_CYCLES = 100  # before what was followed is trusted: own choice
LEAST_PERIODS = 26  # known before the first that is followed, and followed


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """What each level would have given."""

    levels: tuple[float, ...]
    reached: tuple[float, ...]  # cycle service of each
    cycles: int  # that they rest on, at the highest level

    @property
    def is_known(self) -> bool:
        """Whether there are cycles enough to go by."""
        return self.cycles >= LEAST_CYCLES

    def level(self, target: float) -> float:
        """The quantile to read for a target; the target itself where too little is known."""
        return level_for(target, self.levels, self.reached) if self.is_known else target


def level_for(target: float, levels: Sequence[float], reached: Sequence[float]) -> float:
    """The level at which the target is reached, between two that were tried, on a scale of the odds of running short.

    The lowest or highest that was tried when the target lies outside.

    >>> round(level_for(0.95, (0.9, 0.99), (0.94, 0.96)), 4)
    0.9684
    """
    odds = [-math.log(1 - level) for level in levels]
    rising = np.maximum.accumulate(np.asarray(reached))
    if target <= rising[0]:
        return levels[0]
    if target > rising[-1]:
        return levels[-1]
    right = int(np.searchsorted(rising, target))
    low, high = float(rising[right - 1]), float(rising[right])
    share = (target - low) / (high - low) if high > low else 1.0
    return 1 - math.exp(-(odds[right - 1] + share * (odds[right] - odds[right - 1])))


def calibrate(
    history: Floats,
    *,
    leads: Sequence[int],
    draws: Draws,
    lots: Floats,
    units: Sequence[str] = (),
    levels: Sequence[float] = LEVELS,
) -> Calibration:
    """Follow each level through the second half of a history: a row a material, a column a week, oldest first.

    ``leads`` is each material's lead time in whole weeks, ``lots`` what it orders beyond its reorder point, ``units`` in what
    it is kept. Orders may be of any size: whole packs would only add to the stock.
    """
    periods = history.shape[1]
    if len(history) == 0 or periods < 2 * LEAST_PERIODS:
        return Calibration(levels=tuple(levels), reached=tuple(0.0 for _ in levels), cycles=0)
    span = Span(begin=periods // 2, end=periods)
    memory = Memory(half_life=draws.half_life, borrowed=draws.borrowed)
    tables = [np.zeros((len(history), span.length)) for _ in levels]
    lead = np.asarray(leads, dtype=np.int64)
    for length in sorted(set(leads)):
        rows = np.flatnonzero(lead == length)
        found = drawn_levels(history, span, levels=levels, memory=memory, leads=[length], draws=draws, rows=rows, units=units)
        for table, part in zip(tables, found, strict=True):
            table[rows] = part
    world = World(
        demand=history[:, span.begin :],
        lead=np.repeat(lead[:, None], span.length, axis=1),
        price=np.zeros(len(history)),
        whole=False,
    )
    outcomes = [simulate(world, Rule(low=table, high=table + lots[:, None])) for table in tables]
    return Calibration(
        levels=tuple(levels),
        reached=tuple(outcome.cycle_service for outcome in outcomes),
        cycles=outcomes[-1].cycles,
    )


def adapted_levels(target: float, levels: Sequence[float], followed: Sequence[Outcome], *, first: int, count: int) -> list[int]:
    """For each of ``count`` periods from ``first`` on: the place of the level that would have given the target until then."""
    odds = [math.log(1 - level) for level in levels]
    places = []
    for at in range(first, first + count):
        level = level_for(target, levels, [one.service_after[at - 1] for one in followed])
        places.append(min(range(len(levels)), key=lambda place: abs(odds[place] - math.log(1 - level))))
    return places
