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
        (Kind.LENGTH, "in", "23 1/2"),
        (Kind.LENGTH, "in", "0.333333"),
        (Kind.AREA, "ft²", "212.5"),
        (Kind.FILM, "mil", "4.25"),
    ],
)
def test_it_shows_the_number_that_was_typed(kind: Kind, unit: str, typed: str) -> None:
    field = MeasureField(kind=kind, unit=unit)

    stored = field.clean(typed)

    assert field.prepare_value(stored) == typed


@pytest.mark.parametrize(
    ("kind", "unit", "stored", "shown"),
    [
        (Kind.LENGTH, "in", "715", "715 mm"),
        (Kind.VOLUME, "gal", "5", "5 L"),
        (Kind.AREA, "ft²", "3.2", "3.2 m²"),
        (Kind.FILM, "mil", "110", "110 µm"),
    ],
)
def test_a_metric_measure_is_not_shown_as_a_row_of_decimals(kind: Kind, unit: str, stored: str, shown: str) -> None:
    field = MeasureField(kind=kind, unit=unit)

    assert field.prepare_value(Decimal(stored)) == shown
    assert field.clean(shown) == Decimal(stored)


@pytest.mark.parametrize("stored", ["596.912345", "0.1", "714.9999924", "1234.567891"])
def test_saving_a_measure_again_never_changes_it(stored: str) -> None:
    field = MeasureField(kind=Kind.LENGTH, unit="in")

    assert field.clean(field.prepare_value(Decimal(stored))) == round(Decimal(stored), 6)
