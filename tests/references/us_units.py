"""US customary units as the published examples use them: exact by definition (inch 25.4 mm, pound 0.45359237 kg)."""

from __future__ import annotations

from decimal import Decimal

MIL = 25.4  # µm
GALLON = 3.785411784  # L
SQUARE_FOOT = 0.09290304  # m²
POUND = 0.45359237  # kg
POUND_PER_GALLON = POUND / GALLON  # kg/L
GRAMS_PER_POUND_GALLON = 1000 * POUND_PER_GALLON  # g/L for 1 lb/gal
GALLON_DECIMAL = Decimal("3.785411784")
SQUARE_FOOT_DECIMAL = Decimal("0.09290304")


def square_feet_per_gallon(square_metres_per_litre: float) -> float:
    """A spreading rate in ft² per US gallon."""
    return square_metres_per_litre * GALLON / SQUARE_FOOT


def pounds_per_gallon(grams_per_litre: float) -> float:
    """A content in lb per US gallon."""
    return grams_per_litre / GRAMS_PER_POUND_GALLON
