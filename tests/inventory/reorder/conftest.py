"""A small shop with something to buy."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.utils import timezone

from finishing.models import User
from inventory.models import Material, Pack, Supplier

D = Decimal


@pytest.fixture
def today() -> date:
    return timezone.localdate()


@pytest.fixture
def office() -> User:
    return User.objects.create_user("office", password="x", is_office=True)


@pytest.fixture
def supplier() -> Supplier:
    return Supplier.objects.create(
        name="North Yard (invented)", lead_time_days=D(7), lead_time_sd_days=D(0), minimum_order=D(500)
    )


@pytest.fixture
def clear(supplier: Supplier) -> Material:
    """Three litres a week, sold in cans of 5 L at 109."""
    material = Material.objects.create(
        code="CLEAR", name="Clear", kind="coating", weekly_use=D(3), weekly_use_sd=D(0), shelf_life_days=365
    )
    Pack.objects.create(
        material=material, supplier=supplier, description="5 L can", content=D(5), price=D("109.00"), is_usual=True
    )
    return material
