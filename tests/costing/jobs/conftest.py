"""The people and the shop that recur in the tests of jobs."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client

from costing.models import Job
from finishing.models import User
from tests.costing.jobs.finish_shop import FinishShop

BACKEND = "finishing.auth.RoleBackend"


@pytest.fixture
def owner(db: None) -> User:
    """May do everything."""
    return User.objects.create_user("owner", is_owner=True)


@pytest.fixture
def finisher(db: None) -> User:
    """Logs work, and may not use an expired lot."""
    return User.objects.create_user("finisher", is_finisher=True)


@pytest.fixture
def mate(db: None) -> User:
    """Another finisher."""
    return User.objects.create_user("mate", is_finisher=True)


@pytest.fixture
def estimator(db: None) -> User:
    """Writes and accepts quotes."""
    return User.objects.create_user("estimator", is_estimator=True)


@pytest.fixture
def office(db: None) -> User:
    """Buys, and accepts quotes."""
    return User.objects.create_user("office", is_office=True)


@pytest.fixture
def stranger(db: None) -> User:
    """Signed in, without any role."""
    return User.objects.create_user("stranger")


@pytest.fixture
def shop(owner: User) -> FinishShop:
    """The shop without stock."""
    return FinishShop(by=owner)


@pytest.fixture
def stocked(shop: FinishShop) -> FinishShop:
    """The shop with stock on the shelf."""
    shop.stock()
    return shop


@pytest.fixture
def job(stocked: FinishShop) -> Job:
    """An accepted job, material on the shelf."""
    return stocked.job()


@pytest.fixture
def as_(client: Client) -> Callable[[User], Client]:
    """``as_(finisher)``: a browser in which that person is signed in."""

    def sign_in(person: User) -> Client:
        client.force_login(person, backend=BACKEND)
        return client

    return sign_in
