"""Means, quantiles, chances and shares of variance of the draws against closed forms of the same distributions."""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from math import erf, exp, hypot, log, sqrt

import pytest

from costing.core.estimate import estimate
from costing.core.facts import LabourClass, MaterialFacts, MaterialKind, Rates, StockUnit
from costing.core.result import Estimate
from costing.core.risk import Input, Risk, Shape, Uncertain, risk_of
from costing.core.system import Coat, Component, Driver, Operation, OperationKind, SpraySetup, SupplyLine, System, TimeLine
from costing.core.takeoff import GivenArea, Row, Takeoff
from tests.references.sources import Check, Known, check

Z90 = 1.2815515655446004  # standard normal, 0.9
DRAWS, SEED = 200_000, 20_260
HANDBOOK = "NIST/SEMATECH e-Handbook of Statistical Methods, section 1.3.6.6 (gallery of distributions)"
SUMS = "sum of independent normal variables is normal, variances add; NIST/SEMATECH e-Handbook, section 1.3.6.6.1"
PRODUCTS = (
    "product of independent lognormal variables is lognormal, log variances add; NIST/SEMATECH e-Handbook, section 1.3.6.6.9"
)
SHARES = "variance of a linear function of independent inputs; JCGM 100:2008 (GUM), section 5.1.2"
SPREAD = 0.2
SIGMA = log(1 + SPREAD) / Z90


def plain_job() -> Estimate:
    """10 m² at 6 of labour and 4 of material a m²: 100 in all, and a straight line in each of its inputs."""
    work = Operation(
        name="Work",
        kind=OperationKind.OTHER,
        labour_class="hand",
        time_lines=(TimeLine(minutes=6, driver=Driver.M2),),
        supply_lines=(SupplyLine(material="stuff", amount=0.4, driver=Driver.M2),),
    )
    stuff = MaterialFacts(key="stuff", name="Stuff", kind=MaterialKind.OTHER, unit=StockUnit.PIECE, price=Decimal(10))
    return estimate(
        takeoff=Takeoff(rows=(Row(shape=GivenArea(area=10)),)),
        system=System(name="Plain", operations=(work,)),
        materials={"stuff": stuff},
        rates=Rates(labour={"hand": LabourClass(key="hand", name="Hand", wage=Decimal(60))}),
    )


def coat_job() -> Estimate:
    """100 m² of a film without losses but overspray: cost = area × film × price / transfer efficiency, 100 in all."""
    setup = SpraySetup(name="Gun", transfer_efficiency=0.25, cup_capacity=1000, spray_rate=20)
    coat = Coat(components=(Component(material="clear", parts=1),), setup=setup, wet_film=25)
    clear = MaterialFacts(key="clear", name="Clear", kind=MaterialKind.COATING, unit=StockUnit.LITRE, price=Decimal(10))
    return estimate(
        takeoff=Takeoff(rows=(Row(shape=GivenArea(area=100)),)),
        system=System(name="Coat", operations=(Operation(name="Coat", kind=OperationKind.COAT, labour_class="hand", coat=coat),)),
        materials={"clear": clear},
        rates=Rates(labour={"hand": LabourClass(key="hand", name="Hand", wage=Decimal(0))}),
    )


def area(shape: Shape, spread: float = SPREAD) -> Input:
    return Input(kind=Uncertain.AREA, key="", words="area", spread=spread, shape=shape)


@cache
def of_area(shape: Shape) -> Risk:
    return risk_of(plain_job(), (area(shape),), draws=DRAWS, seed=SEED)


@cache
def of_sum() -> Risk:
    """Labour 60 ± 12 and material 40 ± 4 at the 90 % point."""
    inputs = (
        Input(kind=Uncertain.WORK, key="hand", words="work", spread=0.2, shape=Shape.NORMAL),
        Input(kind=Uncertain.PRICE, key="stuff", words="price", spread=0.1, shape=Shape.NORMAL),
    )
    return risk_of(plain_job(), inputs, draws=DRAWS, seed=SEED)


@cache
def of_product() -> Risk:
    inputs = (
        area(Shape.LOGNORMAL),
        Input(kind=Uncertain.FILM, key="0", words="film", spread=SPREAD),
        Input(kind=Uncertain.EFFICIENCY, key="Gun", words="efficiency", spread=SPREAD),
        Input(kind=Uncertain.PRICE, key="clear", words="price", spread=SPREAD),
    )
    return risk_of(coat_job(), inputs, draws=DRAWS, seed=SEED)


def deviation(risk: Risk) -> float:
    return float(risk.costs.std())


def share(risk: Risk, words: str) -> float:
    return next(one.share for one in risk.influences if one.words == words)


LOG, NORMAL, EVEN, PEAK = Shape.LOGNORMAL, Shape.NORMAL, Shape.UNIFORM, Shape.TRIANGULAR
HALF = SPREAD / (1 - sqrt(0.2))  # half the base of the triangle
SUM_SD = hypot(12, 4) / Z90
FOUR = 2 * SIGMA  # log deviation of a product of four
MEMORY = Known.MEMORY

# Tolerances are four standard errors of 200,000 draws or more.
CHECKS = [
    check("RK01", "median, lognormal area", 100, 0.2, HANDBOOK, MEMORY, lambda: of_area(LOG).p50),
    check("RK02", "P10, lognormal area, 100/1.2", 100 / 1.2, 0.25, HANDBOOK, MEMORY, lambda: of_area(LOG).p10),
    check("RK03", "P90, lognormal area, 100 × 1.2", 120, 0.35, HANDBOOK, MEMORY, lambda: of_area(LOG).p90),
    check("RK04", "mean, lognormal, 100 exp(s²/2)", 100 * exp(SIGMA**2 / 2), 0.15, HANDBOOK, MEMORY, lambda: of_area(LOG).mean),
    check("RK05", "mean, normal area", 100, 0.15, HANDBOOK, MEMORY, lambda: of_area(NORMAL).mean),
    check("RK06", "P10, normal area", 80, 0.3, HANDBOOK, MEMORY, lambda: of_area(NORMAL).p10),
    check("RK07", "deviation, normal, 20/z", 20 / Z90, 0.12, HANDBOOK, MEMORY, lambda: deviation(of_area(NORMAL))),
    check("RK08", "P90, uniform area 75 to 125", 120, 0.15, HANDBOOK, MEMORY, lambda: of_area(EVEN).p90),
    check("RK09", "P10, uniform area 75 to 125", 80, 0.15, HANDBOOK, MEMORY, lambda: of_area(EVEN).p10),
    check("RK10", "deviation, uniform, 50/√12", 50 / sqrt(12), 0.1, HANDBOOK, MEMORY, lambda: deviation(of_area(EVEN))),
    check("RK11", "P90, triangular area", 120, 0.2, HANDBOOK, MEMORY, lambda: of_area(PEAK).p90),
    check("RK12", "deviation, triangular, h/√6", 100 * HALF / sqrt(6), 0.1, HANDBOOK, MEMORY, lambda: deviation(of_area(PEAK))),
    check("RK13", "P90, sum of two normals", 100 + Z90 * SUM_SD, 0.2, SUMS, MEMORY, lambda: of_sum().p90),
    check("RK14", "P10, sum of two normals", 100 - Z90 * SUM_SD, 0.2, SUMS, MEMORY, lambda: of_sum().p10),
    check(
        "RK15", "chance that a sum of normals is above 105", (1 - erf(5 / SUM_SD / sqrt(2))) / 2, 0.005, SUMS, MEMORY,
        lambda: of_sum().chance_of_loss(105),
    ),
    check("RK16", "P90, product of four lognormals", 100 * exp(Z90 * FOUR), 0.9, PRODUCTS, MEMORY, lambda: of_product().p90),
    check("RK17", "P10, product of four lognormals", 100 * exp(-Z90 * FOUR), 0.5, PRODUCTS, MEMORY, lambda: of_product().p10),
    check("RK18", "mean, product of four lognormals", 100 * exp(FOUR**2 / 2), 0.35, PRODUCTS, MEMORY, lambda: of_product().mean),
    check("RK19", "share of variance, labour, 144/160", 0.9, 0.005, SHARES, MEMORY, lambda: share(of_sum(), "work")),
    check("RK20", "share of variance, price, 16/160", 0.1, 0.005, SHARES, MEMORY, lambda: share(of_sum(), "price")),
    check("RK21", "share of variance left over, a sum", 0, 0.005, SHARES, MEMORY, lambda: of_sum().unexplained),
]  # fmt: skip
REFERENCES = [entry.reference for entry in CHECKS]


@pytest.mark.parametrize("entry", CHECKS, ids=[entry.reference.id for entry in CHECKS])
def test_it_agrees_with_the_closed_form(entry: Check) -> None:
    entry.run()
