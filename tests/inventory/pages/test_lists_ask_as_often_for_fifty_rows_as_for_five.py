"""Query counts: a page asks the database as often for many rows as for few."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import Lot, Material, Pack, Supplier
from inventory.services.bookings import book
from tests.inventory.pages.shop import Shelf

D = Decimal


def fill(shelf: Shelf, since: int, until: int) -> None:
    """Materials with two packs, two lots, an issue and a booking each; two more lots and packs of the first material."""
    supplier, _ = Supplier.objects.get_or_create(name="First")
    first, _ = Material.objects.get_or_create(code="FIRST", defaults={"name": "First", "kind": "coating", "open_life_days": 9})
    for number in range(since, until):
        Supplier.objects.create(name=f"Supplier {number}")
        material = Material.objects.create(code=f"M{number}", name=f"Material {number}", kind="coating", open_life_days=20)
        for content in (1, 5):
            for of in (material, first):
                Pack.objects.create(material=of, supplier=supplier, description=f"{content} L", content=D(content), price=D(9))
        for expires in (-5, 10, 90):
            shelf.lot(material, "4", number=f"{number}/{expires}", expires_in=expires, supplier=supplier)
            shelf.lot(first, "4", number=f"F{number}/{expires}", expires_in=expires, supplier=supplier)
        shelf.take(material, "1")
        shelf.take(first, "5")
        for of in (material, first):
            book(material=of, quantity=D(30), needed_on=shelf.today, holder=f"Job {number}")


def queries(client: Client, address: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        response = client.get(address)
    assert response.status_code == 200
    return len(captured)


def pages() -> dict[str, str]:
    material = Material.objects.get(code="FIRST")
    lot = Lot.objects.filter(material=material).latest("pk")
    posting = lot.movements.first().posting_id
    return {
        "materials": reverse("materials"),
        "material": material.get_absolute_url(),
        "suppliers": reverse("suppliers"),
        "supplier": Supplier.objects.get(name="First").get_absolute_url(),
        "lots": reverse("lots"),
        "expired lots": reverse("lots", query={"state": "expired"}),
        "lot": lot.get_absolute_url(),
        "receive": reverse("receive"),
        "choose": reverse("stock_issue"),
        "issue": reverse("stock_issue", query={"material": material.pk}),
        "proposal": reverse("issue_proposal", args=[material.pk], query={"quantity": "7"}),
        "moves": reverse("stock_moves"),
        "posting": reverse("posting", args=[posting]),
        "desk": reverse("desk_buying"),
    }


@pytest.mark.slow
def test_no_page_asks_more_often_when_there_is_more_to_show(office: Client, shelf: Shelf) -> None:
    fill(shelf, 0, 5)
    office.get(reverse("lots"))  # the first page of a process reads what later pages have in memory
    few = {name: queries(office, address) for name, address in pages().items()}
    fill(shelf, 5, 50)
    many = {name: queries(office, address) for name, address in pages().items()}
    assert many == few
    assert max(many.values()) <= 20
