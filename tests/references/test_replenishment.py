"""Replenishment arithmetic against published worked examples and independent libraries.

Each value is asked of the program, and, where the library stockpyl or SciPy can compute it, of that as well.
"""

from __future__ import annotations

import math
from decimal import Decimal
from functools import cache
from statistics import NormalDist

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.stats import norm
from stockpyl.eoq import economic_order_quantity, economic_order_quantity_with_all_units_discounts
from stockpyl.newsvendor import newsvendor_normal, newsvendor_normal_cost
from stockpyl.rq import r_q_cost, r_q_eoqss_approximation

from inventory.core.demand import Forecast, ForecastMethod
from inventory.core.facts import Policy, Supply
from inventory.core.normal import quantile
from inventory.core.packs import Costs, PackChoice, PackCount, PackOffer, PriceBreak, cheapest_packs, priced
from inventory.core.points import ReorderPoint, normal_point
from inventory.core.quantity import economic_quantity, expected_left, expected_short, normal_loss
from tests.references.sources import Check, Known, check

BOOK = "Snyder and Shen, Fundamentals of Supply Chain Theory, 2nd ed."
IN_LIBRARY = "as the library stockpyl reprints it in its examples"
STOCK_FORMS = "textbook forms r = μL + zσ√L and √(Lσ² + μ²σ_L²)"
YEARS_IN_WEEKS = 365 / 7


def point(*, mean: float, deviation: float, weeks: float, spread: float = 0, share: float, review: float = 0) -> ReorderPoint:
    """The normal form for a demand and a lead time in the same unit of time."""
    return normal_point(
        Forecast(rate=mean, deviation=deviation, method=ForecastMethod.ENTERED),
        Supply(lead_days=7 * weeks, lead_deviation=7 * spread),
        Policy(service_level=share, review_days=7 * review),
    )


def eoq(order_cost: float, holding: float, demand: float) -> float:
    return economic_quantity(order_cost=order_cost, yearly_demand=demand, yearly_holding=holding)


def yearly_cost(order_cost: float, holding: float, demand: float, quantity: float) -> float:
    return order_cost * demand / quantity + holding * quantity / 2


# ------------------------------------------------------------------ quantity discounts

DISCOUNTS = {
    "Ex 3.6": (8.0, 0.3, 1300.0, (0, 400, 800), (0.75, 0.72, 0.68), 800, 978.60),
    "Pr 3.12a": (2250.0, 0.25, 182500.0, (0, 1200, 2400), (1490.0, 1220.0, 1100.0), 2400, 201251093.75),
    "docstring": (200.0, 0.2, 1000.0, (0, 200, 500), (500.0, 475.0, 450.0), 500, 472900.0),
}


@cache
def bought(name: str, count: int) -> PackChoice:
    """So many packs of one unit each, with delivery and holding, at the all-units prices of an example."""
    order_cost, rate, demand, starts, prices, _, _ = DISCOUNTS[name]
    breaks = tuple(
        PriceBreak(packs=start, price=Decimal(str(price))) for start, price in zip(starts[1:], prices[1:], strict=True)
    )
    offer = PackOffer(key=1, supplier=1, content=Decimal(1), price=Decimal(str(prices[0])), breaks=breaks)
    costs = Costs(delivery={1: Decimal(str(order_cost))}, holding_rate=rate, weekly=demand / YEARS_IN_WEEKS)
    return priced((PackCount(pack=offer, count=count),), costs)


def discount_cost(name: str, count: int) -> float:
    """A year's cost when so many are bought each time: the purchase's whole cost by the unit, times the year's demand."""
    return float(bought(name, count).total) / count * DISCOUNTS[name][2]


@pytest.mark.parametrize("name", DISCOUNTS)
def test_no_quantity_costs_less_by_the_unit_than_the_textbooks(name: str) -> None:
    order_cost, rate, demand, starts, prices, best, cost = DISCOUNTS[name]
    found = economic_order_quantity_with_all_units_discounts(order_cost, rate, demand, list(starts), list(prices))
    assert found[0] == pytest.approx(best)
    assert found[2] == pytest.approx(cost)
    some = range(max(best // 20, 1), int(min(demand, 3 * best)), max(best // 40, 1))
    counts = {*starts[1:], *(start - 1 for start in starts[1:]), *some}
    assert min(counts, key=lambda count: discount_cost(name, count)) == best


# ---------------------------------------------------------- reorder point and quantity

RQ = {"h": 0.225, "p": 7.5, "K": 8.0, "demand": 1300.0, "sd": 150.0, "lead": 1 / 12}


def rq_cost(r: float, quantity: float) -> float:
    """The expected cost of a year under (r, Q): K λ / Q and the mean of h E(y − D)⁺ + p E(D − y)⁺ over y from r to r + Q."""
    mean, spread = RQ["demand"] * RQ["lead"], RQ["sd"] * math.sqrt(RQ["lead"])

    def rate(y: float) -> float:
        left, short = (of(y, mean=mean, deviation=spread) for of in (expected_left, expected_short))
        return RQ["h"] * left + RQ["p"] * short

    area, _ = quad(rate, r, r + quantity)
    return (RQ["K"] * RQ["demand"] + area) / quantity


def rq_point() -> float:
    share = RQ["p"] / (RQ["p"] + RQ["h"])
    return point(mean=RQ["demand"], deviation=RQ["sd"], weeks=RQ["lead"], share=share).quantity


def test_the_library_agrees_on_the_r_q_example() -> None:
    given = (RQ["h"], RQ["p"], RQ["K"], RQ["demand"], RQ["sd"], RQ["lead"])
    r, quantity = r_q_eoqss_approximation(*given)
    assert rq_point() == pytest.approx(r, rel=1e-9)
    assert eoq(8, 0.225, 1300) == pytest.approx(quantity, rel=1e-12)
    for place in (126.8, r):
        assert rq_cost(place, 328.5) == pytest.approx(r_q_cost(place, 328.5, *given), rel=1e-7)


# ------------------------------------------------------------------- newsvendor


def newsvendor_cost(quantity: float, holding: float, penalty: float, mean: float, deviation: float) -> float:
    left = expected_left(quantity, mean=mean, deviation=deviation)
    return holding * left + penalty * expected_short(quantity, mean=mean, deviation=deviation)


@pytest.mark.parametrize(("h", "p", "mean", "deviation"), [(0.18, 0.70, 50, 8), (43, 79, 900, 60), (1, 19, 10, 3)])
def test_the_library_agrees_on_newsvendors(h: float, p: float, mean: float, deviation: float) -> None:
    best, cost = newsvendor_normal(h, p, mean, deviation)
    assert point(mean=mean, deviation=deviation, weeks=1, share=p / (p + h)).quantity == pytest.approx(best, rel=1e-9)
    assert newsvendor_cost(best, h, p, mean, deviation) == pytest.approx(cost, rel=1e-9)
    other = mean + 1.7 * deviation
    assert newsvendor_cost(other, h, p, mean, deviation) == pytest.approx(
        newsvendor_normal_cost(other, h, p, mean, deviation), rel=1e-9
    )


# --------------------------------------------------------------------------- table

CHECKS: tuple[Check, ...] = (
    check(
        "RPL-1",
        "EOQ, K 8, h 0.225, λ 1300",
        304.0467800264368,
        1e-9,
        f"{BOOK}, example 3.1, {IN_LIBRARY}",
        Known.REPRINT,
        lambda: eoq(8, 0.225, 1300),
    ),
    check(
        "RPL-2",
        "its cost in a year",
        68.41052550594829,
        1e-9,
        f"{BOOK}, example 3.1, {IN_LIBRARY}",
        Known.REPRINT,
        lambda: yearly_cost(8, 0.225, 1300, eoq(8, 0.225, 1300)),
    ),
    check(
        "RPL-3",
        "EOQ, K 2250, h 275, λ 182500",
        1728.1098449935514,
        1e-8,
        f"{BOOK}, problem 3.1, {IN_LIBRARY}",
        Known.REPRINT,
        lambda: eoq(2250, 275, 182500),
    ),
    check(
        "RPL-4",
        "all-units discount, Q 800, cost in a year",
        978.60,
        1e-3,
        f"{BOOK}, example 3.6, {IN_LIBRARY}",
        Known.REPRINT,
        lambda: discount_cost("Ex 3.6", 800),
    ),
    check(
        "RPL-5",
        "all-units discount, Q 2400, cost in a year",
        201251093.75,
        1.0,
        f"{BOOK}, problem 3.12(a), {IN_LIBRARY}",
        Known.REPRINT,
        lambda: discount_cost("Pr 3.12a", 2400),
    ),
    check(
        "RPL-6",
        "all-units discount, Q 500, cost in a year",
        472900,
        0.01,
        "stockpyl 1.0.2, docstring of its all-units discounts",
        Known.READ,
        lambda: discount_cost("docstring", 500),
    ),
    check(
        "RPL-7",
        "newsvendor, h 0.18, p 0.70, N(50, 8²)",
        56.60395592743389,
        1e-8,
        f"{BOOK}, example 4.3, {IN_LIBRARY}",
        Known.REPRINT,
        lambda: point(mean=50, deviation=8, weeks=1, share=0.70 / 0.88).quantity,
    ),
    check(
        "RPL-8",
        "its expected cost",
        1.9976051931766,
        1e-8,
        f"{BOOK}, example 4.3, {IN_LIBRARY}",
        Known.REPRINT,
        lambda: newsvendor_cost(56.60395592743389, 0.18, 0.70, 50, 8),
    ),
    check(
        "RPL-9",
        "its expected cost at S 60",
        2.156131552870387,
        1e-9,
        f"{BOOK}, example 4.1, {IN_LIBRARY}",
        Known.REPRINT,
        lambda: newsvendor_cost(60, 0.18, 0.70, 50, 8),
    ),
    check(
        "RPL-10",
        "newsvendor, h 43, p 79, N(900, 60²)",
        922.7214038235,
        1e-7,
        f"{BOOK}, problem 4.1: inputs; computed with stockpyl 1.0.2",
        Known.RELATION,
        lambda: point(mean=900, deviation=60, weeks=1, share=79 / 122).quantity,
    ),
    check(
        "RPL-11",
        "base stock, lead time 4: protects five periods",
        264.7668943742,
        1e-7,
        f"{BOOK}, example 4.4: inputs; computed with stockpyl 1.0.2",
        Known.RELATION,
        lambda: point(mean=50, deviation=8, weeks=4, review=1, share=0.70 / 0.88).quantity,
    ),
    check(
        "RPL-12",
        "(r, Q) exact cost at r 126.8, Q 328.5",
        78.07116250928294,
        1e-6,
        f"{BOOK}, example 5.1, {IN_LIBRARY}",
        Known.REPRINT,
        lambda: rq_cost(126.8, 328.5),
    ),
    check(
        "RPL-13",
        "(r, Q) by EOQ and safety stock: r",
        190.3369965716,
        1e-6,
        f"{BOOK}, example 5.5, {IN_LIBRARY}",
        Known.REPRINT,
        rq_point,
    ),
    check(
        "RPL-14",
        "reorder point 95 % of cycles, 10 ± 3 a week, 4 weeks",
        49.8691217617,
        1e-8,
        STOCK_FORMS,
        Known.RELATION,
        lambda: point(mean=10, deviation=3, weeks=4, share=0.95).quantity,
    ),
    check(
        "RPL-15",
        "its safety stock",
        9.8691217617,
        1e-8,
        STOCK_FORMS,
        Known.RELATION,
        lambda: point(mean=10, deviation=3, weeks=4, share=0.95).safety,
    ),
    check(
        "RPL-16",
        "the same, lead time ± 1 week",
        59.1821247456,
        1e-7,
        STOCK_FORMS,
        Known.RELATION,
        lambda: point(mean=10, deviation=3, weeks=4, spread=1, share=0.95).quantity,
    ),
    check(
        "RPL-17",
        "fill rate of RPL-14 with Q 60: 1 − σ_L L(z)/Q",
        0.9979107041,
        1e-8,
        "textbook form; L computed with SciPy 1.17.1",
        Known.RELATION,
        lambda: 1 - 6 * normal_loss(quantile(0.95)) / 60,
    ),
    *(
        check(
            f"RPL-18-{share}",
            f"standard normal quantile at {share}",
            z,
            1e-8,
            "scipy.stats.norm.ppf of SciPy 1.17.1; the values of any statistical table",
            Known.RELATION,
            lambda share=share: quantile(share),
        )
        for share, z in (
            (0.80, 0.841621234),
            (0.90, 1.281551566),
            (0.95, 1.644853627),
            (0.975, 1.959963985),
            (0.98, 2.053748911),
            (0.99, 2.326347874),
            (0.995, 2.575829304),
        )
    ),
    *(
        check(
            f"RPL-19-{z}",
            f"standard normal loss at {z}",
            loss,
            1e-8,
            "φ(z) − z (1 − Φ(z)), computed with SciPy 1.17.1",
            Known.RELATION,
            lambda z=z: normal_loss(z),
        )
        for z, loss in (
            (0.0, 0.3989422804),
            (0.5, 0.1977965574),
            (1.0, 0.0833154706),
            (1.3, 0.0455279621),
            (2.0, 0.0084907026),
            (3.0, 0.0003821543),
            (-1.0, 1.0833154706),
        )
    ),
    *(
        check(
            f"RPL-33-{need}",
            f"cheapest packs of 0.25, 1 and 5 at 18, 52 and 225 for {need}",
            cost,
            0,
            "scipy.optimize.milp of SciPy 1.17.1, all counts whole",
            Known.RELATION,
            lambda need=need: cheapest(need),
        )
        for need, cost in (("9.5", 450), ("3.1", 174), ("4.6", 225), ("0.6", 52))
    ),
)
REFERENCES = tuple(one.reference for one in CHECKS)


def cheapest(need: str) -> Decimal:
    """Purchase price of the chosen packs, which an integer program confirms."""
    contents, prices = ["0.25", "1", "5"], [18, 52, 225]
    offers = [
        PackOffer(key=key, supplier=1, content=Decimal(content), price=Decimal(price))
        for key, (content, price) in enumerate(zip(contents, prices, strict=True))
    ]
    choice = cheapest_packs(offers, need=Decimal(need))
    assert choice is not None
    program = milp(
        c=np.array(prices, float),
        constraints=LinearConstraint(np.array([[float(content) for content in contents]]), lb=float(need)),
        integrality=np.ones(3),
        bounds=Bounds(0, np.inf),
    )
    assert float(choice.cost) == pytest.approx(program.fun)
    return choice.cost


@pytest.mark.parametrize("one", CHECKS, ids=[one.reference.id for one in CHECKS])
def test_replenishment(one: Check) -> None:
    one.run()


@pytest.mark.parametrize("share", [0.001, 0.05, 0.3, 0.5, 0.842, 0.95, 0.999, 0.999999])
def test_quantiles_agree_with_scipy_and_the_standard_library(share: float) -> None:
    assert quantile(share) == pytest.approx(norm.ppf(share), abs=1e-9)
    assert quantile(share) == pytest.approx(NormalDist().inv_cdf(share), abs=1e-12)
    z = quantile(share)
    assert normal_loss(z) == pytest.approx(norm.pdf(z) - z * norm.sf(z), abs=1e-12)


@pytest.mark.parametrize(("order_cost", "holding", "demand"), [(8, 0.225, 1300), (2250, 275, 182500), (40, 9, 104)])
def test_the_library_agrees_on_economic_quantities(order_cost: float, holding: float, demand: float) -> None:
    quantity, cost = economic_order_quantity(order_cost, holding, demand)
    assert eoq(order_cost, holding, demand) == pytest.approx(quantity, rel=1e-12)
    assert yearly_cost(order_cost, holding, demand, quantity) == pytest.approx(cost, rel=1e-12)


def test_the_safety_stock_grows_with_the_root_of_the_protection_time() -> None:
    """σ√τ: independent weeks add in variance; textbook form, from memory."""
    one, four = (point(mean=10, deviation=3, weeks=weeks, share=0.95) for weeks in (1, 4))
    assert four.safety / one.safety == pytest.approx(math.sqrt(4))
