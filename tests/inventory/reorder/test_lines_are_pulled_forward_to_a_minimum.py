"""Where an order lacks to its supplier's minimum, what is due next is bought early, told as such with reason and cost."""

from __future__ import annotations

import io
from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook

from finishing.models import User
from inventory.models import Material, Pack, Supplier
from inventory.reorder import ReorderList, reorder_list
from inventory.services.snoozing import snooze
from tests.inventory.reorder.shelf import deliver

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def clear(clear: Material, supplier: Supplier) -> Material:
    """Due: 10 L in two cans at 109."""
    clear.weekly_use = D(3)
    clear.save()
    supplier.minimum_order = D(300)
    supplier.save()
    return clear


def later(name: str, supplier: Supplier, by: User, *, stock: str, price: str = "90", **more: object) -> Material:
    """7 L a week, sold by 10 L; its reorder point is 14 L."""
    material = Material.objects.create(code=name, name=name, kind="coating", weekly_use=D(7), weekly_use_sd=D(0), **more)
    Pack.objects.create(material=material, supplier=supplier, description="10 L", content=D(10), price=D(price), is_usual=True)
    deliver(material, stock, by=by, number=f"L-{name}")
    return material


def pulled(found: ReorderList) -> list[str]:
    return [line.material.name for order in found.orders for line in order.pulled]


def test_the_nearest_to_its_reorder_point_fills_the_order(clear: Material, supplier: Supplier, office: User, today: date) -> None:
    later("Far", supplier, office, stock="40")
    near = later("Near", supplier, office, stock="20")
    found = reorder_list(today=today)
    assert pulled(found) == ["Near"]
    [order] = found.orders
    assert (order.goods, order.missing) == (D("308.00"), 0)
    line = order.lines[-1]
    assert line.material == near
    # 6 L above the reorder point at a litre a day; 90 held 6 days at 20 % a year
    assert "because the order lacked $82.00 to the minimum of $300.00" in line.summary
    assert "expected to reach its reorder point in 6 days anyway" in line.summary
    assert "costs $0.30 of holding" in line.summary
    assert near not in [one.material for one in found.enough]


def test_as_many_as_it_takes_and_no_more(clear: Material, supplier: Supplier, office: User, today: date) -> None:
    supplier.minimum_order = D(390)
    supplier.save()
    for name, stock in (("Far", "40"), ("Near", "20"), ("Next", "25")):
        later(name, supplier, office, stock=stock)
    assert pulled(reorder_list(today=today)) == ["Near", "Next"]


def test_nothing_is_pulled_where_the_minimum_stays_out_of_reach(
    client: Client, clear: Material, supplier: Supplier, office: User, today: date
) -> None:
    supplier.minimum_order = D(900)
    supplier.save()
    later("Near", supplier, office, stock="20")
    found = reorder_list(today=today)
    assert pulled(found) == []
    assert found.orders[0].missing == D("682.00")
    client.force_login(office)
    assert "What else is bought here and due within 90 days would not reach it." in client.get(reverse("reorder_list")).text


def test_an_order_above_its_minimum_pulls_nothing(clear: Material, supplier: Supplier, office: User, today: date) -> None:
    supplier.minimum_order = D(200)
    supplier.save()
    later("Near", supplier, office, stock="20")
    assert pulled(reorder_list(today=today)) == []


def test_what_would_spoil_is_not_pulled(clear: Material, supplier: Supplier, office: User, today: date) -> None:
    # 20 days at a litre a day, four fifths of it: 16 L, and 20 L are here
    later("Near", supplier, office, stock="20", shelf_life_days=20)
    assert pulled(reorder_list(today=today)) == []


def test_what_another_supplier_sells_is_not_pulled(clear: Material, office: User, today: date) -> None:
    later("Near", Supplier.objects.create(name="South Yard (invented)", lead_time_days=7), office, stock="20")
    assert pulled(reorder_list(today=today)) == []


def test_what_is_due_only_after_ninety_days_is_not_pulled(clear: Material, supplier: Supplier, office: User, today: date) -> None:
    later("Near", supplier, office, stock="105")
    assert pulled(reorder_list(today=today)) == []


def test_what_is_snoozed_is_not_pulled(clear: Material, supplier: Supplier, office: User, today: date) -> None:
    near = later("Near", supplier, office, stock="20")
    snooze(material=near, until=today, reason="sample first", by=office, today=today)
    assert pulled(reorder_list(today=today)) == []


def test_page_and_spreadsheet_say_so(client: Client, clear: Material, supplier: Supplier, office: User) -> None:
    later("Near", supplier, office, stock="20")
    client.force_login(office)
    page = client.get(reverse("reorder_list")).text
    for words in ("pulled forward", "1 line that is not due yet was pulled forward to reach it", "minimum reached", "$308.00"):
        assert words in page, words
    book = load_workbook(io.BytesIO(client.get(reverse("reorder_xlsx")).content))
    why = [str(cell.value) for row in book["Reorder list"].iter_rows() for cell in row]
    assert any("Not due yet: pulled forward because the order lacked $82.00" in words for words in why)
    assert any("Cost of holding it that much earlier" in str(row[1].value) for row in book["Reasons"].iter_rows())
