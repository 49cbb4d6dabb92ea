"""The buying desk: what is expired, expiring, short, without a price; and what a new shop does first."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from finishing.models import Shop
from inventory.models import Material, Pack, Supplier
from inventory.services.bookings import book
from inventory.services.lots import quarantine_lot
from tests.inventory.pages.shop import Shelf, person, words

D = Decimal


def desk(client: Client) -> str:
    return words(client.get(reverse("desk_buying")))


def test_expired_lots_still_in_stock_are_counted_valued_and_offered_for_write_off(
    office: Client, clear: Material, shelf: Shelf
) -> None:
    lot = shelf.lot(clear, "3", number="OLD", expires_in=-2, cost="20")
    shelf.lot(clear, "3", number="NEW", cost="20")
    page = office.get(reverse("desk_buying"))
    assert "Expired, still in stock 1 lot $60.00" in words(page)
    assert "Clear coat, lot OLD 3 L" in words(page)
    assert reverse("stock_write_off", args=[lot.pk]) in page.text
    assert f"{reverse('lots')}?state=expired" in page.text


def test_the_shops_window_decides_what_expires_soon(office: Client, clear: Material, shelf: Shelf) -> None:
    shelf.lot(clear, "2", number="A", expires_in=20, cost="10")
    shelf.lot(clear, "3", number="B", expires_in=50, cost="10")
    assert "Expire soon 1 lot $20.00" in desk(office)
    shop = Shop.current()
    shop.expiring_days = 50
    shop.save()
    assert "Expire soon 2 lots $50.00" in desk(office)
    assert "Within 50 days" in desk(office)


def test_a_material_short_of_what_is_booked_is_named_with_what_is_missing(
    office: Client, clear: Material, liner: Material, shelf: Shelf, today: date
) -> None:
    shelf.lot(clear, "2")
    shelf.lot(clear, "9", number="OLD", expires_in=-1)
    shelf.lot(liner, "100")
    book(material=clear, quantity=D("3.5"), needed_on=today, holder="Job 1")
    book(material=liner, quantity=D(100), needed_on=today, holder="Job 1")
    page = desk(office)
    assert "Short of what is booked 1 material" in page
    assert "Clear coat 2 L usable, 3.5 L booked short 1.5 L missing" in page


def test_it_shows_the_value_of_stock_and_the_last_deliveries(office: Client, clear: Material, shelf: Shelf) -> None:
    shelf.lot(clear, "2", cost="10.25")
    shelf.lot(clear, "3", number="B", cost="30")
    page = desk(office)
    assert "Value of stock $110.50" in page
    assert "DN 1 1 lot, Office Person" in page


def test_lots_in_quarantine_are_listed(office: Client, clear: Material, shelf: Shelf) -> None:
    lot = shelf.lot(clear, "2", number="Q-1")
    assert "In quarantine" not in desk(office)
    quarantine_lot(lot=lot, reason="dented", by=person("office"))
    assert "In quarantine Clear coat, lot Q-1 2 L" in desk(office)


def test_materials_without_a_usual_pack_are_named(office: Client, can: Pack, liner: Material, shelf: Shelf) -> None:
    shelf.lot(liner, "5")
    Material.objects.create(code="OLD", name="Old sealer", kind="coating", is_active=False)
    page = office.get(reverse("desk_buying"))
    assert list(page.context["unpriced"]) == [liner]
    assert reverse("pack_new", args=[liner.pk]) in page.text


def test_a_long_list_is_cut_and_says_so(office: Client, clear: Material, shelf: Shelf) -> None:
    for number in range(8):
        shelf.lot(clear, "1", number=f"L-{number}", expires_in=-1)
    assert "2 more" in desk(office)


def test_it_leads_to_the_reorder_list(office: Client, clear: Material, shelf: Shelf) -> None:
    shelf.lot(clear)
    assert reverse("reorder_list") in office.get(reverse("desk_buying")).text


@pytest.mark.parametrize("done", range(4))
def test_a_new_shop_is_led_step_by_step(done: int, office: Client) -> None:
    if done > 0:
        supplier = Supplier.objects.create(name="S")
    if done > 1:
        material = Material.objects.create(code="M", name="M", kind="coating")
    if done > 2:
        Pack.objects.create(material=material, supplier=supplier, description="1 L", content=D(1), price=D(1))
    page = office.get(reverse("desk_buying"))
    assert [step.state for step in page.context["steps"]] == ["done"] * done + ["now"] + ["later"] * (3 - done)
    words_now, address = [
        ("Enter a supplier", reverse("supplier_new")),
        ("Enter your materials", reverse("material_new")),
        ("Give each its packs", reverse("materials")),
        ("Book what is on the shelf", reverse("receive")),
    ][done]
    assert page.context["next_step"].words == words_now
    assert f'href="{address}"' in page.text
