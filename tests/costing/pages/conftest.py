"""People and the shop at the catalogue pages."""

from __future__ import annotations

import pytest
from django.test import Client

from tests.costing.pages.shop import Browser, Workshop, browser, make_workshop


@pytest.fixture
def as_role(db: None) -> Browser:
    """``as_role("finisher")``: a browser in which somebody of that role is signed in."""
    return browser


@pytest.fixture
def estimator(db: None) -> Client:
    return browser("estimator")


@pytest.fixture
def workshop(db: None) -> Workshop:
    return make_workshop()
