"""The people and the shop that recur in the tests of estimates, quotes and their documents."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client

from finishing.models import User
from tests.costing.pricing.door_shop import DoorShop

BACKEND = "finishing.auth.RoleBackend"


@pytest.fixture
def estimator(db: None) -> User:
    """Prices jobs and writes quotes."""
    return User.objects.create_user("estimator", first_name="Ada", is_estimator=True)


@pytest.fixture
def mate(db: None) -> User:
    """Another estimator."""
    return User.objects.create_user("mate", is_estimator=True)


@pytest.fixture
def office(db: None) -> User:
    """Writes quotes and sees costs, but makes no estimates."""
    return User.objects.create_user("office", is_office=True)


@pytest.fixture
def finisher(db: None) -> User:
    """May see neither costs nor quotes."""
    return User.objects.create_user("finisher", is_finisher=True)


@pytest.fixture
def doors(estimator: User) -> DoorShop:
    """The worked example."""
    return DoorShop(by=estimator)


@pytest.fixture
def as_(client: Client) -> Callable[[User], Client]:
    """``as_(estimator)``: a browser in which that person is signed in."""

    def sign_in(person: User) -> Client:
        client.force_login(person, backend=BACKEND)
        return client

    return sign_in
