"""Packs: contents with units and containers, prices, and the one that the shop usually buys."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from finishing.models import Shop
from inventory.models import Material, Pack, Supplier
from inventory.services.packs import save_pack
from tests.inventory.pages.shop import errors, words

D = Decimal


def send(client: Client, material: Material, sold_by: Supplier, /, **more: str) -> Any:
    form = {"supplier": str(sold_by.pk), "content": "5 L", "price": "106", "minimum_packs": "1", "is_active": "on"}
    return client.post(reverse("pack_new", args=[material.pk]), {**form, **more})


@pytest.mark.parametrize(
    ("unit", "typed", "content"),
    [
        ("L", "5 L", "5"),
        ("L", "5", "5"),
        ("L", "1 gal", "3.785412"),
        ("L", "5 L can", "5"),
        ("L", "1 gal jug", "3.785412"),
        ("L", "can of 2.5 L", "2.5"),
        ("kg", "500 g", "0.5"),
        ("pcs", "50", "50"),
        ("pcs", "box of 50", "50"),
        ("pcs", "a box of 1,000", "1000"),
        ("m", "roll of 50 m", "50"),
        ("m", "180 ft", "54.864"),
        ("m²", "200 sq ft", "18.580608"),
    ],
)
def test_the_content_is_read_as_people_say_it(unit: str, typed: str, content: str, office: Client, supplier: Supplier) -> None:
    material = Material.objects.create(code="M", name="M", kind="other", stock_unit=unit)
    assert send(office, material, supplier, content=typed).status_code == 302
    assert Pack.objects.get().content == D(content)


def test_a_us_shop_types_gallons(office: Client, clear: Material, supplier: Supplier, us_shop: Shop) -> None:
    send(office, clear, supplier, content="5", price="95")
    assert Pack.objects.get().content == D("18.927059")
    assert Pack.objects.get().description == "5 gal"


def test_a_pack_is_called_after_what_was_typed(office: Client, clear: Material, supplier: Supplier) -> None:
    send(office, clear, supplier, content="5 L can")
    send(office, clear, supplier, content="20")
    send(office, clear, supplier, content="20 L", description="Big pail")
    assert set(Pack.objects.values_list("description", flat=True)) == {"5 L can", "20 L", "Big pail"}


def test_saving_tells_the_price_per_unit(office: Client, clear: Material, supplier: Supplier) -> None:
    page = office.get(send(office, clear, supplier, content="5 L can", price="$106.50").url)
    assert "5 L can is saved: $21.30 per L." in words(page)


def test_the_price_per_unit_follows_while_one_types(office: Client, clear: Material) -> None:
    address = reverse("pack_price", args=[clear.pk])
    assert "That is $20.00 per L." in words(office.get(address, {"content": "2.5 L", "price": "50"}))
    assert "That is" not in words(office.get(address, {"content": "2.5 L", "price": "cheap"}))
    assert "That is" not in words(office.get(address, {"content": "0", "price": "50"}))
    assert "That is" not in words(office.get(address))


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("supplier", "", "Fill this in"),
        ("supplier", "999", "one of those listed"),
        ("content", "", "Write how much is in one pack."),
        ("content", "big", "can't be read as a volume"),
        ("content", "0", "above 0 L"),
        ("content", "-5 L", "above 0 L"),
        ("content", "5 kg", "this needs a volume"),
        ("content", "nan", "can't be read"),
        ("content", "1000001 L", "1000000 L or less"),
        ("content", "2,5", "comma"),
        ("price", "", "Write the price"),
        ("price", "cheap", "can’t be read as an amount"),
        ("price", "-1", "0 or more"),
        ("price", "NaN", "ordinary number"),
        ("price", "1e30", "far too large"),
        ("gtin", "123", "8, 12, 13 or 14 digits"),
        ("minimum_packs", "0", "greater than or equal to 1"),
        ("minimum_packs", "1.5", "whole number"),
        ("minimum_packs", "99999999999999999999", "less than or equal to"),
    ],
)
def test_bad_input_is_told_at_its_field_and_nothing_is_saved(
    field: str, typed: str, told: str, office: Client, clear: Material, supplier: Supplier
) -> None:
    response = send(office, clear, supplier, **{"supplier_code": "keep-me", field: typed})
    assert list(errors(response)) == [field]
    assert told in errors(response)[field][0]
    assert response.context["form"][field].value() == typed
    assert "keep-me" in response.text
    assert not Pack.objects.exists()


def test_marking_a_pack_as_usual_takes_the_mark_from_the_other(office: Client, can: Pack, supplier: Supplier) -> None:
    send(office, can.material, supplier, content="20 L", is_usual="on")
    assert list(Pack.objects.filter(is_usual=True).values_list("description", flat=True)) == ["20 L"]
    can.refresh_from_db()
    assert not can.is_usual
    assert can.history.first().is_usual is False


def test_a_pack_that_cannot_be_saved_leaves_the_mark_where_it_was(can: Pack, supplier: Supplier) -> None:
    other = Pack(material=can.material, supplier=supplier, description="bad", content=D(0), price=D(1), is_usual=True)
    with pytest.raises(ValidationError):
        save_pack(pack=other)
    can.refresh_from_db()
    assert can.is_usual
    assert Pack.objects.count() == 1


def test_a_pack_of_another_material_keeps_its_mark(office: Client, can: Pack, liner: Material, supplier: Supplier) -> None:
    send(office, liner, supplier, content="box of 50", is_usual="on")
    assert Pack.objects.filter(is_usual=True).count() == 2


def test_what_is_not_on_sale_is_not_the_usual_pack(office: Client, can: Pack) -> None:
    form = {"supplier": can.supplier_id, "content": "5", "price": "106", "description": "5 L can", "minimum_packs": "1"}
    response = office.post(reverse("pack_edit", args=[can.pk]), {**form, "is_usual": "on"})
    assert "not on sale" in errors(response)["is_usual"][0]


def test_the_first_pack_is_offered_as_the_usual_one(office: Client, clear: Material, can: Pack, liner: Material) -> None:
    assert office.get(reverse("pack_new", args=[liner.pk])).context["form"]["is_usual"].value() is True
    assert office.get(reverse("pack_new", args=[clear.pk])).context["form"]["is_usual"].value() is False


def test_a_form_sent_twice_makes_one_pack(office: Client, can: Pack, supplier: Supplier) -> None:
    assert send(office, can.material, supplier, content="20 L").status_code == 302
    again = send(office, can.material, supplier, content="20 L")
    assert "entered already" in errors(again)["content"][0]
    assert Pack.objects.filter(content=20).count() == 1
    assert send(office, can.material, supplier, content="20 L", supplier_code="other").status_code == 302


def test_two_packs_do_not_share_a_bar_code(office: Client, can: Pack, supplier: Supplier) -> None:
    can.gtin = "40123455"
    can.save()
    response = send(office, can.material, supplier, gtin="4012 3455")
    assert "Another pack has this GTIN." in str(errors(response))
    assert Pack.objects.count() == 1
