"""The list of materials: stock columns, filters, what stands in them."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from finishing.show import day
from inventory.models import Material
from inventory.services.bookings import book
from tests.inventory.pages.shop import Shelf, words

D = Decimal


def listed(client: Client, **query: Any) -> list[str]:
    response = client.get(reverse("materials", query=query))
    assert response.status_code == 200
    return [row.record.name for row in response.context["table"].rows]


def test_it_shows_on_hand_usable_booked_value_and_next_expiry(office: Client, clear: Material, shelf: Shelf, today: date) -> None:
    shelf.lot(clear, "4", number="OLD", expires_in=-1, cost="10")
    shelf.lot(clear, "2.5", number="NEW", expires_in=40, cost="20")
    book(material=clear, quantity=D("3.25"), needed_on=today, holder="Job 1")
    page = words(office.get(reverse("materials")))
    expiry = day(today + timedelta(days=40))
    assert f"Clear coat Coating 6.5 L 2.5 L short 3.25 L $90.00 {expiry}" in page


def test_a_material_with_enough_is_not_called_short(office: Client, clear: Material, shelf: Shelf, today: date) -> None:
    shelf.lot(clear, "4")
    book(material=clear, quantity=D(4), needed_on=today, holder="Job 1")
    assert "short" not in words(office.get(reverse("materials")))


def test_it_filters_by_kind_text_and_use(office: Client, clear: Material, liner: Material) -> None:
    Material.objects.create(code="OLD", name="Old sealer", kind="coating", is_active=False)
    assert listed(office) == ["Clear coat", "Cup liner"]
    assert listed(office, kind="liner") == ["Cup liner"]
    assert listed(office, text="clea") == ["Clear coat"]
    assert listed(office, text="LINER") == ["Cup liner"]
    assert listed(office, is_active="no") == ["Old sealer"]
    assert listed(office, is_active="all") == ["Clear coat", "Cup liner", "Old sealer"]


def test_it_sorts_by_stock(office: Client, clear: Material, liner: Material, shelf: Shelf) -> None:
    shelf.lot(clear, "4")
    shelf.lot(liner, "90")
    assert listed(office, sort="on_hand") == ["Clear coat", "Cup liner"]
    assert listed(office, sort="-on_hand") == ["Cup liner", "Clear coat"]
    assert listed(office, sort="next_expiry") == ["Clear coat", "Cup liner"]


@pytest.mark.parametrize("query", [{"sort": "nonsense"}, {"page": "abc"}, {"page": "9999"}, {"kind": "x'"}, {"is_active": "?"}])
def test_a_mistyped_address_shows_the_list_all_the_same(query: dict[str, str], office: Client, clear: Material) -> None:
    assert listed(office, **query) == ["Clear coat"]


def test_an_empty_shop_is_told_what_to_do_first(office: Client, finisher: Client) -> None:
    page = office.get(reverse("materials"))
    assert "No materials yet" in words(page)
    assert reverse("material_new") in page.text
    assert reverse("material_new") not in finisher.get(reverse("materials")).text
