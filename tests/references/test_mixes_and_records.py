"""Mass and volume of a mix by density, and the VOC of what was used, against published and worked figures."""

from __future__ import annotations

from decimal import Decimal

import pytest

from costing.core.records import Month, Used, total
from costing.core.ticket import Measured, Part, measure
from tests.references.sources import Check, Known, Reference, check
from tests.references.us_units import GALLON_DECIMAL

D = Decimal
POUND = D("0.45359237")  # kg, exact
GUIDEBOOK = "Organic Finishing Guidebook 2013, appendix B, worked example of a thinned coating: 4.2 lb in 1.25 gal"
ARITHMETIC = "Own arithmetic on 4 : 1 by volume, 2.5 L, at 1.02 and 1.08 kg/L: volume times density"


def four_to_one() -> tuple[Measured, ...]:
    return measure(D("2.5"), (Part(parts=D(4), density=D("1.02")), Part(parts=D(1), density=D("1.08"))))


def kilograms(part: int) -> Decimal:
    mass = four_to_one()[part].kilograms
    assert mass is not None
    return mass


def thinned_pounds() -> Decimal:
    """1 gal at 2.5 lb/gal and 0.25 gal at 6.8 lb/gal as a record adds them up, in lb."""
    used = [
        Used(
            material=name,
            month=Month(2030, 1),
            litres=gallons * GALLON_DECIMAL,
            voc_g_per_l=content * 1000 * POUND / GALLON_DECIMAL,
        )
        for name, gallons, content in (("coating", D(1), D("2.5")), ("thinner", D("0.25"), D("6.8")))
    ]
    return total(used).voc_kg / POUND


def on_the_scale() -> Decimal:
    shown = four_to_one()[1].up_to_kilograms
    assert shown is not None
    return shown


CHECKS: tuple[Check, ...] = (
    check("MX1", "A of 2.5 L at 4 : 1, L", 2.0, 0, ARITHMETIC, Known.RELATION, lambda: four_to_one()[0].litres),
    check("MX2", "B of 2.5 L at 4 : 1, L", 0.5, 0, ARITHMETIC, Known.RELATION, lambda: four_to_one()[1].litres),
    check("MX3", "A by mass, kg", 2.040, 1e-9, ARITHMETIC, Known.RELATION, lambda: kilograms(0)),
    check("MX4", "B by mass, kg", 0.540, 1e-9, ARITHMETIC, Known.RELATION, lambda: kilograms(1)),
    check("MX5", "on the scale once both are in, kg", 2.580, 1e-9, ARITHMETIC, Known.RELATION, on_the_scale),
    check("VR1", "VOC of coating and thinner used, lb", 4.2, 1e-9, GUIDEBOOK, Known.READ, thinned_pounds),
)
REFERENCES: tuple[Reference, ...] = tuple(entry.reference for entry in CHECKS)


@pytest.mark.parametrize("entry", CHECKS, ids=[entry.reference.id for entry in CHECKS])
def test_it_agrees_with_what_is_published(entry: Check) -> None:
    entry.run()
