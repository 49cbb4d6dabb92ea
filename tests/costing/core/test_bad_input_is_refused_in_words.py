"""What the core refuses: each error names its field and says what would be right."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing.core.errors import (
    ContradictionError,
    CostingError,
    CupTooSmallError,
    EmptyMixError,
    MissingFactError,
    NotANumberError,
    NotWholeError,
    OutOfRangeError,
    WrongUseError,
)
from costing.core.facts import LabourClass, MaterialFacts, MaterialKind, Rates, StockUnit
from costing.core.pricing import PriceBasis, PriceTerms, price
from costing.core.system import (
    Coat,
    Component,
    Driver,
    Operation,
    OperationKind,
    SpraySetup,
    SupplyLine,
    TimeLine,
)
from costing.core.takeoff import GivenArea, Moulding, Panel, Row
from tests.costing.core.workshop import ABRADE, COAT, GUN, RATES, SHELF, SPRAY, facts, materials, reckon, spray, system_of

NAN, INFINITE = float("nan"), float("inf")
PANEL = {"length": 700, "width": 400, "thickness": 19}
ROW = {"shape": Panel(**PANEL)}
SETUP = {"transfer_efficiency": 0.6, "cup_capacity": 0.6, "spray_rate": 20}
BASE = (Component(material="base", parts=1),)
COATING = {"components": BASE, "setup": GUN, "wet_film": 100}
MATERIAL = {"key": "m", "name": "M", "kind": MaterialKind.COATING, "unit": StockUnit.LITRE, "price": Decimal(1)}
TERMS = {"basis": PriceBasis.MARGIN, "rate": Decimal("0.3")}

REFUSED = [
    # shape and row
    (Panel, PANEL, "length", 50_000, OutOfRangeError, "Length is 50000 mm: give more than 0 and at most 10000 mm."),
    (Panel, PANEL, "length", 0, OutOfRangeError, "Length is 0 mm: give more than 0 and at most 10000 mm."),
    (Panel, PANEL, "length", NAN, NotANumberError, "Length must be a number, and nan is not one: give more than 0"),
    (Panel, PANEL, "width", -1, OutOfRangeError, "Width is -1 mm: give more than 0"),
    (Panel, PANEL, "width", INFINITE, NotANumberError, "Width must be a number, and inf is not one"),
    (Panel, PANEL, "width", "wide", NotANumberError, "Width must be a number, and “wide” is not one"),
    (Panel, PANEL, "width", None, NotANumberError, "Width must be a number, and nothing is not one"),
    (Panel, PANEL, "width", 10**400, OutOfRangeError, "Width is 1.000e+400 mm: give more than 0"),
    (Panel, PANEL, "width", Decimal("1e999999"), OutOfRangeError, "Width is 1.000e+999999 mm: give more"),
    (Panel, PANEL, "width", Decimal("sNaN"), NotANumberError, "Width must be a number"),
    (Panel, PANEL, "thickness", 501, OutOfRangeError, "Thickness is 501 mm: give at least 0 and at most 500 mm."),
    (Panel, PANEL, "thickness", -0.1, OutOfRangeError, "Thickness is -0.1 mm"),
    (Panel, PANEL, "faces", 3, OutOfRangeError, "Number of faces is 3: give a whole number from 0 to 2."),
    (Panel, PANEL, "faces", -1, OutOfRangeError, "Number of faces is -1"),
    (Panel, PANEL, "faces", 1.5, NotWholeError, "Number of faces must be a whole number, not 1.5"),
    (Panel, PANEL, "faces", True, NotANumberError, "Number of faces must be a number, and yes is not one"),
    (Panel, PANEL, "long_edges", 3, OutOfRangeError, "Number of long edges is 3"),
    (Panel, PANEL, "short_edges", -1, OutOfRangeError, "Number of short edges is -1"),
    (Panel, PANEL, "profile_factor", 0.99, OutOfRangeError, "Profile factor is 0.99: give at least 1 and at most 10."),
    (GivenArea, {"area": 1}, "area", 0, OutOfRangeError, "Area is 0 m²: give more than 0"),
    (GivenArea, {"area": 1}, "area", 10_001, OutOfRangeError, "Area is 10001 m²"),
    (Moulding, {"length": 2400, "girth": 90}, "length", 10_001, OutOfRangeError, "Length is 10001 mm"),
    (Moulding, {"length": 2400, "girth": 90}, "girth", 0, OutOfRangeError, "Girth is 0 mm"),
    (Row, ROW, "pieces", 0, OutOfRangeError, "Number of pieces is 0: give a whole number from 1 to 100000."),
    (Row, ROW, "pieces", 10**400, OutOfRangeError, "Number of pieces is 1.000e+400: give a whole number from 1 to"),
    (Row, ROW, "pieces", NAN, NotANumberError, "Number of pieces must be a number, and nan is not one: give a whole"),
    (Row, ROW, "pieces", 2.5, NotWholeError, "Number of pieces must be a whole number, not 2.5"),
    (Row, ROW, "pieces", 90_000, OutOfRangeError, "Area of this row is"),
    (Row, ROW, "geometry_factor", 0, OutOfRangeError, "Geometry factor is 0: give more than 0 and at most 1."),
    (Row, ROW, "geometry_factor", 1.01, OutOfRangeError, "Geometry factor is 1.01"),
    # spray setup
    (SpraySetup, SETUP, "transfer_efficiency", 0, OutOfRangeError, "Transfer efficiency is 0: give more than 0 and at"),
    (SpraySetup, SETUP, "transfer_efficiency", 1.2, OutOfRangeError, "Transfer efficiency is 1.2"),
    (SpraySetup, SETUP, "transfer_efficiency", NAN, NotANumberError, "Transfer efficiency must be a number"),
    (SpraySetup, SETUP, "cup_capacity", 0, OutOfRangeError, "Cup capacity is 0 L"),
    (SpraySetup, SETUP, "residue_per_fill", -0.01, OutOfRangeError, "Residue per fill is -0.01 L"),
    (SpraySetup, SETUP, "residue_per_batch", -0.01, OutOfRangeError, "Residue per batch is -0.01 L"),
    (SpraySetup, SETUP, "residue_per_fill", 0.6, CupTooSmallError, "Residue per fill of 0.6 L fills the whole cup of 0.6"),
    (SpraySetup, SETUP, "residue_per_fill", 0.7, CupTooSmallError, "give less than 0.6 L, or a larger cup."),
    (SpraySetup, SETUP, "spray_rate", 0, OutOfRangeError, "Spray rate is 0 m²/h"),
    # coat
    (Coat, COATING, "components", (), EmptyMixError, "Mix has no parts: give at least one material"),
    (Coat, COATING, "wet_film", 0, OutOfRangeError, "Wet film is 0 µm"),
    (Coat, COATING, "wet_film", 2_001, OutOfRangeError, "Wet film is 2001 µm"),
    (Coat, COATING, "wet_film", None, ContradictionError, "Film is not given: give the wet film or the dry film"),
    (Coat, COATING, "dry_film", 30, ContradictionError, "Film is given both wet and dry"),
    (Coat, {**COATING, "wet_film": None, "dry_film": 30}, "dry_film", -30, OutOfRangeError, "Dry film is -30 µm"),
    (Coat, COATING, "thinning", -1, OutOfRangeError, "Thinning is -1 %: give at least 0"),
    (Coat, COATING, "thinning", 10, ContradictionError, "Thinner is missing, though the mix is thinned by 10 %"),
    (Coat, COATING, "pot_life", 0, OutOfRangeError, "Pot life is 0 min"),
    (Coat, COATING, "minutes_per_fill", -1, OutOfRangeError, "Minutes per fill is -1 min"),
    (Coat, COATING, "minutes_per_batch", -1, OutOfRangeError, "Minutes per batch is -1 min"),
    (Coat, COATING, "flash_off_minutes", -1, OutOfRangeError, "Flash off minutes is -1 min"),
    (Coat, COATING, "dry_minutes", -1, OutOfRangeError, "Dry minutes is -1 min"),
    (Coat, COATING, "stacking_minutes", -1, OutOfRangeError, "Stacking minutes is -1 min"),
    (Component, {"material": "base", "parts": 1}, "parts", 0, OutOfRangeError, "Parts in the mix is 0"),
    # operation and lines
    (Operation, {"name": "A", "kind": OperationKind.ABRADE}, "crew", 0, OutOfRangeError, "Number of people is 0"),
    (Operation, {"name": "A", "kind": OperationKind.ABRADE}, "zones", frozenset(), ContradictionError, "Zones are empty"),
    (Operation, {"name": "A", "kind": OperationKind.ABRADE}, "coat", COAT, ContradictionError, "Kind is not coat, though"),
    (Operation, {"name": "A", "kind": OperationKind.COAT, "coat": COAT}, "coat", None, ContradictionError, "Coat is missing"),
    (TimeLine, {"minutes": 1}, "minutes", -1, OutOfRangeError, "Minutes is -1 min"),
    (TimeLine, {"minutes": 1}, "driver", Driver.LABOUR_HOUR, ContradictionError, "Driver “labour hour” is for supplies only"),
    (TimeLine, {"minutes": 1}, "driver", Driver.OVERSPRAY_KG, ContradictionError, "Driver “kg of overspray solids” is for"),
    (SupplyLine, {"material": "disc", "amount": 1}, "amount", -1, OutOfRangeError, "Amount is -1: give at least 0"),
    # material and rates
    (MaterialFacts, MATERIAL, "price", Decimal(-1), OutOfRangeError, "Price is -1: give at least 0."),
    (MaterialFacts, MATERIAL, "price", Decimal("NaN"), NotANumberError, "Price must be a number, and NaN is not one"),
    (MaterialFacts, MATERIAL, "density", 0, OutOfRangeError, "Density is 0 kg/L"),
    (MaterialFacts, MATERIAL, "volume_solids", 101, OutOfRangeError, "Volume solids is 101 %"),
    (MaterialFacts, MATERIAL, "mass_solids", -1, OutOfRangeError, "Mass solids is -1 %"),
    (MaterialFacts, MATERIAL, "voc", -1, OutOfRangeError, "VOC content is -1 g/L"),
    (MaterialFacts, {**MATERIAL, "density": 0.9}, "voc", 901, ContradictionError, "VOC content of 901 g/L is heavier than"),
    (MaterialFacts, MATERIAL, "water_fraction", 1.1, OutOfRangeError, "Water share of the volume is 1.1"),
    (MaterialFacts, {**MATERIAL, "water_fraction": 0.7}, "exempt_fraction", 0.4, ContradictionError, "Water and exempt share"),
    (MaterialFacts, MATERIAL, "yield_fraction", 0, OutOfRangeError, "Yield is 0: give more than 0 and at most 1."),
    (MaterialFacts, MATERIAL, "yield_fraction", 1.01, OutOfRangeError, "Yield is 1.01"),
    (MaterialFacts, MATERIAL, "expiry_allowance", Decimal(1), OutOfRangeError, "Expiry allowance is 1: give at least 0 and"),
    (LabourClass, {"key": "a", "name": "A", "wage": Decimal(20)}, "wage", Decimal(-1), OutOfRangeError, "Wage is -1"),
    (LabourClass, {"key": "a", "name": "A", "wage": Decimal(20)}, "burden", Decimal(-1), OutOfRangeError, "Burden is -1"),
    (Rates, {"labour": {}}, "booth_rate", Decimal(-1), OutOfRangeError, "Booth rate is -1"),
    (Rates, {"labour": {}}, "overhead_rate", Decimal(-1), OutOfRangeError, "Overhead rate is -1"),
    (Rates, {"labour": {}}, "rework_allowance", Decimal("1.1"), OutOfRangeError, "Rework allowance is 1.1"),
    (Rates, {"labour": {}}, "disposal_fee", Decimal(-1), OutOfRangeError, "Disposal fee is -1"),
    (Rates, {"labour": {}}, "voc_recovered", 1.1, OutOfRangeError, "Recovered share of VOC is 1.1"),
    # price
    (PriceTerms, TERMS, "rate", Decimal(1), OutOfRangeError, "Margin is 100 %: give less than 100 %"),
    (PriceTerms, TERMS, "rate", Decimal("1.5"), OutOfRangeError, "Margin is 150.0 %"),
    (PriceTerms, TERMS, "rate", Decimal("-0.1"), OutOfRangeError, "Margin is -0.1: give at least 0"),
    (PriceTerms, {**TERMS, "basis": PriceBasis.MARKUP}, "rate", Decimal(-1), OutOfRangeError, "Markup is -1"),
    (PriceTerms, TERMS, "minimum_charge", Decimal(-1), OutOfRangeError, "Minimum charge is -1"),
    (PriceTerms, TERMS, "price_step", Decimal(-1), OutOfRangeError, "Price step is -1"),
    (PriceTerms, TERMS, "tax_rate", Decimal(-1), OutOfRangeError, "Tax rate is -1"),
]


@pytest.mark.parametrize(
    ("kind", "given", "field", "value", "error", "sentence"),
    REFUSED,
    ids=[f"{row[0].__name__}.{row[2]}={row[3]!s:.12}" for row in REFUSED],
)
def test_a_value_is_refused_at_its_field(kind, given, field, value, error, sentence):
    kind(**given)  # the rest of the input is right
    with pytest.raises(error) as caught:
        kind(**{**given, field: value})
    assert isinstance(caught.value, CostingError)
    assert sentence in str(caught.value)
    assert str(caught.value).endswith(".")


# An error may stand at the other half of a contradiction; everywhere else it stands at the field that was typed.
ELSEWHERE = {("Row", "pieces"), ("Coat", "thinning"), ("Operation", "coat")}


@pytest.mark.parametrize(
    ("kind", "given", "field", "value"),
    [row[:4] for row in REFUSED if (row[0].__name__, row[2]) not in ELSEWHERE],
)
def test_the_error_names_the_field_that_was_typed(kind, given, field, value):
    with pytest.raises(CostingError) as caught:
        kind(**{**given, field: value})
    assert caught.value.field == field


@pytest.mark.parametrize(
    ("coat", "field"),
    [
        ({"thinning": 10}, "thinner"),
        ({"thinning": 10, "thinner": ""}, "thinner"),
    ],
)
def test_thinning_without_thinner_stands_at_the_thinner(coat, field):
    with pytest.raises(ContradictionError) as caught:
        Coat(**{**COATING, **coat})
    assert caught.value.field == field


def test_a_panel_without_anything_to_finish_is_refused():
    with pytest.raises(ContradictionError, match="Faces and edges leave nothing to finish: give at least one face"):
        Panel(length=700, width=400, thickness=0, faces=0)


def test_a_rate_of_work_of_zero_is_refused():
    with pytest.raises(OutOfRangeError, match="Rate of work is 0 m²/h: give more than 0"):
        TimeLine.at_rate(0)


def test_money_as_a_float_is_a_slip_of_the_program():
    with pytest.raises(TypeError, match="price must be a Decimal"):
        MaterialFacts(**{**MATERIAL, "price": 9.99})


def test_a_decimal_is_read_as_the_number_it_is():
    assert Panel(length=Decimal("715.5"), width=397).length == 715.5


@pytest.mark.parametrize("step", ["0.005", "0.125", "5.001"])
def test_a_price_step_that_nobody_can_pay_is_refused(step):
    terms = PriceTerms(**{**TERMS, "price_step": Decimal(step)})
    with pytest.raises(OutOfRangeError, match=r"Price step is .*: give 0 or a multiple of 0.01\."):
        price(Decimal(100), terms)


# Facts that a reckoning needs and nobody entered.


def test_a_dry_film_asks_for_unknown_volume_solids():
    shelf = materials(facts("base"))
    coat = Coat(components=BASE, setup=GUN, dry_film=30)
    with pytest.raises(MissingFactError, match="Volume solids of “Base” is not known: enter them from the technical") as caught:
        reckon(system_of(spray(coat)), shelf=shelf)
    assert caught.value.field == "volume_solids"


def test_a_dry_film_of_pure_thinner_is_refused():
    coat = Coat(components=(Component(material="thinner", parts=1),), setup=GUN, dry_film=30)
    with pytest.raises(WrongUseError, match="leaves no film, its volume solids are 0 %"):
        reckon(system_of(spray(coat)))


def test_a_filter_per_kg_of_overspray_asks_for_the_density():
    shelf = {**SHELF, "hardener": replace(SHELF["hardener"], density=None)}
    line = SupplyLine(material="filter", amount=1, driver=Driver.OVERSPRAY_KG)
    with pytest.raises(MissingFactError, match="Density of “Hardener” is not known") as caught:
        reckon(system_of(replace(SPRAY, supply_lines=(line,))), shelf=shelf)
    assert caught.value.field == "density"
    shelf = {**SHELF, "hardener": replace(SHELF["hardener"], mass_solids=None)}
    with pytest.raises(MissingFactError, match="Mass solids of “Hardener” is not known"):
        reckon(system_of(replace(SPRAY, supply_lines=(line,))), shelf=shelf)


def test_a_component_stocked_by_mass_asks_for_its_density():
    shelf = {**SHELF, "base": replace(SHELF["base"], unit=StockUnit.KILOGRAM, density=None)}
    with pytest.raises(MissingFactError, match="Density of “Base” is not known"):
        reckon(shelf=shelf)


def test_a_cleaner_stocked_by_mass_with_voc_asks_for_its_density():
    shelf = {**SHELF, "wash": replace(SHELF["wash"], unit=StockUnit.KILOGRAM)}
    with pytest.raises(MissingFactError, match="Density of “Wash” is not known"):
        reckon(shelf=shelf)


def test_a_material_without_facts_is_named():
    with pytest.raises(MissingFactError, match="Price of “wash” is not known"):
        reckon(shelf={key: value for key, value in SHELF.items() if key != "wash"})


def test_a_labour_class_without_a_wage_is_named_by_its_operation():
    with pytest.raises(MissingFactError, match="Labour class of “Abrade” is not known: choose one that has a wage") as caught:
        reckon(rates=replace(RATES, labour={"sprayer": RATES.labour["sprayer"]}))
    assert caught.value.field == "labour_class"


def test_a_disc_cannot_be_mixed():
    coat = Coat(components=(Component(material="disc", parts=1),), setup=GUN, wet_film=100)
    with pytest.raises(WrongUseError, match="Material “Disc” cannot be mixed: choose a coating, a hardener or a thinner"):
        reckon(system_of(spray(coat)))


def test_a_coating_sold_by_the_piece_cannot_be_mixed():
    shelf = {**SHELF, "base": replace(SHELF["base"], unit=StockUnit.PIECE)}
    with pytest.raises(WrongUseError, match="Unit “Base” is not stocked by volume or mass: stock it in L or kg"):
        reckon(shelf=shelf)


def test_a_hardener_is_no_supply():
    line = SupplyLine(material="hardener", amount=1)
    with pytest.raises(WrongUseError, match="Material “Hardener” is part of a film, not a supply"):
        reckon(system_of(replace(ABRADE, supply_lines=(line,))))


# What is allowed, and said.


def test_a_system_without_a_coat_is_allowed_and_reported():
    result = reckon(system_of(ABRADE))
    assert result.true_cost > 0
    assert [(notice.code, notice.text) for notice in result.notices] == [
        ("no-coat", "“Test system” has no coat, so no film is priced.")
    ]


def test_an_empty_system_is_reported():
    assert [notice.code for notice in reckon(system_of()).notices] == ["nothing-to-do"]


def test_unknown_voc_is_left_out_and_reported():
    shelf = {**SHELF, "base": replace(SHELF["base"], voc=None)}
    result = reckon(shelf=shelf)
    assert [(notice.code, notice.about) for notice in result.notices] == [("voc-unknown", "Base")]
    assert result.voc_kg == pytest.approx((260 + 400) / 1000 * 0.75)
