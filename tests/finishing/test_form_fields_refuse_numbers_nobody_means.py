"""A slip of the keyboard that makes a number of fifty digits is told in words, not answered with a broken page."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError
from django.forms import Field

from finishing.forms import MeasureField, MoneyFormField, PercentField
from finishing.units import Kind


@pytest.mark.parametrize(
    ("field", "text"),
    [
        (MeasureField(kind=Kind.LENGTH), "9" * 50),
        (MoneyFormField(), "1e30"),
        (PercentField(), "1e400"),
    ],
)
def test_it_says_that_the_number_is_far_too_large(field: Field, text: str) -> None:
    with pytest.raises(ValidationError, match="far too large"):
        field.clean(text)


@pytest.mark.parametrize("text", ["nan", "inf", "-Infinity", "sNaN"])
def test_it_refuses_what_is_not_a_finite_number(text: str) -> None:
    for field in (MeasureField(kind=Kind.LENGTH), MoneyFormField(), PercentField()):
        with pytest.raises(ValidationError, match=r"ordinary number|can't be read|can’t be read"):
            field.clean(text)
