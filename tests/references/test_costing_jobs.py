"""Whole estimates and prices against published and worked values: cost per area, overhead, markup, a clear-coat job."""

from __future__ import annotations

from decimal import Decimal
from functools import cache

import pytest

from costing.core.estimate import estimate
from costing.core.facts import LabourClass, MaterialFacts, MaterialKind, Rates, StockUnit
from costing.core.film import film_cost_per_m2, spreading_rate, thinned_volume_solids
from costing.core.pricing import (
    PriceBasis,
    PriceTerms,
    margin_of_markup,
    markup_of_margin,
    predetermined_rate,
    price,
)
from costing.core.result import Estimate
from costing.core.system import (
    Coat,
    Component,
    CostGroup,
    Driver,
    Operation,
    OperationKind,
    SpraySetup,
    SupplyLine,
    System,
    TimeLine,
)
from costing.core.takeoff import GivenArea, Row, Takeoff
from tests.references.sources import Check, Known, check
from tests.references.us_units import GALLON_DECIMAL, MIL, SQUARE_FOOT, SQUARE_FOOT_DECIMAL

ARTICLE = "Estimating article, PaintPRO, paintpro.net, PP504"
OPENSTAX = "OpenStax, Principles of Accounting, vol. 2: Managerial Accounting"
RATES_SECTION = f"{OPENSTAX}, section 4.4"
MARKUP_SECTION = f"{OPENSTAX}, section 9.4"
CLEAR_JOB = "constructed job; relations of MIL-HDBK-1110 2.1.5, ISO 3233-3:2015 and 40 CFR 59.104(a)(1)"
TWO_PART = "constructed 4 : 1 mix; relations of MIL-HDBK-1110 2.1.5 and ISO 3233-3:2015"
ALGEBRA = "algebra of share of price and share of cost: g = m/(1 + m), m = g/(1 − g)"
NO_LOSS = SpraySetup(transfer_efficiency=1, cup_capacity=1000, spray_rate=20)


def liquid(key: str, per_litre: str, kind: MaterialKind = MaterialKind.COATING, **more: float) -> MaterialFacts:
    return MaterialFacts(
        key=key,
        name=key,
        kind=kind,
        unit=StockUnit.LITRE,
        price=Decimal(per_litre),
        **more,  # type: ignore[arg-type]
    )


def rates(wage: str = "0", overhead: str = "0") -> Rates:
    worker = LabourClass(key="worker", name="Worker", wage=Decimal(wage))
    return Rates(labour={"worker": worker}, overhead_rate=Decimal(overhead))


def coat_estimate(coat: Coat, area: float, *facts: MaterialFacts, times: int = 1) -> Estimate:
    """Only the material of a coat, laid on so many times."""
    spray = Operation(name="Coat", kind=OperationKind.COAT, labour_class="worker", coat=coat)
    return estimate(
        takeoff=Takeoff(rows=(Row(shape=GivenArea(area=area)),)),
        system=System(name="Coats", operations=(spray,) * times),
        materials={fact.key: fact for fact in facts},
        rates=rates(),
    )


def per_square_foot(per_gallon: str, volume_solids: float, mils: float) -> Decimal:
    """Film cost per ft² through a whole estimate of one square foot: bought by the gallon, sprayed without loss."""
    facts = liquid("coating", str(Decimal(per_gallon) / GALLON_DECIMAL), volume_solids=volume_solids)
    coat = Coat(components=(Component(material="coating", parts=1),), setup=NO_LOSS, dry_film=mils * MIL)
    return coat_estimate(coat, SQUARE_FOOT, facts).groups[CostGroup.FILM]


@cache
def clear_job() -> Estimate:
    """12.4 m², two coats of 30 µm dry at 32 %, thinned 10 %, TE 0.65; 5 % waste on top, here as a yield of 1/1.05."""
    coating = liquid("coating", "14.80", volume_solids=32, voc=620, yield_fraction=1 / 1.05)
    thinner = liquid("thinner", "6.20", MaterialKind.THINNER, voc=870, yield_fraction=1 / 1.05)
    coat = Coat(
        components=(Component(material="coating", parts=1),),
        setup=SpraySetup(transfer_efficiency=0.65, cup_capacity=1000, spray_rate=20),
        dry_film=30,
        thinner="thinner",
        thinning=10,
    )
    return coat_estimate(coat, 12.4, coating, thinner, times=2)


def drawn(key: str) -> float:
    return next(use.drawn_litres for use in clear_job().material_uses if use.material.key == key)


def spent(key: str) -> Decimal:
    return next(use.cost for use in clear_job().material_uses if use.material.key == key)


@cache
def two_part(thinning: float) -> Estimate:
    """10 m² at 50 µm dry of 45 % and 60 % at 4 : 1, TE 1."""
    mix = (Component(material="a", parts=4), Component(material="b", parts=1))
    coat = Coat(components=mix, setup=NO_LOSS, dry_film=50, thinner="thinner", thinning=thinning)
    return coat_estimate(
        coat,
        10,
        liquid("a", "0", volume_solids=45),
        liquid("b", "0", MaterialKind.HARDENER, volume_solids=60),
        liquid("thinner", "0", MaterialKind.THINNER),
    )


def mixed(thinning: float) -> float:
    return sum(use.mixed_litres for use in two_part(thinning).material_uses)


def ticket(material: str) -> float:
    """Litres of a component in 3.3 L of 4 : 1 thinned by 10 %: 30 m² at 110 µm wet, no loss."""
    mix = (Component(material="a", parts=4), Component(material="b", parts=1))
    coat = Coat(components=mix, setup=NO_LOSS, wet_film=110, thinner="thinner", thinning=10)
    result = coat_estimate(
        coat, 30, liquid("a", "0"), liquid("b", "0", MaterialKind.HARDENER), liquid("thinner", "0", MaterialKind.THINNER)
    )
    volumes = result.operations[0].coat
    assert volumes is not None
    return next(part.mixed for part in volumes.components if part.material == material)


def job(*, material: str, wage: str, hours: float, overhead: str) -> Estimate:
    """Materials of a given amount, and hours of one class, as one operation without a coat; hours as ten-hour pieces."""
    facts = MaterialFacts(key="m", name="Material", kind=MaterialKind.OTHER, unit=StockUnit.PIECE, price=Decimal(material))
    work = Operation(
        name="Work",
        kind=OperationKind.OTHER,
        labour_class="worker",
        time_lines=(TimeLine(minutes=600, driver=Driver.PIECE),),
        supply_lines=(SupplyLine(material="m", amount=1),),
    )
    return estimate(
        takeoff=Takeoff(rows=(Row(shape=GivenArea(area=1), pieces=round(hours / 10)),)),
        system=System(name="Job", operations=(work,)),
        materials={"m": facts},
        rates=rates(wage, overhead),
    )


@cache
def book_job() -> Estimate:
    """Materials 700, labour 66 (10 h at 6.60), overhead 2.50 per labour dollar."""
    return job(material="700", wage="6.60", hours=10, overhead="2.5")


def cost_plus(cost: str, markup: str) -> Decimal:
    return price(Decimal(cost), PriceTerms(basis=PriceBasis.MARKUP, rate=Decimal(markup))).net


CHECKS: list[Check] = [
    check("C62a", "L of A in 3.3 L of 4 : 1 thinned by 10 % of A + B", 2.4, 1e-6, TWO_PART, Known.RELATION, lambda: ticket("a")),
    check("C62b", "L of B in it", 0.6, 1e-6, TWO_PART, Known.RELATION, lambda: ticket("b")),
    check("C62c", "L of thinner in it", 0.3, 1e-6, TWO_PART, Known.RELATION, lambda: ticket("thinner")),
    check(
        "C115",
        "cost per ft², 43.50 a gal, 46 %, 2.5 mil",
        0.1474,
        0.001,
        f"{ARTICLE}, printed .14, cut off",
        Known.READ,
        lambda: per_square_foot("43.50", 46, 2.5),
    ),
    check(
        "C116",
        "cost per ft², 44.75 a gal, 56 %, 2.5 mil",
        0.1245,
        0.001,
        f"{ARTICLE}, printed .12",
        Known.READ,
        lambda: per_square_foot("44.75", 56, 2.5),
    ),
    check(
        "C117a",
        "the first per m² at 63.5 µm",
        1.586,
        0.002,
        f"{ARTICLE}, in metric",
        Known.RELATION,
        lambda: film_cost_per_m2(Decimal("43.50") / GALLON_DECIMAL, 46, 63.5),
    ),
    check(
        "C117b",
        "the second per m²: the dearer can is the cheaper film",
        1.340,
        0.002,
        f"{ARTICLE}, in metric",
        Known.RELATION,
        lambda: per_square_foot("44.75", 56, 2.5) / SQUARE_FOOT_DECIMAL,
    ),
    check("W1a", "wet film, µm", 103.125, 0.0005, CLEAR_JOB, Known.RELATION, lambda: clear_wet_film()),
    check(
        "W1b",
        "L of coating at TE 1",
        2.3250,
        0.0005,
        CLEAR_JOB,
        Known.RELATION,
        lambda: next(use.film_litres for use in clear_job().material_uses if use.material.key == "coating"),
    ),
    check("W1c", "L of coating issued", 3.7558, 0.0005, CLEAR_JOB, Known.RELATION, lambda: drawn("coating")),
    check("W1d", "L of thinner issued", 0.3756, 0.0005, CLEAR_JOB, Known.RELATION, lambda: drawn("thinner")),
    check("W1e", "cost of the coating", 55.585, 0.005, CLEAR_JOB, Known.RELATION, lambda: spent("coating")),
    check("W1f", "cost of the thinner", 2.329, 0.005, CLEAR_JOB, Known.RELATION, lambda: spent("thinner")),
    check("W1g", "cost of the job", 57.914, 0.005, CLEAR_JOB, Known.RELATION, lambda: clear_job().true_cost),
    check("W1h", "cost per m²", 4.670, 0.005, CLEAR_JOB, Known.RELATION, lambda: clear_job().cost_per_m2 or 0),
    check("W1i", "kg of VOC", 2.6553, 0.0005, CLEAR_JOB, Known.RELATION, lambda: clear_job().voc_kg),
    check(
        "W1j",
        "kg of VOC per m²",
        0.2141,
        0.0005,
        CLEAR_JOB,
        Known.RELATION,
        lambda: clear_job().voc_kg / clear_job().takeoff.area,
    ),
    check(
        "W5a",
        "volume solids of the mix, thinned 10 %",
        43.64,
        0.005,
        TWO_PART,
        Known.RELATION,
        lambda: thinned_volume_solids(mix_solids(), 10),
    ),
    check(
        "W5b",
        "m²/L of thinned mix at 50 µm",
        8.727,
        0.001,
        TWO_PART,
        Known.RELATION,
        lambda: spreading_rate(thinned_volume_solids(mix_solids(), 10), 50),
    ),
    check(
        "W5c", "m²/L of unthinned mix at 50 µm", 9.600, 0.001, TWO_PART, Known.RELATION, lambda: spreading_rate(mix_solids(), 50)
    ),
    check("W5d", "L of unthinned mix for 10 m²", 1.0417, 0.001, TWO_PART, Known.RELATION, lambda: mixed(0)),
    check("W5e", "L of thinned mix for 10 m²", 1.1458, 0.001, TWO_PART, Known.RELATION, lambda: mixed(10)),
    check(
        "J14",
        "overhead 250,000 over labour 100,000",
        Decimal("2.50"),
        0,
        f"{RATES_SECTION}, printed 2.50",
        Known.READ,
        lambda: predetermined_rate(Decimal(250_000), Decimal(100_000)),
    ),
    check(
        "J15a",
        "overhead applied to labour of 66",
        Decimal(165),
        0,
        f"{RATES_SECTION}, printed 165",
        Known.READ,
        lambda: book_job().groups[CostGroup.OVERHEAD],
    ),
    check(
        "J15b",
        "the whole job: 700 + 66 + 165",
        Decimal(931),
        0,
        f"{RATES_SECTION}, printed 931",
        Known.READ,
        lambda: book_job().true_cost,
    ),
    check(
        "J17",
        "applied for 6,240 h at 33.50 an hour",
        Decimal(209_040),
        0,
        f"{OPENSTAX}, section 4.6, printed 209,040",
        Known.READ,
        lambda: job(material="0", wage="33.50", hours=6240, overhead="1").groups[CostGroup.OVERHEAD],
    ),
    check(
        "J18a",
        "750,000 over 60,000 h",
        Decimal("12.50"),
        0,
        f"{RATES_SECTION}, data printed",
        Known.RELATION,
        lambda: predetermined_rate(Decimal(750_000), Decimal(60_000)),
    ),
    check(
        "J18b",
        "750,000 over labour of 1,500,000",
        Decimal("0.50"),
        0,
        f"{RATES_SECTION}, data printed",
        Known.RELATION,
        lambda: predetermined_rate(Decimal(750_000), Decimal(1_500_000)),
    ),
    check(
        "J18c",
        "750,000 over 100,000 machine hours",
        Decimal("7.50"),
        0,
        f"{RATES_SECTION}, data printed",
        Known.RELATION,
        lambda: predetermined_rate(Decimal(750_000), Decimal(100_000)),
    ),
    check(
        "J19a",
        "cost 10 at 30 % markup",
        Decimal("13.00"),
        0,
        f"{MARKUP_SECTION}, printed 13.00",
        Known.READ,
        lambda: cost_plus("10", "0.30"),
    ),
    check(
        "J19b",
        "cost 12 at 30 % markup",
        Decimal("15.60"),
        0,
        f"{MARKUP_SECTION}, printed 15.60",
        Known.READ,
        lambda: cost_plus("12", "0.30"),
    ),
    check(
        "J19c",
        "cost 8 at 20 % markup",
        Decimal("9.60"),
        0,
        f"{MARKUP_SECTION}, printed 9.60",
        Known.READ,
        lambda: cost_plus("8", "0.20"),
    ),
    check(
        "J19d",
        "cost 9 at 20 % markup",
        Decimal("10.80"),
        0,
        f"{MARKUP_SECTION}, printed 10.80",
        Known.READ,
        lambda: cost_plus("9", "0.20"),
    ),
    check("J20a", "margin of 25 % markup", 0.20, 1e-12, ALGEBRA, Known.EXACT, lambda: margin_of_markup(Decimal("0.25"))),
    check("J20b", "margin of 35 % markup", 0.259259, 5e-7, ALGEBRA, Known.EXACT, lambda: margin_of_markup(Decimal("0.35"))),
    check("J20c", "margin of 50 % markup", 0.333333, 5e-7, ALGEBRA, Known.EXACT, lambda: margin_of_markup(Decimal("0.5"))),
    check("J20d", "markup for 35 % margin", 0.538462, 5e-7, ALGEBRA, Known.EXACT, lambda: markup_of_margin(Decimal("0.35"))),
    check("J20e", "markup for 50 % margin", 1, 1e-12, ALGEBRA, Known.EXACT, lambda: markup_of_margin(Decimal("0.5"))),
]
REFERENCES = [entry.reference for entry in CHECKS]


def clear_wet_film() -> float:
    volumes = clear_job().operations[0].coat
    assert volumes is not None
    return volumes.wet_film


def mix_solids() -> float:
    volumes = two_part(0).operations[0].coat
    assert volumes is not None
    assert volumes.volume_solids is not None
    return volumes.volume_solids


@pytest.mark.parametrize("entry", CHECKS, ids=[entry.reference.id for entry in CHECKS])
def test_it_agrees_with_what_is_published(entry: Check) -> None:
    entry.run()
