"""Drawn demand over the protection time against every possible sum, worked out one by one."""

from __future__ import annotations

import itertools
from collections import defaultdict

import numpy as np
import pytest

from inventory.core.bootstrap import Series, bootstrap_points, kin_of_series, protection_demand, upper_quantiles, usual_sizes
from inventory.core.draws import Draws

DRAWS = Draws(seed=4, count=20_000, half_life=None, borrowed=0)
WEEKS = (0.0, 3.0, 0.0, 1.0, 8.0, 0.0, 2.0)


def exact(weeks: tuple[float, ...], shares: list[float], times: dict[int, float]) -> dict[float, float]:
    """The chance of each sum of so many weeks, drawn with these shares; ``times`` holds the chance of each number of weeks."""
    found: dict[float, float] = defaultdict(float)
    for count, chance in times.items():
        for places in itertools.product(range(len(weeks)), repeat=count):
            found[sum(weeks[place] for place in places)] += chance * float(np.prod([shares[place] for place in places]))
    return found


@pytest.mark.parametrize(
    ("half_life", "lead_days", "times"),
    [
        (None, (7.0,), {2: 1.0}),
        (3.0, (7.0,), {2: 1.0}),
        (None, (0.0, 14.0), {1: 0.5, 3: 0.5}),
        (None, (10.5,), {2: 0.5, 3: 0.5}),  # half a week sees all of its use or none
    ],
)
def test_the_chances_agree(half_life: float | None, lead_days: tuple[float, ...], times: dict[int, float]) -> None:
    ages = range(len(WEEKS) - 1, -1, -1)
    heavy = [1.0 if half_life is None else 0.5 ** (age / half_life) for age in ages]
    expected = exact(WEEKS, [one / sum(heavy) for one in heavy], times)
    draws = Draws(seed=4, count=20_000, half_life=half_life, borrowed=0)
    drawn = protection_demand([Series(weeks=WEEKS, lead_days=lead_days, review_days=7)], draws)[0]
    for value in (0.0, 2.0, 4.0, 8.0, 11.0):
        chance = sum(share for total, share in expected.items() if total <= value)
        assert (drawn <= value).mean() == pytest.approx(chance, abs=0.015)


def test_a_line_does_not_depend_on_its_neighbours_but_for_what_it_borrows() -> None:
    one, other = Series(weeks=WEEKS, lead_days=(7.0,), review_days=7), Series(weeks=(5.0,) * 9, lead_days=(21.0,), review_days=7)
    alone = bootstrap_points([one], [0.95], DRAWS)
    assert bootstrap_points([other, one], [0.5, 0.95], DRAWS)[1] == alone[0]


def test_quantiles_are_the_least_that_so_many_do_not_pass() -> None:
    drawn = np.array([[5.0, 1, 4, 2, 3, 9, 7, 8, 6, 10]])
    assert upper_quantiles(drawn, [0.1, 0.5, 0.95]).T.tolist() == [[1, 5, 10]]


def test_too_thin_a_history_has_no_drawn_point() -> None:
    thin = Series(weeks=(0.0, 1.0, 2.0, 3.0), lead_days=(7.0,), review_days=7)
    assert bootstrap_points([thin], [0.9], DRAWS) == (None,)
    kin = kin_of_series([Series(weeks=(4.0,) * 20, lead_days=(7.0,), review_days=7)], DRAWS)
    assert bootstrap_points([thin], [0.9], Draws(seed=4, borrowed=2), kin=kin)[0] is not None


def test_a_usual_size_leans_on_the_others_as_far_as_they_are_alike() -> None:
    alike = np.array([[2.0, 3, 1, 0, 6, 2], [3.0, 1, 2, 5, 0, 2], [1.0, 0, 4, 3, 2, 1], [0.0, 0, 0, 6, 0, 0]])
    apart = np.array([[20.0, 30, 20, 0, 30, 20], [0.3, 0.2, 0.2, 0.3, 0, 0.2], [0.0, 0, 0, 6, 0, 0]])
    assert 2 < usual_sizes(alike)[3] < 4  # one week of 6 among many of 1 to 6
    assert usual_sizes(apart)[2] == pytest.approx(6, rel=0.1)
    assert usual_sizes(apart)[1] < 0.3
    assert usual_sizes(np.zeros((2, 4))).tolist() == [0, 0]
    by_unit = usual_sizes(apart, ["L", "pcs", "pcs"])
    assert by_unit[0] == pytest.approx(np.exp(np.log([20, 30, 20, 30, 20]).mean()))


@pytest.mark.parametrize(
    ("change", "words"),
    [({"count": 100}, "at least 2000"), ({"half_life": 0.0}, "half-life"), ({"borrowed": -1.0}, "borrowed")],
)
def test_draws_that_make_no_sense_are_refused(change: dict[str, float], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        Draws(seed=1, **change)  # type: ignore[arg-type]
