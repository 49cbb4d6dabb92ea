"""The longest order that can be made can also be changed and received on its pages."""

from __future__ import annotations

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from finishing.models import User
from inventory.models import Lot, Material, Pack, PurchaseOrder, Supplier
from inventory.services.orders import MOST_LINES
from tests.inventory.orders.buying import D, draft, rows, sent

pytestmark = pytest.mark.django_db


@pytest.fixture
def packs(supplier: Supplier) -> list[Pack]:
    made = Material.objects.bulk_create(
        Material(code=f"M{place}", name=f"Material {place}", kind="strainer", stock_unit="pcs") for place in range(MOST_LINES)
    )
    return Pack.objects.bulk_create(
        Pack(material=one, supplier=supplier, description="Box", content=D(10), price=D(2)) for one in made
    )


def test_every_line_of_a_long_draft_can_be_changed(desk: Client, buyer: User, packs: list[Pack]) -> None:
    order = draft(buyer, *((pack, 1) for pack in packs))
    data = {"key": str(uuid.uuid4()), "rows-TOTAL_FORMS": str(MOST_LINES + 2), "rows-INITIAL_FORMS": str(MOST_LINES)}
    for place, pack in enumerate(packs):
        data |= {f"rows-{place}-pack": str(pack.pk), f"rows-{place}-packs": "2", f"rows-{place}-price": ""}
    assert desk.post(reverse("purchase_order_edit", args=[order.pk]), data).status_code == 302
    assert set(order.lines.values_list("packs", flat=True)) == {2}


def test_every_line_of_a_long_order_can_be_received_at_once(desk: Client, buyer: User, packs: list[Pack]) -> None:
    order = sent(buyer, *((pack, 1) for pack in packs))
    came = rows(order, *({"at": str(place), "packs": "1", "lot_number": f"L{place}"} for place in range(MOST_LINES)))
    assert desk.post(reverse("purchase_order_receive", args=[order.pk]), came).status_code == 302
    assert Lot.objects.count() == MOST_LINES
    assert PurchaseOrder.objects.get(pk=order.pk).status == "closed"
