"""The invented shop awaits an order, and got a part of another at another price; its codes can be scanned."""

from __future__ import annotations

import pytest
from django.utils import timezone

from costing.demo.catalogue import load_materials, load_shop
from costing.demo.orders import load_orders
from inventory.models import Posting
from inventory.selectors_orders import awaited, standings
from inventory.services.prices import paid_otherwise
from inventory.services.scanning_orders import OnOrder, understand_for

pytestmark = pytest.mark.django_db


def test_one_order_is_awaited_and_one_is_late_in_part() -> None:
    today, people = timezone.localdate(), load_shop()
    load_materials()
    first, second = load_orders(people=people, today=today)
    found = awaited(today)
    assert ([order.pk for order in found.coming], [order.pk for order in found.overdue]) == ([first.pk], [second.pk])
    assert [one.words for one in standings(second)] == ["1 still to come", "1 more than ordered", "1 still to come"]
    [paid] = paid_otherwise(Posting.objects.get())
    assert paid.is_dearer
    known = [pack for pack in (line.line.pack for line in standings(first)) if pack.gtin]
    read = understand_for(f"01{known[0].gtin.zfill(14)}10L1", awaited=standings(first), today=today)
    assert isinstance(read, OnOrder)
    assert read.pack == known[0]
