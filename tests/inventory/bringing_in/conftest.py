"""People, an invented supplier, and short ways to bring a list in."""

from __future__ import annotations

import pytest
from django.test import Client

from finishing import show
from finishing.models import User
from inventory.models import Supplier
from tests.inventory.pages.shop import person


@pytest.fixture(autouse=True)
def fresh_preferences() -> None:
    """No test sees units that another test chose."""
    show.use(None)


@pytest.fixture
def by(db: None) -> User:
    return person("office")


@pytest.fixture
def office(by: User) -> Client:
    client = Client()
    client.force_login(by, backend="finishing.auth.RoleBackend")
    return client


@pytest.fixture
def yard(db: None) -> Supplier:
    return Supplier.objects.create(name="North Yard (invented)")
