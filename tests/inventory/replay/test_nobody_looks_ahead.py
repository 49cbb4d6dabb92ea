"""What is decided on a period follows from the periods before it alone."""

from __future__ import annotations

import numpy as np
import pytest

from inventory.core.calibration import LEVELS, adapted_levels, calibrate
from inventory.core.demand import forecast
from inventory.core.draws import Draws
from inventory.core.policies import MEMORY, Fixed, Span, drawn_levels, fixed_levels, forecast_rates, normal_levels, rates_over
from inventory.core.replay import Setting, TooShortError, replay
from inventory.core.simulate import Rule, World, simulate

SPAN = Span(begin=8, end=20)
DRAWS = Draws(seed=3)


def history(seed: int = 1, *, periods: int = 20, materials: int = 12) -> np.ndarray:
    generator = np.random.default_rng(seed)
    return (generator.poisson(0.6, (materials, periods)) * generator.integers(1, 5, (materials, periods))).astype(float)


@pytest.mark.parametrize("at", [8, 13, 19])
def test_a_period_decided_on_does_not_know_itself_nor_what_follows(at: int) -> None:
    seen, changed = history(), history()
    changed[:, at:] = history(2)[:, at:] + 7
    levels = (0.5, 0.95)
    place = at - SPAN.begin
    for one, other in zip(
        drawn_levels(seen, SPAN, levels=levels, memory=MEMORY, leads=[1, 2], draws=DRAWS),
        drawn_levels(changed, SPAN, levels=levels, memory=MEMORY, leads=[1, 2], draws=DRAWS),
        strict=True,
    ):
        assert (one[:, : place + 1] == other[:, : place + 1]).all()
        assert at == 19 or (one[:, place + 1] != other[:, place + 1]).any()
    assert (rates_over(seen, SPAN)[:, : place + 1] == rates_over(changed, SPAN)[:, : place + 1]).all()
    by_normal = [normal_levels(table, SPAN, level=0.95, leads=[1]) for table in (seen, changed)]
    assert (by_normal[0][:, : place + 1] == by_normal[1][:, : place + 1]).all()


def test_the_level_of_a_period_follows_from_the_service_before_it() -> None:
    def followed(table: np.ndarray) -> list[int]:
        world = World(demand=table, lead=np.ones(table.shape, dtype=np.int64), price=np.ones(len(table)))
        tables = [np.full(table.shape, 9.0 * level) for level in LEVELS]
        outcomes = [simulate(world, Rule(low=low, high=low)) for low in tables]
        return adapted_levels(0.9, LEVELS, outcomes, first=5, count=15)

    seen, changed = np.minimum(history(), 3), np.minimum(history(), 3)
    changed[:, 12:] = 0
    changed[:, 12::4] = 30
    assert followed(seen)[:8] == followed(changed)[:8]
    assert followed(seen)[8:] != followed(changed)[8:]


def test_rates_of_many_are_the_rates_of_each() -> None:
    table = history(5, materials=40)
    for row, rate in zip(table, forecast_rates(table), strict=True):
        one = forecast(row)
        assert rate == pytest.approx(one.rate if one else 0.0)


def test_fixed_levels_cover_the_lead_time_and_an_interval() -> None:
    known = np.array([[1.0, 0, 4, 2, 0, 3]])
    assert fixed_levels(known, Fixed(by="highest", factor=1, more=2), leads=[1])[0, 0] == 6 + 2  # 4 and 2 in two periods
    mean, spread = known.mean(), known.std(ddof=1)
    assert fixed_levels(known, Fixed(by="spread", factor=2, every=2), leads=[1])[0, 0] == np.ceil(3 * mean + 2 * spread * 3**0.5)


def test_a_replay_gives_the_same_table_twice_and_tells_its_setting() -> None:
    table = history(4, periods=18)
    setting = Setting(seed=9, leads=(1,), shelf=4)
    one, two = replay(table, np.ones(12), setting), replay(table, np.ones(12), setting)
    assert one.results == two.results
    assert [result.policy for result in one.results][:2] == ["This policy", "The same, freshness before the reorder point"]
    assert (one.materials, one.periods, one.half) == (12, 18, 9)
    assert replay(table, np.ones(12), Setting(seed=9, leads=(1,))).capped is None


def test_stock_value_is_in_money() -> None:
    table = history(4, periods=18)
    cheap, dear = (replay(table, np.full(12, price), Setting(seed=9)).ours.outcome for price in (1.0, 3.0))
    assert dear.stock_value == pytest.approx(3 * cheap.stock_value)
    assert dear.cycle_service == cheap.cycle_service


def test_a_short_history_is_refused() -> None:
    with pytest.raises(TooShortError, match="at least 16 periods, and the table has 15"):
        replay(history(periods=15), np.ones(12), Setting(seed=1))


@pytest.mark.parametrize(
    ("change", "words"),
    [({"leads": (-1,)}, "lead time"), ({"leads": ()}, "lead time"), ({"service": 1}, "target"), ({"shelf": 0}, "shelf")],
)
def test_a_setting_that_makes_no_sense_is_refused(change: dict[str, object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        Setting(seed=1, **change)  # type: ignore[arg-type]


def test_the_level_that_is_learnt_gives_the_target_where_the_target_itself_does_not() -> None:
    """Lumpy use, learnt on a year and tried on another: the quantile at 90 % gives less than 90 % of order cycles."""
    generator = np.random.default_rng(11)
    table = (generator.random((150, 156)) < 0.3) * generator.integers(1, 9, (150, 156)).astype(float)
    found = calibrate(table[:, :104], leads=[1] * 150, draws=DRAWS, lots=np.zeros(150))
    assert found.is_known
    level = found.level(0.9)
    assert level > 0.92

    def service(read_at: float) -> float:
        span = Span(begin=104, end=156)
        [low] = drawn_levels(table, span, levels=[read_at], memory=MEMORY, leads=[1], draws=DRAWS)
        world = World(demand=table[:, 104:], lead=np.ones((150, 52), dtype=np.int64), price=np.ones(150), whole=False)
        return simulate(world, Rule(low=low, high=low)).cycle_service

    assert service(level) == pytest.approx(0.9, abs=0.02)
    assert service(0.9) < 0.88


def test_where_little_is_known_the_quantile_is_read_at_the_target() -> None:
    short = calibrate(np.ones((5, 20)), leads=[1] * 5, draws=DRAWS, lots=np.zeros(5))
    assert (short.is_known, short.level(0.95)) == (False, 0.95)
    few = calibrate(np.eye(3, 60), leads=[1] * 3, draws=DRAWS, lots=np.zeros(3))
    assert (few.is_known, few.level(0.95)) == (False, 0.95)
