"""The page of a delivery without an order names the orders that are awaited, so that nobody types what is known."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from finishing.models import User
from inventory.models import Pack
from inventory.selectors_orders import FEW
from tests.inventory.orders.buying import draft, sent
from tests.inventory.pages.shop import words

pytestmark = pytest.mark.django_db


def named(page: Any) -> list[str]:
    return [order.label for order in page.context["awaited"].first]


def test_late_orders_come_first_and_the_list_has_the_rest(desk: Client, buyer: User, can: Pack) -> None:
    assert "Is it for an order?" not in desk.get(reverse("receive")).text
    draft(buyer, (can, 1))
    for days in (5, -2, 3):
        sent(buyer, (can, 1), promised_in=days)
    page = desk.get(reverse("receive"))
    assert named(page) == ["P-0003", "P-0004", "P-0002"]
    assert reverse("purchase_order_receive", args=[page.context["awaited"].first[0].pk]) in page.text
    assert "more" not in words(page).partition("Is it for an order?")[2].partition("Scan or paste")[0]
    for _ in range(FEW):
        sent(buyer, (can, 1), promised_in=9)
    page = desk.get(reverse("receive"))
    assert len(named(page)) == FEW
    assert "And 3 more: all that is awaited" in words(page)
    scanned = desk.post(reverse("scan"), {"scan": "B-1", "rows-TOTAL_FORMS": "1", "rows-INITIAL_FORMS": "0"})
    assert named(scanned) == named(page)
