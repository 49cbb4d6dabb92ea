"""Returning to a lot and writing off from it."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from finishing.models import Shop
from inventory.models import Lot, Material, Posting
from tests.inventory.pages.shop import Shelf, booked, errors, key, this_day, words

D = Decimal


@pytest.fixture
def lot(clear: Material, shelf: Shelf) -> Lot:
    """10 L came, 4 L were taken."""
    made = shelf.lot(clear, "10")
    shelf.take(clear, "4")
    return made


def send(client: Client, verb: str, lot: Lot, /, **data: str) -> Any:
    given = {"key": key(), "quantity": "1", "on": this_day(), "reference": "Job 1", "reason": "can fell", "cause": "spilled"}
    return client.post(reverse(verb, args=[lot.pk]), {**given, **data})


def test_a_return_goes_back_into_its_lot(finisher: Client, lot: Lot) -> None:
    response = send(finisher, "stock_return", lot, quantity="1.5 L")
    lot.refresh_from_db()
    assert lot.on_hand == D("7.5")
    assert "A-1 +1.5 L" in words(finisher.get(response.url))


def test_no_more_comes_back_than_is_out(finisher: Client, lot: Lot) -> None:
    before = booked()
    response = send(finisher, "stock_return", lot, quantity="4.5")
    assert errors(response) == {"quantity": ["Only 4 L of this lot is out, so no more can come back."]}
    assert booked() == before


def test_a_write_off_keeps_its_cause_and_reason(finisher: Client, lot: Lot) -> None:
    response = send(finisher, "stock_write_off", lot, quantity="0.5")
    lot.refresh_from_db()
    assert lot.on_hand == D("5.5")
    page = words(finisher.get(response.url))
    assert "Cause Spilled Reason can fell" in page


def test_no_more_is_written_off_than_is_there(finisher: Client, lot: Lot) -> None:
    before = booked()
    response = send(finisher, "stock_write_off", lot, quantity="6.5")
    assert "There is not enough: 6 L can be taken." in errors(response)["quantity"][0]
    assert booked() == before


def test_an_expired_lot_is_offered_whole_as_out_of_date(finisher: Client, clear: Material, shelf: Shelf) -> None:
    lot = shelf.lot(clear, "2.5", expires_in=-1)
    form = finisher.get(reverse("stock_write_off", args=[lot.pk])).context["form"]
    assert (form["quantity"].value(), str(form["cause"].value())) == ("2.5", "expired")
    assert send(finisher, "stock_write_off", lot, quantity="2.5", cause="expired", reason="").status_code == 302
    assert Posting.objects.get(kind="write_off").cause == "expired"


def test_what_the_page_shows_as_the_rest_is_all_of_it(finisher: Client, clear: Material, shelf: Shelf, us_shop: Shop) -> None:
    lot = shelf.lot(clear, "10", number="B")
    assert send(finisher, "stock_write_off", lot, quantity="2.642").status_code == 302
    lot.refresh_from_db()
    assert lot.on_hand == 0


@pytest.mark.parametrize("verb", ["stock_return", "stock_write_off"])
@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("quantity", "", "Write how much"),
        ("quantity", "2 cups", "not a unit known here"),
        ("quantity", "0", "above 0 L"),
        ("quantity", "-2", "above 0 L"),
        ("quantity", "NaN", "can't be read"),
        ("quantity", "2 m", "this needs a volume"),
        ("quantity", "1" * 50, "far too large"),
        ("on", "2999-01-01", "has not come yet"),
        ("on", "2001-01-01", "too early"),
    ],
)
def test_bad_input_is_told_at_its_field_and_nothing_is_booked(
    verb: str, field: str, typed: str, told: str, finisher: Client, lot: Lot
) -> None:
    before = booked()
    response = send(finisher, verb, lot, **{field: typed})
    assert list(errors(response)) == [field]
    assert told in errors(response)[field][0]
    assert response.context["form"][field].value() == typed
    assert booked() == before


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("cause", "", "Choose the cause."),
        ("cause", "theft", "one of those listed"),
        ("reason", "", "what happened"),
        ("reason", "  ", "what happened"),
    ],
)
def test_a_write_off_needs_cause_and_reason(field: str, typed: str, told: str, finisher: Client, lot: Lot) -> None:
    response = send(finisher, "stock_write_off", lot, **{field: typed})
    assert list(errors(response)) == [field]
    assert told in errors(response)[field][0]


def test_a_return_says_what_it_was_taken_for(finisher: Client, lot: Lot) -> None:
    assert list(errors(send(finisher, "stock_return", lot, reference=""))) == ["reference"]


@pytest.mark.parametrize("verb", ["stock_return", "stock_write_off", "lot", "lot_open", "lot_place"])
def test_an_unknown_lot_is_not_found(verb: str, finisher: Client, lot: Lot) -> None:
    assert finisher.get(reverse(verb, args=[lot.pk + 99])).status_code == 404
    assert finisher.get(reverse(verb, args=[10**30])).status_code == 404
