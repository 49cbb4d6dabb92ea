"""A small invented shop with its places, and people of each role at its pages."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest
from django.test import Client
from django.utils import timezone

from finishing import show
from finishing.models import User
from inventory.models import Location, Material
from tests.inventory.ledger.counter import Counter
from tests.inventory.pages.shop import person


@pytest.fixture(autouse=True)
def fresh_preferences() -> None:
    """No test sees units that another test chose."""
    show.use(None)


@pytest.fixture
def today() -> date:
    return timezone.localdate()


@pytest.fixture
def by(db: None) -> User:
    return person("office")


@pytest.fixture
def counter(by: User) -> Counter:
    """The office's short ways to the ledger."""
    return Counter(by=by)


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
def shelf_a(db: None) -> Location:
    return Location.objects.create(name="Shelf A")


@pytest.fixture
def booth(db: None) -> Location:
    return Location.objects.create(name="Booth", kind="booth")


@pytest.fixture
def apart(db: None) -> Location:
    return Location.objects.create(name="Quarantine shelf", kind="quarantine")


@pytest.fixture
def cabinet(db: None) -> Location:
    return Location.objects.create(name="Cabinet", kind="flammables", limit_category_1_to_3="30", limit_category_4="60")


@pytest.fixture
def clear(db: None) -> Material:
    """A clear coat of category 3, kept in litres."""
    return Material.objects.create(
        code="CLEAR", name="Clear coat", kind="coating", shelf_life_days=365, open_life_days=30, flammable_category=3
    )
