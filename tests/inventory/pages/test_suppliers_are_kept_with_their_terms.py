"""Suppliers: list, page, form."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Pack, Supplier
from tests.inventory.pages.shop import errors, words

D = Decimal
FORM = {"name": "South Mill (invented)", "lead_time_days": "5", "lead_time_sd_days": "1.5", "is_active": "on"}


def send(client: Client, **more: str) -> Any:
    return client.post(reverse("supplier_new"), {**FORM, **more})


def test_a_supplier_is_saved_and_shown(office: Client) -> None:
    response = send(office, minimum_order="1,250.50", delivery_charge="", phone="555 0100")
    page = words(office.get(response.url))
    assert "Lead time 5 days, give or take 1.5" in page
    assert "Minimum order $1,250.50" in page
    assert "Delivery charge none" in page
    assert Supplier.objects.get().delivery_charge == 0


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("name", "", "Fill this in"),
        ("email", "not-an-address", "Write an e-mail address"),
        ("lead_time_days", "soon", "Write a number"),
        ("lead_time_days", "-1", "greater than or equal to 0"),
        ("lead_time_days", "NaN", "Write a number"),
        ("lead_time_days", "366", "less than or equal to 365"),
        ("lead_time_sd_days", "", "Fill this in"),
        ("minimum_order", "much", "can’t be read as an amount"),
        ("minimum_order", "-3", "0 or more"),
        ("delivery_charge", "12,5", "comma"),
    ],
)
def test_bad_input_is_told_at_its_field_and_nothing_is_saved(field: str, typed: str, told: str, office: Client) -> None:
    response = send(office, **{field: typed})
    assert list(errors(response)) == [field]
    assert told in errors(response)[field][0]
    assert response.context["form"][field].value() == typed
    assert not Supplier.objects.exists()


def test_two_suppliers_do_not_share_a_name(office: Client, supplier: Supplier) -> None:
    assert "of this name already" in errors(send(office, name=supplier.name))["name"][0]


def test_a_change_is_shown_with_who_made_it(office: Client, supplier: Supplier) -> None:
    office.post(reverse("supplier_edit", args=[supplier.pk]), {**FORM, "name": supplier.name, "lead_time_days": "9"})
    page = words(office.get(supplier.get_absolute_url()))
    assert "Office Person This supplier: lead time, days 7 9" in page


def test_the_list_counts_packs_on_sale_and_hides_who_is_not_in_use(office: Client, can: Pack) -> None:
    Supplier.objects.create(name="Gone", is_active=False)
    Pack.objects.create(
        material=can.material, supplier=can.supplier, description="old", content=D(1), price=D(1), is_active=False
    )
    page = words(office.get(reverse("suppliers")))
    assert "North Yard (invented) 7 ± 2 days 1 " in page
    assert "Gone" not in page
    assert "Gone (not in use)" in words(office.get(reverse("suppliers", query={"is_active": "no"})))


def test_the_page_lists_what_is_bought_there(office: Client, can: Pack) -> None:
    assert "Clear coat 5 L can 5 L $106.00 $21.20 per L" in words(office.get(can.supplier.get_absolute_url()))


def test_an_empty_shop_is_told_what_to_do_first(office: Client) -> None:
    page = office.get(reverse("suppliers"))
    assert "No suppliers yet" in words(page)
    assert reverse("supplier_new") in page.text
