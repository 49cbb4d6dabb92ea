"""VOC contents, thinning to a limit and emitted mass against published values."""

from __future__ import annotations

import pytest

from costing.core.voc import (
    VocPart,
    actual_voc,
    emitted_mass,
    thinner_to_limit,
    voc_by_mass,
    voc_less_water,
    voc_per_litre_of_solids,
    voc_per_solids,
    water_volume_fraction,
)
from tests.references.sources import Check, Known, check
from tests.references.us_units import GALLON, GRAMS_PER_POUND_GALLON, POUND_PER_GALLON, SQUARE_FOOT, pounds_per_gallon

LESS_WATER = "VOC less water, trade note of March 2004, paintcenter.org, rj/mar04b"
GUIDEBOOK = "Organic Finishing Guidebook 2013, appendix B"
TABLE_V = f"{GUIDEBOOK}, table V"
TEXAS = "30 TAC 115.423(1), figure"
COLORADO = "5 CCR 1001-29 part B, appendix E"
FEDERAL = "40 CFR 59.104(a)(1)"
FURNITURE = "40 CFR 60.313(c)(1) (form of the equation from memory)"
CASE_STUDY = "Georgia pollution prevention case study on airless guns in a cabinet shop, p2ad.org, ma_furniture2"

DENSITY = 8.52 * POUND_PER_GALLON  # kg/L of the water-based coating of the note
VOC_DENSITY = 7.36 * GRAMS_PER_POUND_GALLON  # g/L, as the rules assume
WATER_OF_NOTE = 8.33 * POUND_PER_GALLON  # kg/L


def note_part(water_density: float) -> VocPart:
    """The note's coating: solids 20.8 %, water 53.0 % by mass."""
    return VocPart(
        parts=1,
        voc=voc_by_mass(DENSITY, 20.8, 53.0),
        water_fraction=water_volume_fraction(DENSITY, 53.0, water_density),
    )


def lb_gal(pounds: float) -> float:
    return pounds * GRAMS_PER_POUND_GALLON


def per_solids(content: float) -> float:
    """lb per gal of solids from lb per gal of coating less water."""
    return pounds_per_gallon(voc_per_litre_of_solids(lb_gal(content), VOC_DENSITY))


def with_thinner(gallons: float) -> float:
    """lb/gal of 5.0 gal that hold 15.9 lb of VOC, with so many gallons of a thinner of 6.4 lb/gal."""
    mix = (VocPart(parts=5.0, voc=lb_gal(15.9 / 5)), VocPart(parts=gallons, voc=lb_gal(6.4)))
    return pounds_per_gallon(actual_voc(mix))


def thinner_allowed() -> float:
    """Gallons of that thinner up to a limit of 3.5 lb/gal."""
    litres = thinner_to_limit(litres=5.0 * GALLON, voc=lb_gal(15.9 / 5), thinner_voc=lb_gal(6.4), limit=lb_gal(3.5))
    assert litres is not None
    return litres / GALLON


def month(transfer_efficiency: float) -> float:
    """100 L of coating with 0.520 kg/L and 35 % volume solids, thinned with 10 L of 0.88 kg/L."""
    emitted = emitted_mass([(100, 520), (10, 880)])
    return voc_per_solids(voc_mass=emitted, solids_litres=35, transfer_efficiency=transfer_efficiency)


MIX_AND_THINNER = (VocPart(parts=1, voc=lb_gal(2.5)), VocPart(parts=0.25, voc=lb_gal(6.8)))

CHECKS: list[Check] = [
    check(
        "C41",
        "actual VOC, lb/gal",
        2.232,
        0.005,
        f"{LESS_WATER}, printed 2.23",
        Known.READ,
        lambda: pounds_per_gallon(actual_voc((note_part(WATER_OF_NOTE),))),
    ),
    check(
        "C42",
        "VOC less water, lb/gal",
        4.875,
        0.01,
        f"{LESS_WATER}, printed 4.87",
        Known.READ,
        lambda: pounds_per_gallon(voc_less_water((note_part(WATER_OF_NOTE),))),
    ),
    check(
        "C42m",
        "the same in g/L",
        584.1,
        1,
        f"{LESS_WATER}, in metric",
        Known.RELATION,
        lambda: voc_less_water((note_part(WATER_OF_NOTE),)),
    ),
    check(
        "C43",
        "1 gal at 2.5 with 0.25 gal at 6.8 lb/gal",
        3.36,
        0.005,
        f"{GUIDEBOOK}, printed 3.36",
        Known.READ,
        lambda: pounds_per_gallon(actual_voc(MIX_AND_THINNER)),
    ),
    check("C43m", "the same in g/L", 402.6, 0.5, f"{GUIDEBOOK}, in metric", Known.RELATION, lambda: actual_voc(MIX_AND_THINNER)),
    check(
        "C44", "gal of thinner allowed up to 3.5 lb/gal", 0.5517, 0.005, f"{TABLE_V}, printed 0.55", Known.READ, thinner_allowed
    ),
    check("C45", "lb/gal with 0.5 gal of it", 3.473, 0.005, f"{TABLE_V}, printed 3.47", Known.READ, lambda: with_thinner(0.5)),
    check("C46", "lb per gal of solids, 3.7 lb/gal", 7.44, 0.05, f"{TEXAS}, printed 7.4", Known.READ, lambda: per_solids(3.7)),
    check("C47a", "2.8 lb/gal", 4.52, 0.05, f"{COLORADO}, printed 4.5", Known.REPRINT, lambda: per_solids(2.8)),
    check("C47b", "4.2 lb/gal", 9.78, 0.1, f"{COLORADO}, printed 9.8", Known.REPRINT, lambda: per_solids(4.2)),
    check("C47c", "4.8 lb/gal", 13.80, 0.1, f"{COLORADO}, printed 13.8", Known.REPRINT, lambda: per_solids(4.8)),
    check("C47d", "5.5 lb/gal", 21.76, 0.1, f"{COLORADO}, printed 21.7", Known.REPRINT, lambda: per_solids(5.5)),
    check("C48a", "1.9 lb/gal", 2.56, 0.05, f"{COLORADO}, printed 2.6", Known.REPRINT, lambda: per_solids(1.9)),
    check("C48b", "2.6 lb/gal", 4.02, 0.05, f"{COLORADO}, printed 4.0", Known.REPRINT, lambda: per_solids(2.6)),
    check("C48c", "2.9 lb/gal", 4.79, 0.05, f"{COLORADO}, printed 4.8", Known.REPRINT, lambda: per_solids(2.9)),
    check("C48d", "3.8 lb/gal", 7.86, 0.05, f"{COLORADO}, printed 7.9", Known.REPRINT, lambda: per_solids(3.8)),
    check(
        "C55",
        "g/L, 0.95 kg/L and 28 % solids, all volatiles VOC",
        684.0,
        0.1,
        FEDERAL,
        Known.RELATION,
        lambda: voc_by_mass(0.95, 28),
    ),
    check(
        "C56",
        "g per L of solids of it, at 20.465 % by volume",
        3342,
        2,
        "25 Pa. Code 129.52a, Wo × Dc / Vn",
        Known.RELATION,
        lambda: 1000 * voc_per_solids(voc_mass=voc_by_mass(0.95, 28) / 1000, solids_litres=0.20465),
    ),
    check(
        "C68",
        "lb of VOC per ft² at 5.4 lb/gal and 102 ft²/gal",
        0.053,
        0.005,
        f"{CASE_STUDY}, printed 0.05",
        Known.READ,
        lambda: emitted_mass([(GALLON / 102 / SQUARE_FOOT, lb_gal(5.4))]) * SQUARE_FOOT / 0.45359237,
    ),
    check("W2a", "kg per L of solids applied, TE 0.60", 2.895, 0.001, FURNITURE, Known.RELATION, lambda: month(0.60)),
    check("W2b", "the same at TE 0.25", 6.949, 0.001, FURNITURE, Known.RELATION, lambda: month(0.25)),
    check("W2c", "the same at TE 0.65", 2.673, 0.001, FURNITURE, Known.RELATION, lambda: month(0.65)),
    check(
        "W4a",
        "actual VOC of the note's coating, g/L",
        267.5,
        0.5,
        f"{LESS_WATER}, in metric",
        Known.RELATION,
        lambda: actual_voc((note_part(WATER_OF_NOTE),)),
    ),
    check(
        "W4b",
        "its water by volume, L/L, water at 20 °C",
        0.5421,
        0.0005,
        "IAPWS-95, 998.2 kg/m³ at 20 °C",
        Known.RELATION,
        lambda: water_volume_fraction(DENSITY, 53.0),
    ),
    check(
        "W4c",
        "its VOC less water, g/L, water at 20 °C",
        584.1,
        0.5,
        f"{LESS_WATER} and {FEDERAL}",
        Known.RELATION,
        lambda: voc_less_water((note_part(0.9982),)),
    ),
]
REFERENCES = [entry.reference for entry in CHECKS]


@pytest.mark.parametrize("entry", CHECKS, ids=[entry.reference.id for entry in CHECKS])
def test_it_agrees_with_what_is_published(entry: Check) -> None:
    entry.run()
