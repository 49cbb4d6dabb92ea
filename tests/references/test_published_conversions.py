"""Printed pairs of units, yields of whole shops, and prices by markup and margin that a textbook prints."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from costing.core.pricing import margin_of_markup, predetermined_rate, price_by_margin
from finishing.units import convert
from tests.references.sources import Check, Known, check

SP_811 = "NIST SP 811, Appendix B.8, printed with seven figures"
DEFINITION = "exact: foot of 304.8 mm, US gallon of 231 cubic inches"
SHOPS = "Georgia pollution prevention case study on airless guns in a cabinet shop, p2ad.org, ma_furniture2"
STAIN = "Wood Handbook FPL-GTR-190 (2010), chapter 16, semitransparent stain"
OPENSTAX = "OpenStax, Principles of Accounting, vol. 2"
FLEXIBLE = f"{OPENSTAX}, section 8.4, flexible budget of overhead"
MARKUP = f"{OPENSTAX}, section 9.4, cost plus a markup"


def unit(source: str, target: str, amount: float = 1) -> float:
    return float(convert(Fraction(str(amount)), from_unit=source, to_unit=target))


def square_metres_per_litre(square_feet: float, gallons: float = 1) -> float:
    return unit("ft²", "m²", square_feet) / unit("gal", "L", gallons)


def gallons_saved() -> float:
    """What the frugal shop would have used at the other's yield, which is printed as 102 ft²/gal, less what it used."""
    litres = unit("ft²", "m²", 270_000) / square_metres_per_litre(102) - unit("gal", "L", 1150)
    return unit("L", "gal", litres)


def nist(id: str, source: str, target: str, printed: str) -> Check:  # noqa: A002 - as in the table
    """A factor as the guide prints it; half of its last figure is its tolerance."""
    value = Decimal(printed)
    half = float(Decimal(5).scaleb(int(value.as_tuple().exponent) - 1))
    words = f"{source} in {target}"
    return check(id, words, value, half, f"{SP_811}: {printed}", Known.MEMORY, lambda: unit(source, target))


CHECKS: list[Check] = [
    nist("N811a", "oz", "kg", "2.834952E-2"),
    nist("N811b", "lb", "kg", "4.535924E-1"),
    nist("N811c", "gal", "L", "3.785412"),
    nist("N811d", "pt", "L", "4.731765E-1"),
    nist("N811e", "fl oz", "mL", "2.957353E+1"),
    nist("N811f", "imp fl oz", "mL", "2.841306E+1"),
    nist("N811g", "lb/gal", "g/L", "1.198264E+2"),
    nist("N811h", "ft²", "m²", "9.290304E-2"),
    nist("N811i", "psi", "kPa", "6.894757"),
    check("U12", "US gallons in a litre", 0.2641720523581484, 1e-15, DEFINITION, Known.EXACT, lambda: unit("L", "gal")),
    check("U09", "m²/L of 1 ft²/gal", 240 / 9779, 1e-15, DEFINITION, Known.EXACT, lambda: square_metres_per_litre(1)),
    check("C63a", "m²/L of 200 ft²/gal", 4.9, 0.05, f"{STAIN}, printed 4.9", Known.REPRINT, lambda: square_metres_per_litre(200)),
    check("C63b", "m²/L of 400 ft²/gal", 9.8, 0.05, f"{STAIN}, printed 9.8", Known.REPRINT, lambda: square_metres_per_litre(400)),
    check("C64", "m²/L of 100 ft²/gal", 2.4, 0.06, f"{STAIN}, printed 2.4", Known.REPRINT, lambda: square_metres_per_litre(100)),
    check(
        "C65",
        "m²/L, 270,000 ft² of 1,150 gal",
        5.762,
        0.001,
        SHOPS,
        Known.RELATION,
        lambda: square_metres_per_litre(270_000, 1150),
    ),
    check(
        "C66",
        "m²/L, 350,000 ft² of 3,441 gal",
        2.496,
        0.001,
        SHOPS,
        Known.RELATION,
        lambda: square_metres_per_litre(350_000, 3441),
    ),
    check("C67", "gal saved by the better yield", 1497, 0.5, SHOPS, Known.READ, gallons_saved),
    check("J13a", "9,600 over 1,800 h", 5.3333, 5e-5, FLEXIBLE, Known.RELATION, lambda: hourly("9600", "1800")),
    check("J13b", "10,000 over 2,000 h", 5, 0, FLEXIBLE, Known.RELATION, lambda: hourly("10000", "2000")),
    check("J13c", "10,400 over 2,200 h", 4.7273, 5e-5, FLEXIBLE, Known.RELATION, lambda: hourly("10400", "2200")),
    check(
        "J19e",
        "price of 10 at the margin of a 30 % markup",
        13,
        1e-12,
        f"{MARKUP}, printed 13.00",
        Known.RELATION,
        lambda: by_margin("10", "0.3"),
    ),
    check(
        "J19f",
        "price of 9 at the margin of a 20 % markup",
        10.8,
        1e-12,
        f"{MARKUP}, printed 10.80",
        Known.RELATION,
        lambda: by_margin("9", "0.2"),
    ),
]
REFERENCES = [entry.reference for entry in CHECKS]


def hourly(overhead: str, hours: str) -> Decimal:
    return predetermined_rate(Decimal(overhead), Decimal(hours))


def by_margin(cost: str, markup: str) -> Decimal:
    return price_by_margin(Decimal(cost), margin_of_markup(Decimal(markup)))


@pytest.mark.parametrize("entry", CHECKS, ids=[entry.reference.id for entry in CHECKS])
def test_it_agrees_with_what_is_published(entry: Check) -> None:
    entry.run()
