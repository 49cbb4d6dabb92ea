"""Replenishment arithmetic against published worked examples and independent library results."""

from __future__ import annotations

import math
from decimal import Decimal

import pytest
from scipy.stats import norm

from inventory.core.demand import Forecast, ForecastMethod
from inventory.core.facts import Policy, Supply
from inventory.core.normal import quantile
from inventory.core.packs import PackOffer, cheapest_packs
from inventory.core.points import ReorderPoint, normal_point
from inventory.core.quantity import economic_quantity

TEXTBOOK = "Snyder and Shen, Fundamentals of Supply Chain Theory, 2nd ed.; read in the library stockpyl's examples"
STOCK_THEORY = "r = μL + zσ√L, √(Lσ² + μ²σ_L²): textbook forms, computed with SciPy"


def point(*, mean: float, deviation: float, weeks: float, spread: float = 0, share: float, review: float = 0) -> ReorderPoint:
    """The normal form for a weekly demand and a lead time in weeks."""
    return normal_point(
        Forecast(rate=mean, deviation=deviation, method=ForecastMethod.ENTERED),
        Supply(lead_days=7 * weeks, lead_deviation=7 * spread),
        Policy(service_level=share, review_days=review),
    )


@pytest.mark.parametrize(
    ("order_cost", "holding", "demand", "quantity", "source"),
    [
        (8, 0.225, 1300, 304.0467800264368, f"{TEXTBOOK}, example 3.1"),
        (2250, 275, 182500, 1728.1098449935514, f"{TEXTBOOK}, problem 3.1"),
    ],
)
def test_economic_quantity(order_cost: float, holding: float, demand: float, quantity: float, source: str) -> None:
    found = economic_quantity(order_cost=order_cost, yearly_demand=demand, yearly_holding=holding)
    assert found == pytest.approx(quantity, rel=1e-12), source


def test_the_economic_quantity_costs_what_the_textbook_says() -> None:
    """68.41052550594829 a year: Snyder and Shen, example 3.1, read in stockpyl's examples."""
    quantity = economic_quantity(order_cost=8, yearly_demand=1300, yearly_holding=0.225)
    assert 8 * 1300 / quantity + 0.225 * quantity / 2 == pytest.approx(68.41052550594829, rel=1e-12)


@pytest.mark.parametrize(
    ("share", "z"),
    [
        (0.80, 0.841621234),
        (0.90, 1.281551566),
        (0.95, 1.644853627),
        (0.975, 1.959963985),
        (0.98, 2.053748911),
        (0.99, 2.326347874),
        (0.995, 2.575829304),
    ],
)
def test_normal_quantiles(share: float, z: float) -> None:
    """Standard normal quantiles, computed with SciPy; the familiar values of any statistical table."""
    assert quantile(share) == pytest.approx(z, abs=1e-8)
    assert quantile(share) == pytest.approx(norm.ppf(share), abs=1e-9)


@pytest.mark.parametrize(
    ("lead_deviation_weeks", "safety", "quantity"),
    [(0, 9.8691217617, 49.8691217617), (1, 1.644853627 * 11.6619037897, 59.1821247456)],
)
def test_reorder_point_for_95_percent_of_cycles(lead_deviation_weeks: float, safety: float, quantity: float) -> None:
    found = point(mean=10, deviation=3, weeks=4, spread=lead_deviation_weeks, share=0.95)
    assert found.quantity == pytest.approx(quantity, rel=1e-9), STOCK_THEORY
    assert found.safety == pytest.approx(safety, rel=1e-9), STOCK_THEORY


def test_safety_stock_of_a_single_period_is_the_newsvendor_spread() -> None:
    """S = 56.60395592743389 for μ 50, σ 8, critical ratio 0.70/0.88: Snyder and Shen, example 4.3, read in stockpyl."""
    found = point(mean=50, deviation=8, weeks=1, share=0.70 / (0.18 + 0.70))
    assert found.quantity == pytest.approx(56.60395592743389, rel=1e-9)


def test_base_stock_with_lead_time_4_protects_five_periods() -> None:
    """S = 264.7668943742: Snyder and Shen, example 4.4, read in stockpyl; protects lead time + review."""
    found = point(mean=50, deviation=8, weeks=4, share=0.70 / 0.88, review=7)
    assert found.quantity == pytest.approx(264.7668943742, rel=1e-9)


@pytest.mark.parametrize(("need", "cost"), [("9.5", 450), ("3.1", 174), ("4.6", 225), ("0.6", 52)])
def test_cheapest_packs(need: str, cost: int) -> None:
    """Packs of 0.25, 1 and 5 at 18, 52 and 225; computed with SciPy's mixed-integer solver."""
    packs = [
        PackOffer(key=i, supplier=1, content=Decimal(content), price=Decimal(price))
        for i, (content, price) in enumerate([("0.25", 18), ("1", 52), ("5", 225)])
    ]
    choice = cheapest_packs(packs, need=Decimal(need))
    assert choice is not None
    assert choice.cost == cost


def test_the_safety_stock_grows_with_the_root_of_the_protection_time() -> None:
    """σ√τ: independent weeks add in variance; textbook form, from memory."""
    one, four = (point(mean=10, deviation=3, weeks=weeks, share=0.95) for weeks in (1, 4))
    assert four.safety / one.safety == pytest.approx(math.sqrt(4))
