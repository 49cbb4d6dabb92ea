"""Bad rows of a delivery: the error stands in the row, what was typed stays, nothing is booked."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Material, Pack, Supplier
from tests.inventory.pages.shop import booked, delivery, row_errors, words

D = Decimal


def good(can: Pack, today: date) -> dict[str, str]:
    return {
        "item": f"pack:{can.pk}",
        "amount": "2",
        "price": "110",
        "lot_number": "C-9",
        "made_on": (today - timedelta(days=9)).isoformat(),
    }


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("item", "", "Choose what came."),
        ("item", "pack:999", "one of those listed"),
        ("item", "drop table", "one of those listed"),
        ("amount", "", "Write how much came."),
        ("amount", "two", "no number of packs"),
        ("amount", "0", "1 or more"),
        ("amount", "-2", "1 or more"),
        ("amount", "1.5", "whole number of packs"),
        ("amount", "5 L", "no number of packs"),
        ("amount", "nan", "no number of packs"),
        ("amount", "10001", "more than one delivery brings"),
        ("amount", "9" * 40, "more than one delivery brings"),
        ("amount", "1" * 61, "Keep this to 60 characters"),
        ("price", "cheap", "can’t be read as an amount"),
        ("price", "-1", "0 or more"),
        ("price", "NaN", "ordinary number"),
        ("price", "1e40", "far too large"),
        ("lot_number", "", "Copy the lot number"),
        ("lot_number", "x" * 41, "Keep this to 40 characters"),
        ("made_on", "last week", "year-month-day"),
        ("made_on", "1999-12-31", "too far back"),
        ("made_on", "2999-01-01", "after it was delivered"),
        ("expires_on", "2024-02-30", "year-month-day"),
        ("expires_on", "1999-01-01", "too far back"),
        ("expires_on", "2999-01-01", "30 years"),
    ],
)
def test_the_error_stands_in_its_row(field: str, typed: str, told: str, office: Client, can: Pack, today: date) -> None:
    fine = {**good(can, today), "lot_number": "FINE"}
    response = office.post(reverse("receive"), delivery(today, fine, {**good(can, today), field: typed}))
    assert row_errors(response, 0) == {}
    found = row_errors(response, 1)
    assert told in found[field][0]
    assert response.context["delivery"].rows.forms[1][field].value() == typed
    assert 'value="FINE"' in response.text
    assert booked() == (0, 0, 0)


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("amount", "5 kg", "this needs a volume"),
        ("amount", "0", "above 0 L"),
        ("amount", "-1 L", "above 0 L"),
        ("amount", "some", "can't be read as a volume"),
        ("amount", "2000000 L", "or less"),
        ("price", "", "Write what was paid, or 0."),
    ],
)
def test_an_amount_is_read_in_the_materials_unit(
    field: str, typed: str, told: str, office: Client, can: Pack, today: date
) -> None:
    measured = {**good(can, today), "item": f"material:{can.material_id}", "amount": "5 L", field: typed}
    found = row_errors(office.post(reverse("receive"), delivery(today, measured)))
    assert list(found) == [field]
    assert told in found[field][0]
    assert booked() == (0, 0, 0)


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("reference", "", "Write what stands on the delivery note"),
        ("reference", "x" * 121, "Keep this to 120 characters"),
        ("on", "", "Fill this in"),
        ("on", "2999-01-01", "has not come yet"),
        ("on", "1999-01-01", "too far back"),
        ("on", "soon", "year-month-day"),
        ("supplier", "999999999999999999999", "one of those listed"),
    ],
)
def test_the_head_is_checked_too(field: str, typed: str, told: str, office: Client, can: Pack, today: date) -> None:
    response = office.post(reverse("receive"), {**delivery(today, good(can, today)), field: typed})
    head = response.context["delivery"].head
    assert told in head.errors[field][0]
    assert head[field].value() == typed
    assert booked() == (0, 0, 0)


def test_head_and_rows_are_told_at_once(office: Client, can: Pack, today: date) -> None:
    response = office.post(reverse("receive"), delivery(today, {**good(can, today), "amount": "x"}, reference=""))
    assert "reference" in response.context["delivery"].head.errors
    assert "amount" in row_errors(response)


def test_every_problem_is_listed_above_with_its_row_and_a_link_to_its_field(office: Client, can: Pack, today: date) -> None:
    bad = {**good(can, today), "amount": "x", "lot_number": ""}
    page = office.post(reverse("receive"), delivery(today, good(can, today), bad))
    assert '<a href="#id_rows-1-amount">Row 2, how many</a>' in page.text
    assert "Row 2, lot number : Copy the lot number from the label." in words(page)
    assert "Row 1" not in words(page)


def test_a_pack_of_another_supplier_is_a_slip(office: Client, can: Pack, today: date) -> None:
    other = Supplier.objects.create(name="South Mill (invented)")
    response = office.post(reverse("receive"), delivery(today, good(can, today), supplier=other))
    assert "This pack is sold by North Yard (invented)" in row_errors(response)["item"][0]


def test_it_cannot_expire_before_it_was_made(office: Client, can: Pack, today: date) -> None:
    backwards = {**good(can, today), "made_on": today.isoformat(), "expires_on": (today - timedelta(days=1)).isoformat()}
    assert "before it was made" in row_errors(office.post(reverse("receive"), delivery(today, backwards)))["expires_on"][0]


def test_a_material_that_does_not_keep_needs_a_date(office: Client, can: Pack, liner: Material, today: date) -> None:
    undated = {**good(can, today), "made_on": ""}
    response = office.post(reverse("receive"), delivery(today, undated))
    assert "it keeps for 365 days" in row_errors(response)["expires_on"][0]


def test_a_delivery_of_nothing_is_refused(office: Client, can: Pack, today: date) -> None:
    response = office.post(reverse("receive"), delivery(today))
    assert "Fill in at least one row." in words(response)
    assert booked() == (0, 0, 0)


def test_a_shelf_life_that_has_run_out_counts_as_out_of_date(office: Client, can: Pack, today: date) -> None:
    old = {**good(can, today), "made_on": (today - timedelta(days=366)).isoformat()}
    response = office.post(reverse("receive"), delivery(today, old))
    assert "It is out of date" in row_errors(response)["expires_on"][0]


def test_more_rows_than_there_may_be_are_refused(office: Client, can: Pack, today: date) -> None:
    response = office.post(reverse("receive"), delivery(today, *[good(can, today)] * 41))
    assert response.status_code == 200
    assert booked() == (0, 0, 0)
    assert "at most 40" in words(response)


@pytest.mark.parametrize("total", ["", "abc", "-1", "99999999999"])
def test_a_torn_form_books_nothing(total: str, office: Client, can: Pack, today: date) -> None:
    data = {**delivery(today, good(can, today)), "rows-TOTAL_FORMS": total}
    assert office.post(reverse("receive"), data).status_code == 200
    assert booked() == (0, 0, 0)
