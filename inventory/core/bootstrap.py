"""Demand over the protection time, drawn from the material's own weeks and lead times (replenishment model, section 4).

Pure: no Django, no clock; every draw follows from a seed. Needs numpy: import this module inside the function that uses it.

A draw is a lead time, a number of whole weeks, and for each of them one week of the history. Recent weeks are drawn more
often: a week counts half after ``half_life`` weeks. Some draws borrow a week from the other materials, as if each material had
``borrowed`` weeks more than it has: a history too short to hold a busy week is no proof that there are none. Borrowed weeks
are relative to the usual week of use, so that they fit any unit. What this is worth is measured by ``manage.py replay``.

All materials share the same random numbers. A line of the list therefore never depends on which other materials stand on it,
and the draws of thousands of materials are one product of two matrices.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.core.demand import LEAST_WEEKS_WITH_USE, WEEKS_KEPT, checked_weeks
from inventory.core.draws import Draws

Floats = NDArray[np.float64]

DAYS_A_WEEK = 7
MOST_LEANING = 50.0  # weeks of the common size beside one's own, where materials look all alike
KIN_STEPS = 256  # the borrowed sizes are kept as so many equally likely ones
_ROWS_AT_ONCE = 4_000_000  # drawn figures held in memory at once


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """One material's weeks, oldest first, and what its orders took to arrive."""

    weeks: tuple[float, ...]
    lead_days: tuple[float, ...]  # observed, or the stated one alone
    review_days: float
    in_lumps: bool = True  # a part of a week sees all of its use or none; False: its share
    unit: str = ""  # materials in one unit tell one another how large a usual week of use is
    scale: float | None = None  # what a usual week of use takes; None: found among all

    def __post_init__(self) -> None:
        object.__setattr__(self, "weeks", checked_weeks(self.weeks))
        if not self.lead_days or any(not math.isfinite(days) or days < 0 for days in self.lead_days):
            raise ValueError("a lead time is 0 days or more")
        if not math.isfinite(self.review_days) or self.review_days < 0:
            raise ValueError("a review interval is 0 days or more")

    def can_be_drawn_from(self, kin: Kin | None) -> bool:
        """Whether there are enough weeks with use: 4, or 1 where others lend theirs. Otherwise the normal form speaks."""
        with_use = sum(1 for week in self.weeks if week > 0)
        return with_use >= (LEAST_WEEKS_WITH_USE if kin is None else 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kin:
    """What a week looks like among all materials: how often there is none, and the sizes of the others."""

    idle: float  # share of weeks without use
    sizes: tuple[float, ...]  # equally likely, relative to the material's usual week of use; rising

    def at(self, share: Floats) -> Floats:
        """The borrowed week at each share from 0 to 1 of all weeks, by size."""
        if not self.sizes:
            return np.zeros_like(share)
        place = (share - self.idle) / max(1 - self.idle, 1e-12) * len(self.sizes)
        found: Floats = np.asarray(self.sizes)[np.clip(place.astype(np.int64), 0, len(self.sizes) - 1)]
        return np.where(share < self.idle, 0.0, found)


def kin_of(weeks: Floats, scales: Floats, weights: Floats | None = None) -> Kin:
    """The common week of many materials, from a table of weeks (a row a material; no number where it was not there yet).

    ``scales`` holds each material's usual week of use; ``weights`` how much each week counts.
    """
    known = np.isfinite(weeks)
    heavy = np.broadcast_to(np.ones(weeks.shape[1]) if weights is None else weights, weeks.shape)
    used = known & (weeks > 0) & (scales > 0)[:, None]
    total, busy = float(heavy[known].sum()), float(heavy[used].sum())
    if busy <= 0:
        return Kin(idle=1.0, sizes=())
    relative = (weeks / np.where(scales > 0, scales, 1.0)[:, None])[used]
    order = np.argsort(relative, kind="stable")
    reached = np.cumsum(heavy[used][order]) / busy
    steps = (np.arange(KIN_STEPS) + 0.5) / KIN_STEPS
    places = np.minimum(np.searchsorted(reached, steps), len(order) - 1)
    return Kin(idle=1 - busy / total, sizes=tuple(float(size) for size in relative[order][places]))


def age_weights(count: int, half_life: float | None) -> Floats:
    """How much each of ``count`` weeks counts, oldest first: the latest 1, one of ``half_life`` weeks before it a half."""
    ages = np.arange(count - 1, -1, -1)
    return np.ones(count) if half_life is None else 0.5 ** (ages / half_life)


class Chance:
    """The random numbers of a run, made once and used for every material."""

    def __init__(self, draws: Draws, *, most_weeks: int) -> None:
        generator = np.random.default_rng(draws.seed)
        self.draws = draws
        self.lead: Floats = generator.random(draws.count)
        self.part: Floats = generator.random(draws.count)
        self.week: Floats = generator.random((most_weeks, draws.count))
        self.borrowed: Floats = generator.random((most_weeks, draws.count))

    def counts(self, known: int, times: Floats, kin: Kin | None, *, in_lumps: bool) -> tuple[Floats, Floats]:
        """How often each draw takes each of ``known`` weeks (oldest first), and what it borrows, for times in weeks.

        ``times`` holds the protection time of each draw. A part of a week takes its share, or in lumps all or nothing.
        """
        own = age_weights(known, self.draws.half_life)
        borrowed = self.draws.borrowed if kin is not None else 0.0
        ends = np.cumsum(own)
        mass = (ends[-1] if known else 0.0) + borrowed
        whole = np.floor(times + 1e-9).astype(np.int64)
        rest = np.maximum(times - whole, 0.0)
        rest = (self.part < rest).astype(np.float64) if in_lumps else rest
        taken = np.zeros((known, self.draws.count))
        lent = np.zeros(self.draws.count)
        columns = np.arange(self.draws.count)
        for step in range(int(whole.max(initial=0)) + 1):
            share = np.where(step < whole, 1.0, np.where(step == whole, rest, 0.0))
            if mass <= 0 or not share.any():
                continue
            at = self.week[step] * mass
            place = np.searchsorted(ends, at, side="right") if known else np.zeros(self.draws.count, dtype=np.int64)
            mine = place < known
            taken[place[mine], columns[mine]] += share[mine]
            if kin is not None:
                lent += np.where(mine, 0.0, share * kin.at(self.borrowed[step]))
        return taken, lent


def usual_sizes(weeks: Floats, groups: Sequence[str] | None = None) -> Floats:
    """What a usual week of use takes, of each material: a table of weeks, a row a material. 0 where nothing is known.

    The geometric mean of a material's own weeks of use, leaning on that of its group (materials kept in one unit) as if it had
    K weeks of the common size beside its own. K is the variance of log sizes within materials over the variance between them, by
    the method of moments: the more alike the materials, the more they tell about one another. Common empirical Bayes form, from
    memory.
    """
    names = np.asarray([""] * len(weeks) if groups is None else list(groups))
    found = np.zeros(len(weeks))
    for name in sorted(set(names.tolist())):
        rows = np.flatnonzero(names == name)
        found[rows] = _leaning(weeks[rows])
    return found


def _leaning(weeks: Floats) -> Floats:
    used = np.isfinite(weeks) & (weeks > 0)
    counts = used.sum(axis=1)
    some = counts > 0
    if not some.any():
        return np.zeros(len(weeks))
    logs = np.log(np.where(used, weeks, 1.0))
    means = logs.sum(axis=1) / np.maximum(counts, 1)
    free = int((counts[some] - 1).sum())
    within = float((((logs - means[:, None]) ** 2) * used).sum()) / free if free else 0.0
    spread = float(means[some].var(ddof=1)) if some.sum() > 1 else 0.0
    between = max(spread - within * float((1 / counts[some]).mean()), within / MOST_LEANING, 1e-12)
    lean = within / between
    common = float(means[some].mean())
    found: Floats = np.exp((counts * means + lean * common) / np.maximum(counts + lean, 1e-12))
    return np.where(some, found, math.exp(common))


def protection_demand(series: Sequence[Series], draws: Draws, *, kin: Kin | None = None, chance: Chance | None = None) -> Floats:
    """Drawn demand over the protection time: a row a material, a column a draw, in the material's stock unit."""
    chance = chance or chance_for(series, draws)
    found = np.zeros((len(series), draws.count))
    sizes = scales_of(series)
    groups: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for place, one in enumerate(series):
        groups[len(one.weeks), one.lead_days, one.review_days, one.in_lumps].append(place)
    for places in groups.values():
        first = series[places[0]]
        leads = np.sort(np.asarray(first.lead_days, dtype=np.float64))
        lead = leads[np.minimum((chance.lead * len(leads)).astype(np.int64), len(leads) - 1)]
        times = (lead + first.review_days) / DAYS_A_WEEK
        taken, lent = chance.counts(len(first.weeks), times, kin, in_lumps=first.in_lumps)
        weeks = np.array([series[place].weeks for place in places], dtype=np.float64).reshape(len(places), -1)
        found[places] = weeks @ taken + np.outer([sizes[place] for place in places], lent)
    return found


def chance_for(series: Sequence[Series], draws: Draws) -> Chance:
    """Random numbers for the longest protection time among the materials."""
    longest = max((max(one.lead_days) + one.review_days for one in series), default=0.0)
    return Chance(draws, most_weeks=math.floor(longest / DAYS_A_WEEK) + 2)


def upper_quantiles(drawn: Floats, levels: Sequence[float]) -> Floats:
    """For each level the least drawn demand that at least this share of the draws does not pass: a row a level."""
    count = drawn.shape[1]
    places = [min(max(math.ceil(level * count - 1e-9), 1), count) - 1 for level in levels]
    found: Floats = np.partition(drawn, sorted(set(places)), axis=1)[:, places].T
    return found


def bootstrap_points(
    series: Sequence[Series], levels: Sequence[float], draws: Draws, *, kin: Kin | None = None
) -> tuple[float | None, ...]:
    """Each material's reorder point: the quantile of its drawn demand at its own level.

    ``None`` where the history is too thin to draw from: there the normal form speaks.
    """
    if len(levels) != len(series):
        raise ValueError("there is one level for each material")
    if any(not 0 < level < 1 for level in levels):
        raise ValueError("a service target lies between 0 and 1")
    found: list[float | None] = [None] * len(series)
    places = [place for place, one in enumerate(series) if one.can_be_drawn_from(kin)]
    chance = chance_for([series[place] for place in places], draws)
    step = max(1, _ROWS_AT_ONCE // draws.count)
    for start in range(0, len(places), step):
        some = places[start : start + step]
        drawn = protection_demand([series[place] for place in some], draws, kin=kin, chance=chance)
        distinct = sorted({levels[place] for place in some})
        points = upper_quantiles(drawn, distinct)
        for row, place in enumerate(some):
            found[place] = float(points[distinct.index(levels[place]), row])
    return tuple(found)


def kin_of_series(series: Sequence[Series], draws: Draws) -> Kin:
    """The common week of these materials."""
    return kin_of(_table(series), scales_of(series), age_weights(WEEKS_KEPT, draws.half_life))


def scales_of(series: Sequence[Series]) -> Floats:
    """What a usual week of use takes: as stated with the series, or found among all of them."""
    if all(one.scale is not None for one in series):
        return np.array([one.scale for one in series], dtype=np.float64)
    found = usual_sizes(_table(series), [one.unit for one in series])
    return np.array([own if one.scale is None else one.scale for one, own in zip(series, found, strict=True)])


def _table(series: Sequence[Series]) -> Floats:
    """The weeks side by side, the latest last; no number where a material was not there yet."""
    table = np.full((len(series), WEEKS_KEPT), np.nan)
    for row, one in enumerate(series):
        if one.weeks:
            table[row, -len(one.weeks) :] = one.weeks
    return table
