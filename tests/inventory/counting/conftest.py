"""Two places with lots, and the people who count and post."""

from __future__ import annotations

import pytest
from django.test import Client
from django.utils import timezone

from finishing import show
from finishing.models import User
from inventory.models import Location, Lot, Material
from tests.inventory.counting.counted import Round
from tests.inventory.pages.shop import Shelf, person


@pytest.fixture(autouse=True)
def fresh_preferences() -> None:
    """No test sees the units that another test chose."""
    show.use(None)


@pytest.fixture
def office(db: None) -> User:
    return person("office")


@pytest.fixture
def finisher(db: None) -> User:
    return person("finisher")


@pytest.fixture
def shelf(office: User) -> Shelf:
    return Shelf(by=office, today=timezone.localdate())


@pytest.fixture
def rack(db: None) -> Location:
    return Location.objects.create(name="Rack")


@pytest.fixture
def cabinet(db: None) -> Location:
    return Location.objects.create(name="Cabinet")


@pytest.fixture
def clear(db: None) -> Material:
    return Material.objects.create(code="CLEAR", name="Clear coat", kind="coating")


@pytest.fixture
def gloves(db: None) -> Material:
    return Material.objects.create(code="GLOVES", name="Gloves", kind="wear", stock_unit="pcs")


@pytest.fixture
def lot(shelf: Shelf, clear: Material, rack: Location) -> Lot:
    """10 L of a clear coat at 20 a litre on the rack."""
    return shelf.lot(clear, "10", number="A-1", location=rack)


@pytest.fixture
def round_(finisher: User, office: User) -> Round:
    """Counting and posting in short words."""
    return Round(counts=finisher, posts=office)


@pytest.fixture
def desk(office: User) -> Client:
    """The office's browser."""
    return _browser(office)


@pytest.fixture
def tablet(finisher: User) -> Client:
    """The finisher's browser."""
    return _browser(finisher)


def _browser(user: User) -> Client:
    client = Client()
    client.force_login(user, backend="finishing.auth.RoleBackend")
    return client
