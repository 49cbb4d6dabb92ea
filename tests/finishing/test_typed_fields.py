"""Form fields for measures, money and percentages: cleaned to the inside unit, refused in words at their place."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django import forms

from finishing.forms import KeyedForm, MeasureField, MoneyFormField, PercentField
from finishing.units import Kind, UnitSystem


class Sheet(forms.Form):
    length = MeasureField(kind=Kind.LENGTH, above=Decimal(0), maximum=Decimal(10_000))
    cup = MeasureField(kind=Kind.VOLUME, system=UnitSystem.US, required=False)
    price = MoneyFormField(required=False)
    margin = PercentField(below=Decimal(1), required=False)


def errors(**data: str) -> dict[str, list[str]]:
    return Sheet({"length": "10", **data}).errors


def test_a_bare_number_is_taken_in_the_unit_the_field_names() -> None:
    form = Sheet({"length": "715", "cup": "2"})
    assert form.is_valid()
    assert form.cleaned_data["length"] == Decimal(715)
    assert form.cleaned_data["cup"] == Decimal("7.570824")
    assert form.fields["cup"].widget.attrs["data-unit"] == "gal"


def test_a_stored_value_is_shown_in_the_fields_unit_and_comes_back_the_same() -> None:
    field = MeasureField(kind=Kind.LENGTH, system=UnitSystem.US)
    shown = field.prepare_value(Decimal("19.05"))
    assert shown == "3/4"
    assert field.clean(shown) == Decimal("19.05")


def test_a_50_m_door_is_refused_in_words() -> None:
    assert errors(length="50 m") == {"length": ["This must be 10000 mm or less."]}


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("0", "above 0 mm"),
        ("-5", "above 0 mm"),
        ("2 L", "is a volume; this needs a length"),
        ("NaN", "can't be read as a length"),
        ("", "Fill this in"),
    ],
)
def test_a_bad_length_is_refused(text: str, reason: str) -> None:
    assert reason in errors(length=text)["length"][0]


@pytest.mark.parametrize(
    ("text", "amount"), [("43.50", "43.50"), ("$1,234.5", "1234.5"), ("€ 12", "12"), ("0.123456", "0.123456")]
)
def test_an_amount_is_read(text: str, amount: str) -> None:
    form = Sheet({"length": "1", "price": text})
    assert form.is_valid(), form.errors
    assert form.cleaned_data["price"] == Decimal(amount)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("12,5", "comma"),
        ("twelve", "can’t be read as an amount"),
        ("NaN", "ordinary number"),
        ("-1", "0 or more"),
        ("1e9", "or less"),
    ],
)
def test_a_bad_amount_is_refused(text: str, reason: str) -> None:
    assert reason in errors(price=text)["price"][0]


def test_a_percentage_is_kept_as_a_share() -> None:
    form = Sheet({"length": "1", "margin": "35 %"})
    assert form.is_valid()
    assert form.cleaned_data["margin"] == Decimal("0.35")
    assert PercentField().prepare_value(Decimal("0.3500")) == "35"


@pytest.mark.parametrize(
    ("text", "reason"),
    [("100", "below 100 %"), ("-1", "between 0 and 100 %"), ("x", "can’t be read"), ("inf", "ordinary number")],
)
def test_a_bad_percentage_is_refused(text: str, reason: str) -> None:
    assert reason in errors(margin=text)["margin"][0]


@pytest.mark.parametrize("key", ["", "not-a-key"])
def test_a_form_without_its_key_is_out_of_date(key: str) -> None:
    assert KeyedForm({"key": key}).errors["key"] == [
        "This form is out of date. Reload the page and send it again; nothing was saved."
    ]


def test_every_form_shown_has_a_key_of_its_own() -> None:
    assert KeyedForm()["key"].value() != KeyedForm()["key"].value()
