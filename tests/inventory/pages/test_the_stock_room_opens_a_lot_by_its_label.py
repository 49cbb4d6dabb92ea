"""The stock room leads from a label to its lot, and says what the shelves need."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import Location, Lot, Material, Pack, Supplier
from tests.inventory.pages.shop import Shelf, words

GTIN = "9506000134352"


@pytest.fixture
def lot(shelf: Shelf, clear: Material, supplier: Supplier) -> Lot:
    Pack.objects.create(
        material=clear, supplier=supplier, description="5 L can", content=Decimal(5), price=Decimal(106), gtin=GTIN
    )
    return shelf.lot(clear, number="LOT7A")


def led_to(client: Client, typed: str) -> str:
    response = client.get(reverse("stock_room"), {"label": typed})
    return response["Location"] if response.status_code == 302 else words(response)


def test_a_lot_number_opens_its_lot_however_it_is_written(office: Client, lot: Lot) -> None:
    assert led_to(office, " lot7a ") == reverse("lot", args=[lot.pk])


def test_the_code_of_a_label_opens_the_lot_of_that_article(office: Client, lot: Lot, shelf: Shelf) -> None:
    other = Material.objects.create(code="OTHER", name="Other", kind="coating")
    shelf.lot(other, number="LOT7A")
    assert led_to(office, f"(01)0{GTIN}(10)LOT7A") == reverse("lot", args=[lot.pk])
    assert led_to(office, "LOT7A") == f"{reverse('lots')}?text=LOT7A&stock=all"


def test_a_code_without_a_lot_leads_to_the_lots_of_the_material(office: Client, lot: Lot) -> None:
    assert led_to(office, f"]E0{GTIN}") == f"{reverse('lots')}?material={lot.material_id}"


def test_the_label_of_a_place_opens_the_place(office: Client, lot: Lot) -> None:
    place = Location.objects.create(name="Paint shelf A")
    assert led_to(office, "paint shelf a") == place.get_absolute_url()
    Location.objects.create(name="LOT7A")
    assert led_to(office, "LOT7A") == lot.get_absolute_url()


def test_a_part_of_a_number_leads_to_the_list(office: Client, lot: Lot) -> None:
    assert led_to(office, "T7") == f"{reverse('lots')}?text=T7&stock=all"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("NOSUCH", "No lot has the number NOSUCH"),
        ("(01)09506000134353(10)LOT7A", "check digit"),
        ("https://example.com/a", "web address"),
        ("x" * 401, "longer than"),
        ("]E09506000134369", "names no lot that was received here"),
    ],
)
def test_what_cannot_be_found_is_told_and_stays_typed(office: Client, lot: Lot, typed: str, said: str) -> None:
    response = office.get(reverse("stock_room"), {"label": typed})
    assert said in words(response)
    assert response.context["typed"] == typed


def test_it_says_what_the_shelves_need(office: Client, shelf: Shelf, clear: Material) -> None:
    assert "Out of date, still in stock 0" in words(office.get(reverse("stock_room")))
    shelf.lot(clear, number="SOON", expires_in=3)
    shelf.lot(clear, number="LATE", expires_in=300)
    page = words(office.get(reverse("stock_room")))
    assert "Expire soon 1 within 30 days" in page


def test_a_finisher_sees_no_money_and_no_orders(finisher: Client, lot: Lot) -> None:
    page = words(finisher.get(reverse("stock_room")))
    assert "Counts" in page
    assert "Stock value" not in page
    assert "Orders awaited" not in page


def test_it_asks_as_often_for_many_lots_as_for_few(office: Client, shelf: Shelf, clear: Material, lot: Lot) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            office.get(reverse("stock_room"))
        return len(asked)

    queries()
    few = queries()
    for number in range(12):
        shelf.lot(clear, number=f"MORE{number}")
    assert queries() == few
