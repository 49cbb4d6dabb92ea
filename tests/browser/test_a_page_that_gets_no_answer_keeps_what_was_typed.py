"""A session that ended, or a network that is gone, is told on the page; nothing typed is lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest
from django.contrib.sessions.models import Session
from playwright.sync_api import expect

from inventory.models import Material, Pack, Supplier

if TYPE_CHECKING:
    from playwright.sync_api import Page

    from tests.browser.conftest import Complaints

NO_ANSWER = ("console: Response Status Error Code 401", "console: htmx:afterRequest", "console: htmx:sendError")
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture(autouse=True)
def can(live_server: object) -> Pack:
    """Something that can be received. The live server is part of it: what it sees is really stored."""
    del live_server
    clear = Material.objects.create(code="CLEAR", name="Clear coat", kind="coating")
    yard = Supplier.objects.create(name="North Yard (invented)")
    return Pack.objects.create(material=clear, supplier=yard, description="5 L can", content=Decimal(5), price=Decimal(106))


def scan(page: Page) -> None:
    page.get_by_label("Delivery note").fill("DN 5")
    page.get_by_label("Scan or paste a code").fill("LOT 7")
    page.get_by_label("Scan or paste a code").press("Enter")


@pytest.fixture(autouse=True)
def expected(complaints: Complaints) -> Iterator[None]:
    """The one thing that the console may report here is that there was no answer."""
    yield
    assert complaints.found
    complaints.found[:] = [words for words in complaints.found if not words.startswith(NO_ANSWER)]


def test_a_session_that_ended_is_told(signed_in: Callable[..., Page], live_server: object) -> None:
    page = signed_in("office")
    page.goto(f"{live_server}/receive/")
    Session.objects.all().delete()
    scan(page)
    expect(page.get_by_role("alert")).to_contain_text("You have been signed out")
    expect(page.get_by_label("Delivery note")).to_have_value("DN 5")
    expect(page.get_by_label("Password")).to_have_count(0)


def test_a_network_that_is_gone_is_told(signed_in: Callable[..., Page], live_server: object) -> None:
    page = signed_in("office")
    page.goto(f"{live_server}/receive/")
    page.context.set_offline(True)
    scan(page)
    expect(page.get_by_role("alert")).to_contain_text("The program can’t be reached")
    expect(page.get_by_label("Delivery note")).to_have_value("DN 5")
    page.context.set_offline(False)
