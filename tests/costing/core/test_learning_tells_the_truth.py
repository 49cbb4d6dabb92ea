"""Learning: conjugate updates and the t distribution against a library, intervals that hold in simulated shops, outliers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from costing.core.learning import (
    MOST_EFFICIENCY,
    Belief,
    CoatSeen,
    fit_line,
    learn,
    observed_efficiency,
    observed_rate,
    outliers_of,
    prior_of,
)
from costing.core.student import incomplete_beta, probability, quantile

DATA = (0.62, 0.58, 0.66, 0.60, 0.64)
PRIOR = Belief(mean=0.60, weight=2, shape=3, scale=0.005)


@given(st.floats(0.5, 200), st.floats(0.001, 0.999))
def test_quantiles_of_t_agree_with_a_library(degrees: float, share: float) -> None:
    assert quantile(share, degrees) == pytest.approx(stats.t.ppf(share, degrees), rel=1e-8, abs=1e-9)


@given(st.floats(-50, 50), st.floats(0.5, 500))
def test_probabilities_of_t_agree_with_a_library(t: float, degrees: float) -> None:
    assert probability(t, degrees) == pytest.approx(stats.t.cdf(t, degrees), abs=1e-12)


@pytest.mark.parametrize("bad", [(0, 1, 0.5), (1, 1, 1.5), (1, -1, 0.5)])
def test_what_is_no_incomplete_beta_is_refused(bad: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="needs a > 0"):
        incomplete_beta(*bad)


def test_a_conjugate_update_agrees_with_a_library() -> None:
    after = PRIOR.learn(DATA)
    # the library's own distribution of mean and variance, and its t
    mean, variance = stats.normal_inverse_gamma(after.mean, after.weight, after.shape, after.scale).mean()
    assert mean == pytest.approx(0.6142857143, abs=1e-9)
    assert variance == pytest.approx(after.variance, rel=1e-12)
    scale = (after.scale / (after.shape * after.weight)) ** 0.5
    assert after.interval(0.95) == pytest.approx(stats.t.interval(0.95, 2 * after.shape, after.mean, scale), abs=1e-10)


def test_it_agrees_with_the_posterior_on_a_grid() -> None:
    """No formula: prior times likelihood, summed over a grid."""
    mu, var = np.meshgrid(np.linspace(0.4, 0.8, 1201), np.geomspace(1e-5, 0.1, 1201), indexing="ij")
    logp = stats.invgamma.logpdf(var, PRIOR.shape, scale=PRIOR.scale) + stats.norm.logpdf(
        mu, PRIOR.mean, np.sqrt(var / PRIOR.weight)
    )
    for value in DATA:
        logp = logp + stats.norm.logpdf(value, mu, np.sqrt(var))
    weight = np.exp(logp - logp.max()) * var  # the grid is even in log variance
    after = PRIOR.learn(DATA)
    assert (weight * mu).sum() / weight.sum() == pytest.approx(after.mean, abs=1e-6)
    assert (weight * var).sum() / weight.sum() == pytest.approx(after.variance, rel=2e-3)


@given(st.lists(st.floats(-3, 3), min_size=1, max_size=8))
def test_one_by_one_is_all_at_once(values: list[float]) -> None:
    belief = prior_of(0.6)
    for value in values:
        belief = belief.learn([value])
    at_once = prior_of(0.6).learn(values)
    for name in ("mean", "weight", "shape", "scale"):
        assert getattr(belief, name) == pytest.approx(getattr(at_once, name), rel=1e-9, abs=1e-12)


def shop_of(rng: np.random.Generator, *, coats: int) -> tuple[float, float, list[float]]:
    """A shop with a true transfer efficiency, its present setting, and what its log shows of it."""
    setting = rng.uniform(0.3, 0.8)
    truth = setting * np.exp(rng.normal(0, 0.09))
    scatter = rng.uniform(0.08, 0.2)
    seen = []
    for _ in range(coats):
        area, film = rng.uniform(3, 40), rng.uniform(80, 140)
        fills = int(rng.integers(2, 9))
        sprayed = area * film / 1000 / (truth * np.exp(rng.normal(0, scatter)))
        coat = CoatSeen(
            sprayed_area=area,
            wet_film=film,
            mixed=sprayed + fills * 0.03 + 0.05 + 0.2,
            back=0.2,
            fills=fills,
            batches=1,
            residue_per_fill=0.03,
            residue_per_batch=0.05,
            minutes=60,
            other_minutes=10,
        )
        found = observed_efficiency(coat)
        assert found is not None
        seen.append(found)
    return setting, truth, seen


@pytest.mark.parametrize("coats", [3, 10, 40])
def test_the_interval_covers_the_truth_of_simulated_shops_as_often_as_it_says(coats: int) -> None:
    rng = np.random.default_rng(20300501)
    shops = [shop_of(rng, coats=coats) for _ in range(1500)]
    covered = [found.low <= truth <= found.high for setting, truth, seen in shops for found in [learn(seen, setting=setting)]]
    assert 0.85 <= sum(covered) / len(covered) <= 0.95


def test_with_many_coats_the_present_setting_no_longer_matters() -> None:
    rng = np.random.default_rng(7)
    seen = list(0.5 * np.exp(rng.normal(0, 0.1, 400)))
    low, high = learn(seen, setting=0.3), learn(seen, setting=0.9)
    assert low.value == pytest.approx(high.value, rel=0.01)
    assert low.value == pytest.approx(0.5, rel=0.02)
    assert low.says_otherwise
    assert high.says_otherwise


def test_without_a_coat_the_setting_stands() -> None:
    found = learn([], setting=0.65)
    assert found.value == pytest.approx(0.65)
    assert found.low < 0.65 < found.high
    assert not found.says_otherwise


def test_an_outlier_is_marked_and_left_out() -> None:
    seen = [0.60, 0.62, 0.58, 0.61, 0.59, 0.63, 0.05]
    found = learn(seen, setting=0.6)
    assert found.outliers == {6}
    assert found.value == pytest.approx(0.604, abs=0.003)
    assert outliers_of([1.0, 1.0, 1.0, 50.0]) == frozenset()  # too few to judge
    assert outliers_of([1.0] * 6) == frozenset()


def test_an_interval_beyond_all_that_was_sprayed_is_not_usable() -> None:
    wide = learn([0.1, 1.1, 1.1], setting=0.95, most=MOST_EFFICIENCY)
    assert wide.value < 1
    assert wide.high > MOST_EFFICIENCY
    assert not wide.is_usable
    assert not learn([1.1] * 3, setting=0.98, most=MOST_EFFICIENCY).is_usable  # the figure itself
    assert learn([0.6, 0.62, 7.21], setting=0.65, most=MOST_EFFICIENCY).outliers == {2}
    assert learn([0.6, 0.62, 7.21], setting=0.65, most=MOST_EFFICIENCY).is_usable


def test_a_coat_that_shows_nothing_is_no_point() -> None:
    seen = CoatSeen(
        sprayed_area=1,
        wet_film=100,
        mixed=0.2,
        back=0.1,
        fills=5,
        batches=1,
        residue_per_fill=0.03,
        residue_per_batch=0.05,
        minutes=10,
        other_minutes=12,
    )
    assert observed_efficiency(seen) is None
    assert observed_rate(seen, 1) is None


def test_a_line_through_too_little_is_none() -> None:
    assert fit_line([(1, 1), (2, 2)]) is None
    assert fit_line([(1, 1), (1, 2), (1, 3)]) is None
