"""A small invented shop, and people of each role at its pages."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal

import pytest
from django.test import Client
from django.utils import timezone

from finishing import show
from finishing.models import Shop, User
from finishing.units import UnitSystem
from inventory.models import Location, Material, Pack, Supplier
from tests.inventory.pages.shop import Shelf, person

D = Decimal


@pytest.fixture
def today() -> date:
    return timezone.localdate()


@pytest.fixture
def as_role(db: None) -> Callable[[str], Client]:
    """``as_role("finisher")``: a browser in which that person is signed in."""

    def sign_in(role: str) -> Client:
        client = Client()
        client.force_login(person(role), backend="finishing.auth.RoleBackend")
        return client

    return sign_in


@pytest.fixture
def office(as_role: Callable[[str], Client]) -> Client:
    return as_role("office")


@pytest.fixture
def finisher(as_role: Callable[[str], Client]) -> Client:
    return as_role("finisher")


@pytest.fixture
def supplier(db: None) -> Supplier:
    return Supplier.objects.create(name="North Yard (invented)")


@pytest.fixture
def clear(db: None) -> Material:
    place = Location.objects.create(name="Shelf 3")
    return Material.objects.create(
        code="CLEAR", name="Clear coat", kind="coating", shelf_life_days=365, open_life_days=30, usual_location=place
    )


@pytest.fixture
def liner(db: None) -> Material:
    return Material.objects.create(code="LINER", name="Cup liner", kind="liner", stock_unit="pcs")


@pytest.fixture
def can(clear: Material, supplier: Supplier) -> Pack:
    return Pack.objects.create(
        material=clear, supplier=supplier, description="5 L can", content=D(5), price=D("106.00"), is_usual=True
    )


@pytest.fixture
def shelf(today: date) -> Shelf:
    """Short ways to put lots on the shelf, by the ledger."""
    return Shelf(by=person("office"), today=today)


@pytest.fixture
def us_shop(db: None) -> Shop:
    """A shop that reads US units."""
    shop = Shop.current()
    shop.unit_system = UnitSystem.US
    shop.save()
    return shop


@pytest.fixture(autouse=True)
def fresh_preferences() -> None:
    """No test sees units that another test chose."""
    show.use(None)


@pytest.fixture
def owner_user(db: None) -> User:
    return person("owner")
