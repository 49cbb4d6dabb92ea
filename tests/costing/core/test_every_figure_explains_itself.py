"""Each working's formula, fed with the inputs it shows, gives the result it shows; and no figure is without one."""

from __future__ import annotations

import dataclasses
import re
from dataclasses import replace
from decimal import Decimal

import pytest

from costing.core.explain import explain, explain_price
from costing.core.facts import StockUnit
from costing.core.pricing import PriceBasis, PriceTerms, price
from costing.core.shown import shown_lines
from costing.core.system import CostGroup, Driver, SupplyLine, System, TimeLine
from costing.core.takeoff import GivenArea, Moulding, Panel, Row, Takeoff, Zone
from tests.costing.core.formulas import evaluate
from tests.costing.core.workshop import (
    ABRADE,
    COAT,
    EXAMPLE_COAT,
    EXAMPLE_DOORS,
    HIDDEN,
    RATES,
    SHELF,
    SHOW,
    SPRAY,
    reckon,
    spray,
    system_of,
)

MIXED_WORK = Takeoff(
    rows=(
        Row(label="Doors", pieces=24, shape=Panel(length=715, width=397, thickness=19, profile_factor=1.05)),
        Row(label="Spindles", pieces=12, shape=Moulding(length=900, girth=110), geometry_factor=0.4),
        Row(pieces=4, shape=GivenArea(area=3.2), zone=Zone.HIDDEN, geometry_factor=0.9),
    )
)
EVERYTHING = System(
    name="Everything",
    operations=(
        ABRADE,
        replace(
            SPRAY,
            coat=replace(EXAMPLE_COAT, thinner="thinner", thinning=12, pot_life=25, minutes_per_fill=2, flash_off_minutes=8),
            zones=SHOW,
            time_lines=(TimeLine(minutes=0.5, driver=Driver.PIECE, label="Turning"),),
            supply_lines=(
                *SPRAY.supply_lines,
                SupplyLine(material="disc", amount=0.3),
                SupplyLine(material="filter", amount=0.2, driver=Driver.OVERSPRAY_KG),
                SupplyLine(material="wash", amount=0.1, driver=Driver.LABOUR_HOUR),
            ),
        ),
        replace(SPRAY, name="Second coat", coat=COAT, zones=HIDDEN),
    ),
)
SHELF_BY_MASS = {**SHELF, "hardener": replace(SHELF["hardener"], unit=StockUnit.KILOGRAM)}
ESTIMATES = {
    "everything": reckon(EVERYTHING, MIXED_WORK),
    "stocked by mass": reckon(EVERYTHING, MIXED_WORK, SHELF_BY_MASS),
    "worked by hand": reckon(),
    "worked example": reckon(system_of(spray(EXAMPLE_COAT)), EXAMPLE_DOORS),
    "idle coat": reckon(system_of(ABRADE, replace(SPRAY, zones=HIDDEN))),
    "no coat": reckon(system_of(ABRADE)),
    "nothing": reckon(system_of(), Takeoff()),
    "unknown voc": reckon(shelf={**SHELF, "base": replace(SHELF["base"], voc=None, density=None)}),
}


@pytest.mark.parametrize("name", ESTIMATES)
def test_each_formula_gives_its_result(name):
    told = explain(ESTIMATES[name])
    assert told
    given = {key: evaluate(working) for key, working in told.items()}
    assert given == pytest.approx({key: float(working.result.value) for key, working in told.items()}, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("name", ESTIMATES)
def test_each_working_is_fit_to_read(name):
    for key, working in explain(ESTIMATES[name]).items():
        assert working.key == key
        assert re.fullmatch(r"Costing model, section [1-7]", working.section), key
        assert working.result.words, key
        assert all(quantity.words for quantity in working.inputs), key


@pytest.mark.parametrize("name", ESTIMATES)
def test_every_figure_of_the_answer_has_its_working(name):
    result, told = ESTIMATES[name], explain(ESTIMATES[name])

    def value(key):
        return told[key].result.value

    for group in CostGroup:
        assert value(f"group.{group}") == result.groups[group]
    assert value("true_cost") == result.true_cost
    assert value("shown.true_cost") == shown_lines(result).true_cost
    for figure in ("labour_minutes", "booth_minutes", "elapsed_minutes", "residue_litres", "cleaner_litres", "voc_kg"):
        assert value(figure) == getattr(result, figure)
    assert value("area") == result.takeoff.area
    assert all(value(f"row.{i}.area") == row.area for i, row in enumerate(result.takeoff.rows))
    for use in result.material_uses:
        for figure in ("film", "overspray", "residue", "heel", "expiry", "drawn_litres"):
            assert value(f"material.{use.material.key}.{figure}") == getattr(use, figure)
    for supply in result.supply_uses:
        assert value(f"supply.{supply.material.key}.cost") == supply.cost
    for labour in result.labour_uses:
        assert value(f"labour.{labour.labour_class}.cost") == labour.cost


def test_every_figure_of_a_coat_has_its_working():
    result, told = ESTIMATES["everything"], explain(ESTIMATES["everything"])
    coat = result.operations[1].coat
    figures = [field.name for field in dataclasses.fields(coat) if field.name not in {"area", "components"}]
    assert len(figures) == 12
    for figure in figures:
        assert told[f"coat.1.{figure}"].result.value == getattr(coat, figure), figure
    for number, component in enumerate(coat.components):
        assert told[f"coat.1.component.{number}.mixed"].result.value == component.mixed
        assert told[f"coat.1.component.{number}.drawn"].result.value == component.drawn
    assert told["operation.1.area"].result.value == coat.area


def test_cost_per_m2_is_explained_where_there_is_area():
    told = explain(ESTIMATES["worked by hand"])
    assert told["cost_per_m2"].result.value == Decimal("19.041")
    assert "cost_per_m2" not in explain(ESTIMATES["nothing"])


def test_published_sources_stand_beside_the_formulas_that_have_one():
    told = explain(ESTIMATES["everything"])
    assert told["coat.1.wet_film"].source == "MIL-HDBK-1110 (UFC 3-190-06), 2.1.5"
    assert told["coat.1.voc_less_water"].source == "40 CFR 59.104(a)(1)"
    assert told["group.overhead"].source.startswith("OpenStax")


def test_what_was_left_out_is_said():
    assert explain(ESTIMATES["unknown voc"])["voc_kg"].note == "Left out, VOC content unknown: Base."


TERMS = [
    PriceTerms(basis=PriceBasis.MARGIN, rate=Decimal("0.35"), price_step=Decimal(5), tax_rate=Decimal("0.19")),
    PriceTerms(basis=PriceBasis.MARKUP, rate=Decimal("0.6"), tax_rate=Decimal("0.07")),
    PriceTerms(basis=PriceBasis.MARKUP, rate=Decimal(0), minimum_charge=Decimal(500)),
]


@pytest.mark.parametrize("terms", TERMS)
def test_each_price_step_follows_from_the_one_before(terms):
    told = explain_price(price(Decimal("190.41"), terms))
    assert list(told) == [f"price.{step}" for step in ("calculated", "after_minimum", "net", "tax", "total")]
    for working in told.values():
        assert evaluate(working) == pytest.approx(float(working.result.value), abs=0.005)


def test_explaining_does_not_change_the_estimate():
    before = reckon(EVERYTHING, MIXED_WORK, SHELF, RATES)
    explain(before)
    assert before == reckon(EVERYTHING, MIXED_WORK, SHELF, RATES)
