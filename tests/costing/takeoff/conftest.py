"""An estimate whose takeoff is edited, and the people at its pages."""

from __future__ import annotations

import pytest
from django.test import Client

from costing.models import Estimate
from finishing import show
from finishing.models import Shop
from finishing.units import UnitSystem
from tests.costing.pages.shop import Browser, browser, make_estimate


@pytest.fixture
def as_role(db: None) -> Browser:
    return browser


@pytest.fixture
def estimator(db: None) -> Client:
    return browser("estimator")


@pytest.fixture
def estimate(db: None) -> Estimate:
    return make_estimate()


@pytest.fixture
def us_shop(db: None) -> Shop:
    """A shop that reads US units."""
    shop = Shop(unit_system=UnitSystem.US)
    shop.save()
    show.use(None)
    return shop
