"""Unit factors against published exact values, and against a general unit library as a second opinion."""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest

from finishing.units import convert

NIST_44 = "NIST Handbook 44, Appendix C (gallon of 231 cubic inches exactly), read"
NIST_811 = "NIST SP 811, Appendix B.8 (psi 6.894 757 E+03 Pa), read as quoted"
DEFINITION = "exact by definition: inch 25.4 mm, pound 0.45359237 kg; computed"
UK = "UK Units of Measurement Regulations, gallon 4.54609 L; from memory"


@pytest.mark.parametrize(
    ("amount", "source_unit", "target_unit", "expected", "source"),
    [
        (1, "gal", "L", Fraction(473176473, 125000000), NIST_44),
        (1, "qt", "L", Fraction("0.946352946"), NIST_44),
        (1, "pt", "mL", Fraction("473.176473"), NIST_44),
        (1, "fl oz", "mL", Fraction("29.5735295625"), NIST_44),
        (1, "imp gal", "L", Fraction("4.54609"), UK),
        (1, "imp fl oz", "mL", Fraction("28.4130625"), UK),
        (1, "ft²", "m²", Fraction("0.09290304"), DEFINITION),
        (1, "in²", "m²", Fraction("0.00064516"), DEFINITION),
        (1, "mil", "µm", Fraction("25.4"), DEFINITION),
        (1, "ft", "mm", Fraction("304.8"), DEFINITION),
        (1, "oz", "g", Fraction("28.349523125"), DEFINITION),
        (1, "lb", "g", Fraction("453.59237"), DEFINITION),
        (1, "psi", "kPa", Fraction(8896443230521, 1290320000000), NIST_811),
    ],
)
def test_factor_equals_the_published_value(
    amount: int, source_unit: str, target_unit: str, expected: Fraction, source: str
) -> None:
    assert convert(amount, from_unit=source_unit, to_unit=target_unit) == expected, source


def test_pounds_per_gallon_in_grams_per_litre() -> None:
    """119.826427 g/L, computed from NIST Handbook 44 and the exact pound; printed as 119.8 in an organic finishing handbook."""
    assert float(convert(1, from_unit="lb/gal", to_unit="g/L")) == pytest.approx(119.826427, abs=1e-6)


def test_area_of_a_gallon_at_one_mil_is_1604_square_feet() -> None:
    """1604 ft² per US gallon at 1 mil and 100 % solids: trade coverage note of May 2004, rounded; exact value computed."""
    litres = convert(1, from_unit="gal", to_unit="L")
    film = convert(1, from_unit="mil", to_unit="µm")
    square_metres = litres * 1000 / film  # 1 µm over 1 m² is 1 mL
    square_feet = convert(square_metres, from_unit="m²", to_unit="ft²")
    assert square_feet == Fraction(231000, 144)
    assert round(square_feet) == 1604


PINT_NAMES = {
    "mm": "millimeter",
    "in": "inch",
    "ft": "foot",
    "mil": "thou",
    "µm": "micrometer",
    "m²": "meter**2",
    "ft²": "foot**2",
    "in²": "inch**2",
    "L": "liter",
    "mL": "milliliter",
    "gal": "gallon",
    "qt": "quart",
    "pt": "pint",
    "fl oz": "fluid_ounce",
    "imp gal": "imperial_gallon",
    "imp fl oz": "imperial_fluid_ounce",
    "kg": "kilogram",
    "g": "gram",
    "lb": "pound",
    "oz": "ounce",
    "kPa": "kilopascal",
    "bar": "bar",
    "psi": "psi",
    "h": "hour",
    "min": "minute",
    "d": "day",
}
PAIRS = [
    ("in", "mm"),
    ("ft", "mm"),
    ("mil", "µm"),
    ("ft²", "m²"),
    ("in²", "m²"),
    ("gal", "L"),
    ("qt", "L"),
    ("pt", "mL"),
    ("fl oz", "mL"),
    ("imp gal", "L"),
    ("imp fl oz", "mL"),
    ("lb", "kg"),
    ("oz", "g"),
    ("psi", "kPa"),
    ("bar", "kPa"),
    ("h", "min"),
    ("d", "h"),
]


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry(non_int_type=Fraction)


@pytest.mark.parametrize(("source_unit", "target_unit"), PAIRS)
def test_factor_agrees_with_a_general_unit_library(source_unit: str, target_unit: str, registry: pint.UnitRegistry) -> None:
    """Second opinion: the library Pint, whose own names differ (its ``mil`` is an angle)."""
    other = registry.Quantity(Fraction(1), PINT_NAMES[source_unit]).to(PINT_NAMES[target_unit]).magnitude
    assert float(convert(1, from_unit=source_unit, to_unit=target_unit)) == pytest.approx(float(other), rel=1e-12)
