"""What logged coats teach: transfer efficiency and rates of work (costing model, section 9).

Imports no Django and reads no clock. A figure is learnt on the log scale with a normal-inverse-gamma prior: its centre is the
shop's present setting, weighted like a few observations. Such a prior is conjugate: the posterior has the same form, its mean
is t-distributed (Gelman et al., Bayesian Data Analysis, section 3.3, cited from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt
from statistics import median

from costing.core.student import quantile

PRIOR_WEIGHT = 3.0  # observations that the present setting is worth
PRIOR_SHAPE = 2.0  # of the scatter: as good as having seen it four times
PRIOR_SCATTER = 0.15  # usual scatter of one coat on the log scale, about 15 % (common practice, no source)
INTERVAL = 0.90
FAR_OFF = 3.5
"""A modified z-score beyond this marks an outlier (Iglewicz and Hoaglin 1993, as in the NIST/SEMATECH e-Handbook 1.3.5.17, cited
from memory)."""
MOST_EFFICIENCY = exp(PRIOR_SCATTER)
"""No coat lands more than was sprayed. One may seem to by its usual scatter; beyond that amounts, area or readings are wrong."""
LEAST_TO_JUDGE = 5  # fewer points are too few to call one of them an outlier


@dataclass(frozen=True, slots=True, kw_only=True)
class Belief:
    """Normal-inverse-gamma: the mean lies at ``mean`` with the weight of ``weight`` observations; ``shape`` and ``scale`` tell
    the variance of one observation."""

    mean: float  # μ
    weight: float  # κ
    shape: float  # α
    scale: float  # β

    def learn(self, values: Sequence[float]) -> Belief:
        """The belief after seeing these values, all at once or one by one.

        >>> after = Belief(mean=0.60, weight=2, shape=3, scale=0.005).learn((0.62, 0.58, 0.66, 0.60, 0.64))
        >>> round(after.mean, 10), after.weight, after.shape, round(after.scale, 10)
        (0.6142857143, 7, 5.5, 0.0072857143)
        """
        count = len(values)
        if not count:
            return self
        average = sum(values) / count
        weight = self.weight + count
        spread = sum((value - average) ** 2 for value in values)
        apart = self.weight * count * (average - self.mean) ** 2 / weight
        return Belief(
            mean=(self.weight * self.mean + count * average) / weight,
            weight=weight,
            shape=self.shape + count / 2,
            scale=self.scale + (spread + apart) / 2,
        )

    def interval(self, share: float = INTERVAL) -> tuple[float, float]:
        """Where the mean lies with this probability."""
        half = quantile((1 + share) / 2, 2 * self.shape) * sqrt(self.scale / (self.shape * self.weight))
        return self.mean - half, self.mean + half

    @property
    def variance(self) -> float:
        """Expected variance of one observation; shape above 1."""
        return self.scale / (self.shape - 1)


def prior_of(setting: float) -> Belief:
    """What the shop believes before it has looked: its present setting, on the log scale. ``setting`` above 0."""
    return Belief(mean=log(setting), weight=PRIOR_WEIGHT, shape=PRIOR_SHAPE, scale=PRIOR_SCATTER**2 * (PRIOR_SHAPE - 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Learnt:
    """A figure as the log shows it, in its own unit."""

    setting: float  # what the shop reckons with now
    prior: float  # what it reckoned with before these values taught it anything
    value: float
    low: float  # 90 % interval
    high: float
    outliers: frozenset[int]  # places of the points that were left out
    count: int  # points that counted
    most: float | None = None  # beyond it no value is possible

    @property
    def is_usable(self) -> bool:
        """False where nothing counted, or where the figure or its interval cannot be true."""
        return self.count > 0 and (self.most is None or (self.value <= 1 and self.high <= self.most))

    @property
    def says_otherwise(self) -> bool:
        """True when the present setting lies outside the interval."""
        return not self.low <= self.setting <= self.high


def learn(values: Sequence[float], *, setting: float, prior: float | None = None, most: float | None = None) -> Learnt:
    """The posterior of a figure from its observed values, all above 0; outliers and what lies above ``most`` are left out.

    ``prior`` is what the shop reckoned with before these values: a setting that was learnt from them must not meet them again.
    Without it, it is the present ``setting``.
    """
    before = setting if prior is None else prior
    possible = [place for place, value in enumerate(values) if most is None or value <= most]
    far = outliers_of([log(values[place]) for place in possible])
    kept = [place for index, place in enumerate(possible) if index not in far]
    belief = prior_of(before).learn([log(values[place]) for place in kept])
    low, high = belief.interval()
    return Learnt(
        setting=setting,
        prior=before,
        value=exp(belief.mean),
        low=exp(low),
        high=exp(high),
        outliers=frozenset(range(len(values))) - frozenset(kept),
        count=len(kept),
        most=most,
    )


def outliers_of(values: Sequence[float]) -> frozenset[int]:
    """Places of values that stand far from the middle: a modified z-score, 0.6745 (x − median) / MAD, beyond ``FAR_OFF``."""
    if len(values) < LEAST_TO_JUDGE:
        return frozenset()
    middle = median(values)
    spread = median(abs(value - middle) for value in values)
    if spread == 0:
        return frozenset()
    return frozenset(place for place, value in enumerate(values) if 0.6745 * abs(value - middle) / spread > FAR_OFF)


# ------------------------------------------------------------ what a coat shows


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatSeen:
    """One finished coat as it was logged. m², µm, L, min."""

    sprayed_area: float  # Σ a/g: area over geometry factor, A where every piece is flat
    wet_film: float  # mean reading, or the stated film
    mixed: float
    back: float  # put back, thrown away or left in the pot
    fills: int
    batches: int
    residue_per_fill: float
    residue_per_batch: float
    minutes: float
    other_minutes: float  # of the planned work that is no spraying: mixing, loading, hanging


def observed_efficiency(coat: CoatSeen) -> float | None:
    """Transfer efficiency of one coat: A w̄ / 1000 / (V_used − q r_f − b r_b); None where nothing was sprayed by these figures.

    >>> seen = CoatSeen(sprayed_area=15.320436, wet_film=110, mixed=2.792689169, back=0, fills=5, batches=1,
    ...                 residue_per_fill=0.03, residue_per_batch=0.05, minutes=60, other_minutes=14)
    >>> round(observed_efficiency(seen), 6)
    0.65
    """
    sprayed = coat.mixed - coat.back - coat.fills * coat.residue_per_fill - coat.batches * coat.residue_per_batch
    return coat.sprayed_area * coat.wet_film / 1000 / sprayed if sprayed > 0 else None


def observed_rate(coat: CoatSeen, area: float) -> float | None:
    """Spraying rate of one coat, m²/h: its area over the time that is left when all other planned work is taken off."""
    spraying = coat.minutes - coat.other_minutes
    return 60 * area / spraying if spraying > 0 and area > 0 else None


# ------------------------------------------------------------ a line through points


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """y = fixed + slope · x by least squares."""

    fixed: float
    slope: float
    fixed_error: float  # standard errors
    slope_error: float
    scatter: float  # standard deviation of the residuals
    explained: float  # R²


def fit_line(points: Sequence[tuple[float, float]]) -> Line | None:
    """Least squares through at least three points whose x differ; None otherwise.

    It parts the time of a coat into what it takes anyway and what each m² takes.
    """
    count = len(points)
    if count < 3:
        return None
    x_mean = sum(x for x, _ in points) / count
    y_mean = sum(y for _, y in points) / count
    s_xx = sum((x - x_mean) ** 2 for x, _ in points)
    if s_xx == 0:
        return None
    s_xy = sum((x - x_mean) * (y - y_mean) for x, y in points)
    s_yy = sum((y - y_mean) ** 2 for _, y in points)
    slope = s_xy / s_xx
    fixed = y_mean - slope * x_mean
    left = sum((y - fixed - slope * x) ** 2 for x, y in points)
    scatter = sqrt(left / (count - 2))
    return Line(
        fixed=fixed,
        slope=slope,
        fixed_error=scatter * sqrt(1 / count + x_mean**2 / s_xx),
        slope_error=scatter / sqrt(s_xx),
        scatter=scatter,
        explained=1 - left / s_yy if s_yy else 1.0,
    )
