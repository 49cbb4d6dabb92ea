"""How far a job's cost may stray: thousands of draws of its uncertain inputs (costing model, section 8).

Imports no Django. Needs numpy: import this module inside the function that uses it.

Each uncertain input is a factor around 1 on what the estimate reckons with. Factors are independent of each other, seeded, and
drawn all at once; the cost of every draw is reckoned by the same steps as `costing.core.estimate`, whole fills, batches and
supplies included, over arrays instead of single numbers. A test holds the two together.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from costing.core.checks import check_number
from costing.core.result import Estimate
from costing.core.risk_costs import Factors, costs_of
from costing.core.spreads import USUAL_SPREADS, WIDEST, Uncertain

Floats = NDArray[np.float64]
DRAWS = 10_000
SEED = 1
_P90 = NormalDist().inv_cdf(0.9)  # 1.2816


class Shape(StrEnum):
    """How a factor is distributed around 1."""

    LOGNORMAL = "lognormal"  # median 1, never below 0
    NORMAL = "normal"
    UNIFORM = "uniform"
    TRIANGULAR = "triangular"  # likeliest at 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One uncertain input. ``spread``: in eight of ten jobs it lies within ± this share of what was reckoned with."""

    kind: Uncertain
    key: str  # setup, position of the coat's operation, labour class or material; empty for the area
    words: str
    spread: float
    shape: Shape = Shape.LOGNORMAL

    def __post_init__(self) -> None:
        check_number(self.spread, "spread", least=0, most=WIDEST)


@dataclass(frozen=True, slots=True, kw_only=True)
class Influence:
    """How much of the spread of the cost one input brings about."""

    words: str
    share: float  # of the variance, 0 to 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Risk:
    """What the draws say. Money as floats, in the shop's currency: statistics, not amounts of a document."""

    costs: Floats  # one a draw
    p10: float
    p50: float
    p90: float
    mean: float
    influences: tuple[Influence, ...]  # the strongest first
    unexplained: float  # share of the variance by steps and by inputs acting together

    def chance_of_loss(self, price: float) -> float:
        """Share of the draws in which the job costs more than this net price."""
        return float(np.mean(self.costs > price))

    def chance_up_to(self, cost: float) -> float:
        """Share of the draws that cost no more than this."""
        return float(np.mean(self.costs <= cost))


def inputs_of(estimate: Estimate, spreads: Mapping[Uncertain, float] = USUAL_SPREADS) -> tuple[Input, ...]:
    """The uncertain inputs of an estimate, each with the spread of its kind; a spread of 0 leaves the kind out."""
    found: dict[tuple[Uncertain, str], str] = {(Uncertain.AREA, ""): "measured area"}
    for position, result in enumerate(estimate.operations):
        coat = result.operation.coat
        if coat is not None and result.performed:
            name = coat.setup.name or "spray setup"
            found.setdefault((Uncertain.EFFICIENCY, coat.setup.name), f"transfer efficiency, {name}")
            found[Uncertain.FILM, str(position)] = f"wet film, {result.operation.name}"
    for labour in estimate.labour_uses:
        found[Uncertain.WORK, labour.labour_class] = f"time of work, {estimate.rates.labour[labour.labour_class].name}"
    for need in estimate.needs:
        found[Uncertain.PRICE, need.material.key] = f"price, {need.material.name}"
    return tuple(
        Input(kind=kind, key=key, words=words, spread=spreads.get(kind, 0.0))
        for (kind, key), words in found.items()
        if spreads.get(kind, 0.0) > 0
    )


def draw(inputs: Sequence[Input], *, draws: int = DRAWS, seed: int = SEED) -> list[Floats]:
    """The factors of every input, each from a stream of its own, so that one more input leaves the others as they were."""
    streams = np.random.SeedSequence(seed).spawn(len(inputs))
    return [
        _SHAPES[one.shape](np.random.default_rng(stream), one.spread, draws) for one, stream in zip(inputs, streams, strict=True)
    ]


def _lognormal(rng: np.random.Generator, spread: float, draws: int) -> Floats:
    """Median 1; a tenth lies above 1 + spread."""
    factors: Floats = np.exp(rng.standard_normal(draws) * (np.log1p(spread) / _P90))
    return factors


def _normal(rng: np.random.Generator, spread: float, draws: int) -> Floats:
    """Mean 1; a tenth lies above 1 + spread. Cut off at 0."""
    return np.maximum(0.0, 1 + rng.standard_normal(draws) * (spread / _P90))


def _uniform(rng: np.random.Generator, spread: float, draws: int) -> Floats:
    """Evenly from 1 - 1.25 spread to 1 + 1.25 spread, of which the middle eight tenths reach to 1 ± spread. Cut off at 0."""
    return np.maximum(0.0, rng.uniform(1 - 1.25 * spread, 1 + 1.25 * spread, draws))


def _triangular(rng: np.random.Generator, spread: float, draws: int) -> Floats:
    """Likeliest at 1, falling off evenly to both sides; a tenth lies above 1 + spread. Cut off at 0."""
    if not spread:
        return np.ones(draws)
    half = spread / (1 - np.sqrt(0.2))  # beyond 1 + spread lies (half - spread)² / (2 half²) = 0.1
    return np.maximum(0.0, rng.triangular(1 - half, 1, 1 + half, draws))


_SHAPES: Mapping[Shape, Callable[[np.random.Generator, float, int], Floats]] = {
    Shape.LOGNORMAL: _lognormal,
    Shape.NORMAL: _normal,
    Shape.UNIFORM: _uniform,
    Shape.TRIANGULAR: _triangular,
}


def risk_of(estimate: Estimate, inputs: Sequence[Input] | None = None, *, draws: int = DRAWS, seed: int = SEED) -> Risk:
    """Draw the inputs of an estimate and reckon the cost of every draw; without ``inputs``, the usual ones."""
    chosen = inputs_of(estimate) if inputs is None else tuple(inputs)
    drawn = draw(chosen, draws=draws, seed=seed)
    costs = costs_of(estimate, factors_of(chosen, drawn), draws=draws)
    p10, p50, p90 = (float(value) for value in np.quantile(costs, (0.1, 0.5, 0.9)))
    influences, rest = influences_on(costs, chosen, drawn)
    return Risk(costs=costs, p10=p10, p50=p50, p90=p90, mean=float(costs.mean()), influences=influences, unexplained=rest)


def factors_of(inputs: Sequence[Input], drawn: Sequence[Floats]) -> Factors:
    """The drawn factors, sorted by what they multiply."""
    by_kind: dict[Uncertain, dict[str, Floats]] = {kind: {} for kind in Uncertain}
    for one, values in zip(inputs, drawn, strict=True):
        by_kind[one.kind][one.key] = values
    return Factors(
        efficiency=by_kind[Uncertain.EFFICIENCY],
        film=by_kind[Uncertain.FILM],
        work=by_kind[Uncertain.WORK],
        price=by_kind[Uncertain.PRICE],
        area=by_kind[Uncertain.AREA].get(""),
    )


def influences_on(costs: Floats, inputs: Sequence[Input], drawn: Sequence[Floats]) -> tuple[tuple[Influence, ...], float]:
    """Each input's share of the variance, and the rest: the square of its correlation with the cost.

    For independent inputs and a cost that is a sum of them this is exactly (a_i s_i)² / Σ (a_j s_j)².
    """
    if not costs.std() > 1e-12 * abs(costs.mean()):
        return (), 0.0
    shares = [
        Influence(words=one.words, share=float(np.corrcoef(values, costs)[0, 1]) ** 2)
        for one, values in zip(inputs, drawn, strict=True)
        if values.std() > 0
    ]
    ordered = tuple(sorted(shares, key=lambda one: -one.share))
    return ordered, max(0.0, 1 - sum(one.share for one in ordered))
