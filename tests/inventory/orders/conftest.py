"""A small shop that buys two materials from one supplier, and one from another."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.utils import timezone

from finishing import show
from finishing.models import User
from inventory.models import Material, Pack, Supplier

D = Decimal


@pytest.fixture(autouse=True)
def fresh_preferences() -> None:
    """No test sees the currency that another test chose."""
    show.use(None)


@pytest.fixture
def today() -> date:
    return timezone.localdate()


@pytest.fixture
def buyer(db: None) -> User:
    return User.objects.create_user("office", password="x", is_office=True)


@pytest.fixture
def desk(client: Client, buyer: User) -> Client:
    client.force_login(buyer)
    return client


@pytest.fixture
def supplier(db: None) -> Supplier:
    return Supplier.objects.create(name="North Yard (invented)", lead_time_days=D("4.5"), account_number="A-77")


@pytest.fixture
def can(supplier: Supplier) -> Pack:
    """5 L of a coating at 23.60, with a need of two litres a week."""
    material = Material.objects.create(code="CLEAR", name="Clear", kind="coating", weekly_use=D(2), weekly_use_sd=D(0))
    return Pack.objects.create(
        material=material,
        supplier=supplier,
        supplier_code="NY-5",
        description="5 L can",
        content=D(5),
        price=D("23.60"),
        is_usual=True,
    )


@pytest.fixture
def box(supplier: Supplier) -> Pack:
    """A box of 50 strainers at 3.335: a price that needs rounding."""
    material = Material.objects.create(code="STRAIN", name="=1+1 <b>Strainer €</b>", kind="strainer", stock_unit="pcs")
    return Pack.objects.create(
        material=material, supplier=supplier, description="Box of 50", content=D(50), price=D("3.335"), is_usual=True
    )


@pytest.fixture
def drum(db: None) -> Pack:
    """20 L of a thinner from somebody else, of which at least two are sold."""
    other = Supplier.objects.create(name="South Yard (invented)")
    material = Material.objects.create(code="THIN", name="Thinner", kind="thinner", weekly_use=D(9), weekly_use_sd=D(0))
    return Pack.objects.create(
        material=material, supplier=other, description="20 L drum", content=D(20), price=D(60), is_usual=True, minimum_packs=2
    )
