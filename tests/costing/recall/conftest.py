"""A shop that has sprayed two jobs for two customers out of the same lots."""

from __future__ import annotations

from uuid import uuid4

import pytest

from costing.models import Customer, Job
from costing.services.jobs import accept_quote
from finishing import show
from finishing.models import User
from inventory.models import Supplier
from tests.costing.jobs.conftest import as_, estimator, finisher, mate, office, owner, shop, stocked, stranger
from tests.costing.jobs.finish_shop import FinishShop, today

__all__ = ["as_", "estimator", "finisher", "mate", "office", "owner", "shop", "stocked", "stranger"]


@pytest.fixture(autouse=True)
def fresh_preferences() -> None:
    """No test sees units that another test chose."""
    show.use(None)


@pytest.fixture
def kitchen(stocked: FinishShop) -> Job:
    """A job of Invented Kitchens, who can be reached."""
    made = stocked.job()
    Customer.objects.update(contact="Ida", phone="555 0101", email="ida@kitchens.example", address="1 Made-up Street\nNowhere")
    return made


@pytest.fixture
def hotel(stocked: FinishShop, kitchen: Job, owner: User) -> Job:
    """A job of somebody else."""
    quote = stocked.quote()
    other = Customer.objects.create(name="Hotel of Nowhere", phone="555 0199")
    quote.customer = other
    quote.save(update_fields=["customer"])
    option = quote.options.get()
    return accept_quote(key=uuid4(), by=owner, quote=quote, option=option, starts_on=today(7), today=today())


@pytest.fixture
def supplier(db: None) -> Supplier:
    return Supplier.objects.create(name="Second Source (invented)")
