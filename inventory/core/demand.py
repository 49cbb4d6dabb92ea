"""How much of a material a week uses: its class, its forecast, and how that was found (replenishment model, section 2).

Pure: no Django, no clock. Weeks are complete weeks, oldest first, in the material's stock unit.

Starting values differ between published programs, so these are stated: exponential smoothing starts at the mean of the first
four weeks and goes on from the fifth; Croston's method starts at the first demand and at its distance from the beginning.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import fmean

WEEKS_KEPT = 52
LEAST_WEEKS_WITH_USE = 4
SMOOTHING = 0.1  # common practice, no source
START_WEEKS = 4
INTERVAL_CUT = 1.32  # Syntetos, Boylan and Croston (2005), Journal of the Operational Research Society 56
SPREAD_CUT = 0.49  # the same
USUAL_SPREAD = 0.5  # of the weekly use, where nobody has measured it: common practice, no source


class DemandClass(StrEnum):
    """How regular the use is and how much its sizes differ."""

    SMOOTH = "smooth"
    ERRATIC = "erratic"
    INTERMITTENT = "intermittent"
    LUMPY = "lumpy"


class ForecastMethod(StrEnum):
    """Where a rate comes from, in words."""

    SMOOTHING = "exponential smoothing"
    SYNTETOS_BOYLAN = "Syntetos–Boylan"
    MEAN = "mean of few weeks with use"
    ENTERED = "as entered"


class NegativeUseError(ValueError):
    """A week of the history is below 0: more came back than went out. ``week`` counts from the oldest, from 0."""

    def __init__(self, *, week: int, quantity: float) -> None:
        super().__init__(f"week {week + 1} of the history is {quantity:g}: use is 0 or more, net of returns")
        self.week = week
        self.quantity = quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """What the class of a series is decided by."""

    interval: float  # mean weeks from one week with use to the next, counted from the beginning
    spread: float  # squared coefficient of variation of the weeks with use, population form

    @property
    def demand_class(self) -> DemandClass:
        """The class, cut at 1.32 weeks and 0.49 (Syntetos, Boylan and Croston 2005)."""
        if self.interval < INTERVAL_CUT:
            return DemandClass.SMOOTH if self.spread < SPREAD_CUT else DemandClass.ERRATIC
        return DemandClass.INTERMITTENT if self.spread < SPREAD_CUT else DemandClass.LUMPY


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """Background demand, with what it rests on."""

    rate: float  # stock units a week
    deviation: float  # stock units a week, standard deviation of a week
    method: ForecastMethod
    weeks: int = 0  # complete weeks of history behind it
    weeks_with_use: int = 0
    shape: Shape | None = None  # None without a week of use

    @property
    def demand_class(self) -> DemandClass | None:
        """The class, where there is use to judge by."""
        return self.shape.demand_class if self.shape else None


def checked_weeks(weeks: Sequence[float]) -> tuple[float, ...]:
    """The last 52 weeks as floats. Raises ``NegativeUseError``, or ``ValueError`` for what is no number."""
    kept = tuple(float(week) for week in weeks[-WEEKS_KEPT:])
    for place, week in enumerate(kept):
        if not math.isfinite(week):
            raise ValueError(f"week {place + 1} of the history is not an ordinary number")
        if week < 0:
            raise NegativeUseError(week=place, quantity=week)
    return kept


def shape(weeks: Sequence[float]) -> Shape | None:
    """Mean interval and squared coefficient of variation; ``None`` without a week of use.

    The first interval counts from the beginning of the history, and what follows the last use does not count.

    >>> shape([0, 2, 0, 2])
    Shape(interval=2.0, spread=0.0)
    """
    used = [(place, week) for place, week in enumerate(weeks, start=1) if week > 0]
    if not used:
        return None
    sizes = [week for _, week in used]
    return Shape(interval=used[-1][0] / len(used), spread=_squares(sizes) / len(sizes) / fmean(sizes) ** 2)


def _squares(values: Sequence[float]) -> float:
    """The sum of squared distances from the mean. In floats: the standard library's exact fractions take ten times as long."""
    mean = fmean(values)
    return math.fsum((value - mean) ** 2 for value in values)


def smoothed(weeks: Sequence[float], *, alpha: float = SMOOTHING) -> float:
    """Simple exponential smoothing, started at the mean of the first four weeks.

    >>> round(smoothed([4, 4, 4, 4, 14]), 6)
    5.0
    """
    if not weeks:
        raise ValueError("nothing can be smoothed without a week")
    level = fmean(weeks[:START_WEEKS])
    for week in weeks[START_WEEKS:]:
        level += alpha * (week - level)
    return level


def croston(weeks: Sequence[float], *, alpha: float = SMOOTHING) -> float:
    """Croston's method (1972): smoothed size over smoothed interval, both renewed in a week with use only; 0 without use.

    >>> round(croston([0, 0, 5, 0, 0, 0, 3, 0, 4, 0, 0, 6]), 6)
    1.620863
    """
    size = interval = 0.0
    since = 0
    for week in weeks:
        since += 1
        if week <= 0:
            continue
        if interval == 0:
            size, interval = float(week), float(since)
        else:
            size += alpha * (week - size)
            interval += alpha * (since - interval)
        since = 0
    return size / interval if interval else 0.0


def syntetos_boylan(weeks: Sequence[float], *, alpha: float = SMOOTHING) -> float:
    """Croston's rate less its bias, (1 − α/2) z/p (Syntetos and Boylan 2005, International Journal of Forecasting 21)."""
    return (1 - alpha / 2) * croston(weeks, alpha=alpha)


_BY_CLASS = {
    DemandClass.SMOOTH: (ForecastMethod.SMOOTHING, smoothed),
    DemandClass.ERRATIC: (ForecastMethod.SMOOTHING, smoothed),
    DemandClass.INTERMITTENT: (ForecastMethod.SYNTETOS_BOYLAN, syntetos_boylan),
    DemandClass.LUMPY: (ForecastMethod.SYNTETOS_BOYLAN, syntetos_boylan),
}


def forecast(weeks: Sequence[float], *, entered: float | None = None, entered_deviation: float | None = None) -> Forecast | None:
    """The background rate of a material; ``None`` when there is neither a history nor an entered rate.

    ``weeks`` is net use, oldest first; the last 52 count. With fewer than 4 weeks of use the mean speaks, unless the shop
    entered a rate and there was no use at all. Raises ``NegativeUseError`` and ``ValueError``.
    """
    kept = checked_weeks(weeks)
    seen = shape(kept)
    with_use = sum(1 for week in kept if week > 0)
    if seen is None:
        return _entered(entered, entered_deviation, len(kept))
    if with_use < LEAST_WEEKS_WITH_USE:
        method, rate = ForecastMethod.MEAN, fmean(kept)
    else:
        method, compute = _BY_CLASS[seen.demand_class]
        rate = compute(kept)
    deviation = math.sqrt(_squares(kept) / (len(kept) - 1)) if len(kept) > 1 else USUAL_SPREAD * rate
    return Forecast(rate=rate, deviation=deviation, method=method, weeks=len(kept), weeks_with_use=with_use, shape=seen)


def _entered(rate: float | None, deviation: float | None, weeks: int) -> Forecast | None:
    if rate is None:
        return None
    if not math.isfinite(rate) or rate < 0:
        raise ValueError("the entered use per week is a number of 0 or more")
    spread = USUAL_SPREAD * rate if deviation is None else deviation
    if not math.isfinite(spread) or spread < 0:
        raise ValueError("the entered spread is a number of 0 or more")
    return Forecast(rate=rate, deviation=spread, method=ForecastMethod.ENTERED, weeks=weeks)
