"""Many materials at once give what each gives by itself."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.core.simulate import Rule, World, simulate
from tests.inventory.replay.slow import slowly


@settings(max_examples=80, deadline=None)
@given(
    st.integers(0, 10_000),
    st.sampled_from([None, 1, 3, 5]),
    st.sampled_from([1, 2, 3]),
    st.booleans(),
    st.booleans(),
    st.booleans(),
)
def test_in_every_figure(seed: int, shelf: int | None, every: int, rated: bool, caps_all: bool, whole: bool) -> None:
    generator = np.random.default_rng(seed)
    shape = (6, 15)
    demand = generator.poisson(0.8, shape) * generator.integers(1, 4, shape)
    world = World(
        demand=demand.astype(float),
        lead=generator.integers(0, 4, shape),
        price=generator.integers(1, 9, 6).astype(float),
        shelf=shelf,
        whole=whole,
    )
    low = generator.integers(0, 7, shape).astype(float)
    rate = generator.random(shape) * 2 if rated else None
    rule = Rule(low=low, high=low + generator.random(shape) * 3, every=every, rate=rate, caps_all=caps_all)
    fast, slow = simulate(world, rule), slowly(world, rule)
    assert (fast.cycles, fast.cycles_short, fast.open_cycles) == (slow.cycles, slow.cycles_short, slow.open_cycles)
    assert (fast.periods_short, fast.orders) == (slow.periods_short, slow.orders)
    assert fast.waited == pytest.approx(slow.waited)
    assert fast.ordered == pytest.approx(slow.ordered)
    assert fast.stock_value * shape[1] == pytest.approx(slow.stock)
    assert fast.expired_value == pytest.approx(slow.expired)


def test_a_run_worked_by_hand() -> None:
    """Up to 2 whenever below 2, one period of lead: begins with 2; demands 1, 2, 0, 3."""
    world = World(demand=np.array([[1.0, 2, 0, 3]]), lead=np.ones((1, 4), dtype=np.int64), price=np.array([10.0]))
    two = np.full((1, 4), 2.0)
    found = simulate(world, Rule(low=two, high=two))
    # period 0: 1 left. 1: order 1, demand 2: 1 waits. 2: 1 comes and serves it, order 2. 3: 2 come, demand 3: 1 waits.
    assert (found.orders, found.waited, found.periods_short) == (2, 2, 2)
    assert (found.cycles, found.cycles_short, found.open_cycles) == (3, 2, 0)
    assert found.stock_value == 10 * (1 + 0 + 0 + 0) / 4
    assert found.fill_rate == pytest.approx(1 - 2 / 6)
    assert found.cycle_service == pytest.approx(1 / 3)


def test_what_is_past_its_shelf_life_is_gone() -> None:
    world = World(demand=np.zeros((1, 3)), lead=np.ones((1, 3), dtype=np.int64), price=np.array([1.0]), shelf=2)
    found = simulate(world, Rule(low=np.array([[2.0, 0, 0]]), high=np.full((1, 3), 2.0)))
    assert found.expired_value == 2


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"demand": np.array([[-1.0]])}, "0 or more"),
        ({"demand": np.array([[np.nan]])}, "0 or more"),
        ({"lead": np.array([[-1]])}, "lead time"),
        ({"shelf": 0}, "shelf life"),
        ({"price": np.ones(2)}, "same materials"),
    ],
)
def test_a_world_that_makes_no_sense_is_refused(change: dict[str, object], words: str) -> None:
    given = {"demand": np.array([[1.0]]), "lead": np.array([[1]]), "price": np.ones(1), **change}
    with pytest.raises(ValueError, match=words):
        World(**given)  # type: ignore[arg-type]
