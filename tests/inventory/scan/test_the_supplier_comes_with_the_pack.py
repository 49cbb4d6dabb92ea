"""Whose pack was scanned or chosen is who brought it, so that a recall by supplier finds the lot."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Lot, Pack, Supplier
from tests.inventory.pages.shop import booked, delivery, row_errors, words
from tests.inventory.scan.conftest import GTIN
from tests.inventory.scan.test_a_code_fills_a_row_of_the_delivery import code, scan, sent_again, shown

pytestmark = pytest.mark.django_db


def test_a_scanned_pack_chooses_its_supplier(office: Client, coded: Pack, today: date) -> None:
    page = scan(office, today, code(until=today + timedelta(days=200)))
    assert sent_again(page)["supplier"] == str(coded.supplier_id)
    office.post(reverse("receive"), sent_again(page))
    assert Lot.objects.get().supplier == coded.supplier


def test_another_supplier_that_was_chosen_stays_and_is_told(office: Client, coded: Pack, today: date) -> None:
    other = Supplier.objects.create(name="South Yard (invented)")
    page = scan(office, today, code(), supplier=other)
    assert sent_again(page)["supplier"] == str(other.pk)
    assert f"This pack is sold by {coded.supplier}, but another supplier is chosen below." in words(page)
    assert "another supplier" not in words(scan(office, today, code(), supplier=coded.supplier))


def test_a_pack_of_nobody_is_refused_at_its_row_unless_it_was_here_already(office: Client, can: Pack, today: date) -> None:
    row = {"item": f"pack:{can.pk}", "amount": "1", "lot_number": "A-1", "expires_on": str(today + timedelta(days=9))}
    refused = office.post(reverse("receive"), delivery(today, row, reference="DN 77"))
    [said] = row_errors(refused)["item"]
    assert said.startswith(f"This pack is sold by {can.supplier}. Choose {can.supplier} above.")
    assert booked() == (0, 0, 0)
    office.post(reverse("receive"), delivery(today, row, reference="Opening stock"))
    assert Lot.objects.get().supplier is None


@pytest.mark.parametrize("text", ["00036000241457", "]d20100036000241457" + "10B-1", "010003600024145710B-1"])
def test_an_unknown_code_twice_counts_in_its_row(office: Client, coded: Pack, today: date, text: str) -> None:
    page = scan(office, today, text)
    again = office.post(reverse("scan"), {**sent_again(page), "scan": text})
    third = office.post(reverse("scan"), {**sent_again(again), "scan": text})
    assert (shown(again)["amount"], shown(third)["amount"]) == ("2", "3")
    assert shown(third, 1) == {}
    assert "Row 1 , 1 more" in words(third)
    other = office.post(reverse("scan"), {**sent_again(third), "scan": f"01{GTIN}10B-9"})
    assert shown(other, 1)["lot_number"] == "B-9"


@pytest.mark.parametrize(
    ("price", "said"),
    [("", ""), ("29", ""), ("236", "$236.00 for one pack is far above the $"), ("1", "$1.00 for one pack is far below the $")],
)
def test_a_price_far_from_the_pack_s_is_told_before_it_is_booked(
    office: Client, can: Pack, today: date, price: str, said: str
) -> None:
    Pack.objects.filter(pk=can.pk).update(price="23.60")
    row = {
        "item": f"pack:{can.pk}",
        "amount": "1",
        "lot_number": "A-1",
        "price": price,
        "expires_on": str(today + timedelta(days=9)),
    }
    page = words(office.post(reverse("receive"), {**delivery(today, row, supplier=can.supplier), "step": "check"}))
    assert "Read back" in page
    assert ("for one pack is far" in page) == bool(said)
    assert said in page
