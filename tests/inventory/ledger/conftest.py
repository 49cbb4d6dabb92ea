"""People and materials that recur in the tests of the ledger."""

from __future__ import annotations

import pytest

from finishing.models import User
from inventory.models import Material
from tests.inventory.ledger.counter import Counter


@pytest.fixture
def finisher(db: None) -> User:
    """Who moves stock."""
    return User.objects.create_user("finisher", is_finisher=True)


@pytest.fixture
def mate(db: None) -> User:
    """Somebody else with the same rights."""
    return User.objects.create_user("mate", is_finisher=True)


@pytest.fixture
def clear(db: None) -> Material:
    """A clear coat, kept in litres."""
    return Material.objects.create(code="CLEAR", name="Clear coat", kind="coating", shelf_life_days=365, open_life_days=30)


@pytest.fixture
def thinner(db: None) -> Material:
    """A thinner that never goes out of date."""
    return Material.objects.create(code="THIN", name="Thinner", kind="thinner")


@pytest.fixture
def counter(finisher: User) -> Counter:
    """The stock counter of the finisher: short ways to the ledger's verbs."""
    return Counter(by=finisher)
