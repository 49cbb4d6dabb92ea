"""A measure kept in metric units is shown again as it was typed, not with the noise of the conversion."""

from __future__ import annotations

from decimal import Decimal

import pytest

from finishing.forms import MeasureField
from finishing.units import Kind


@pytest.mark.parametrize(
    ("kind", "unit", "typed"),
    [
        (Kind.VOLUME, "fl oz", "20"),
        (Kind.VOLUME, "gal", "0.25"),
        (Kind.LENGTH, "in", "23.5"),
        (Kind.LENGTH, "in", "0.333333"),
        (Kind.AREA, "ft²", "212.5"),
        (Kind.FILM, "mil", "4.25"),
    ],
)
def test_it_shows_the_number_that_was_typed(kind: Kind, unit: str, typed: str) -> None:
    field = MeasureField(kind=kind, unit=unit)

    stored = field.clean(typed)

    assert field.prepare_value(stored) == typed


def test_it_keeps_the_digits_that_a_stored_value_needs() -> None:
    field = MeasureField(kind=Kind.VOLUME, unit="fl oz")

    shown = field.prepare_value(Decimal("0.6"))

    assert field.clean(shown) == Decimal("0.600000")
