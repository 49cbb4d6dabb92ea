"""Stock that goes out of date against published results: how much to buy, and how much is lost."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy.stats import poisson

from inventory.core.quantity import economic_quantity, expected_short, expected_to_spoil, fresh_cap
from inventory.core.simulate import Outcome, Rule, World, simulate
from tests.references.sources import Check, Known, check

NAHMIAS = "S. Nahmias, Perishable Inventory Systems (2011): Q = min(EOQ, λm)"
CHAZAN = "D. Chazan and S. Gal, Management Science 23 (1977): bounds on outdates of order-up-to with first in, first out"
YEARS_IN_WEEKS = 365 / 7


def eoq(order_cost: float, holding: float, demand: float) -> float:
    return economic_quantity(order_cost=order_cost, yearly_demand=demand, yearly_holding=holding)


@cache
def outdated(most: int, life: int) -> Outcome:
    """Up to ``most`` every period, no lead time, Poisson demand of 4, first in first out, in 200 runs of 1,000 periods."""
    demand = np.random.default_rng(20).poisson(4, (200, 1_000)).astype(float)
    level = np.full(demand.shape, float(most))
    lead = np.zeros(demand.shape, dtype=np.int64)
    return simulate(World(demand=demand, lead=lead, price=np.ones(200), shelf=life), Rule(low=level, high=level))


@pytest.mark.parametrize(("most", "life"), [(12, 3), (15, 3), (20, 4)])
def test_outdates_lie_between_the_published_bounds(most: int, life: int) -> None:
    """Between E(S − D_m)⁺/m and E(S/m − D)⁺; Chazan and Gal (1977), from memory; the expectations are SciPy's."""
    found = outdated(most, life).expired_value / (200 * 1_000)
    counts = np.arange(400)
    low = float(np.maximum(most - counts, 0) @ poisson.pmf(counts, 4 * life)) / life
    high = float(np.maximum(most / life - counts, 0) @ poisson.pmf(counts, 4))
    assert low < found < high


CHECKS: tuple[Check, ...] = (
    check(
        "RPL-28",
        "quantity with a life of 60 days",
        213.6986301370,
        1e-7,
        NAHMIAS,
        Known.MEMORY,
        lambda: min(eoq(8, 0.225, 1300), fresh_cap(weekly=1300 / YEARS_IN_WEEKS, fresh_weeks=60 / 7, freshness=1, usable=0)),
    ),
    check(
        "RPL-29",
        "quantity with a life of 90 days",
        304.0467800264,
        1e-7,
        NAHMIAS,
        Known.MEMORY,
        lambda: min(eoq(8, 0.225, 1300), fresh_cap(weekly=1300 / YEARS_IN_WEEKS, fresh_weeks=90 / 7, freshness=1, usable=0)),
    ),
    check(
        "RPL-30",
        "expected outdate, Q 60, demand in its life N(50, 8²)",
        10.4046949464,
        1e-9,
        "E(Q − D)⁺ = σ(φ(z) + zΦ(z)), textbook form",
        Known.RELATION,
        lambda: expected_to_spoil(60, usable=0, weekly=50, deviation=8, fresh_weeks=1),
    ),
    check(
        "RPL-31",
        "expected short of the same",
        0.4046949464,
        1e-9,
        "E(D − Q)⁺ = σ L(z), textbook form",
        Known.RELATION,
        lambda: expected_short(60, mean=50, deviation=8),
    ),
    check(
        "RPL-32",
        "outdates a period, up to 12, life 3, Poisson 4",
        0.6169,
        0.01,
        f"{CHAZAN}; an own simulation of 400,000 periods, written apart from this program",
        Known.RELATION,
        lambda: outdated(12, 3).expired_value / 200_000,
    ),
)
REFERENCES = tuple(one.reference for one in CHECKS)


@pytest.mark.parametrize("one", CHECKS, ids=[one.reference.id for one in CHECKS])
def test_perishable_stock(one: Check) -> None:
    one.run()
