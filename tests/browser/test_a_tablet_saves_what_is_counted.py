"""Counting on a tablet: fields are saved as they are left, in spite of a lost connection or a sign-out; without script too."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import TYPE_CHECKING
from uuid import uuid4

import pytest
from django.contrib.sessions.models import Session
from django.utils import timezone
from playwright.sync_api import expect

from finishing.models import User
from inventory.models import CountLine, Material, StockCount
from inventory.services.counting import open_count
from tests.browser.conftest import TABLET
from tests.inventory.pages.shop import Shelf

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Page

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
D = Decimal
AGAIN = 15_000  # milliseconds: longer than it takes until a line is sent again


@pytest.fixture
def count(live_server: object) -> StockCount:
    """Two lots to count. The live server is part of it: what it sees is really stored."""
    del live_server
    by = User.objects.create(username="keeper", is_office=True)
    clear = Material.objects.create(code="CLEAR", name="Clear coat", kind="coating")
    shelf = Shelf(by=by, today=timezone.localdate())
    for number in ("A-1", "A-2"):
        shelf.lot(clear, "10", number=number)
    return open_count(key=uuid4(), by=by)


def counted() -> dict[str, Decimal | None]:
    """What is stored of each lot."""
    return dict(CountLine.objects.values_list("lot__number", "counted"))


def test_fields_are_saved_as_they_are_left_and_nothing_is_lost(
    new_context: Callable[..., BrowserContext], signed_in: Callable[..., Page], live_server: object, count: StockCount
) -> None:
    context = new_context(viewport=TABLET)
    page = signed_in("finisher", on=context.new_page())
    page.goto(f"{live_server}/counts/{count.pk}/enter/")
    first, second = (page.get_by_label(f"Counted: Clear coat, lot {number}") for number in ("A-1", "A-2"))
    lines = page.locator("[data-count-line]")
    first.fill("9.5")
    expect(lines.nth(0)).to_contain_text("Not saved yet")
    first.press("Enter")
    expect(second).to_be_focused()
    expect(lines.nth(0)).to_contain_text("saved 9.5 L")
    assert counted() == {"A-1": D("9.5"), "A-2": None}

    context.set_offline(True)
    second.fill("8")
    second.press("Enter")
    expect(lines.nth(1)).to_contain_text("no connection")
    context.set_offline(False)
    expect(lines.nth(1)).to_contain_text("saved 8 L", timeout=AGAIN)

    Session.objects.all().delete()
    first.fill("9.4")
    first.press("Enter")
    expect(lines.nth(0)).to_contain_text("you are signed out")
    expect(first).to_have_value("9.4")
    signed_in("finisher", on=context.new_page())
    expect(lines.nth(0)).to_contain_text("saved 9.4 L", timeout=AGAIN)
    assert counted() == {"A-1": D("9.4"), "A-2": D(8)}

    first.fill("lots")
    first.press("Enter")
    expect(lines.nth(0)).to_contain_text("be read as a volume")
    expect(first).to_have_value("lots")


def test_the_button_saves_all_without_script(
    new_context: Callable[..., BrowserContext], signed_in: Callable[..., Page], live_server: object, count: StockCount
) -> None:
    page = signed_in("finisher", on=new_context(java_script_enabled=False, viewport=TABLET).new_page())
    page.goto(f"{live_server}/counts/{count.pk}/enter/")
    page.get_by_label("Counted: Clear coat, lot A-1").fill("9")
    page.get_by_label("Counted: Clear coat, lot A-2").fill("0")
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_text("2 lines saved.").wait_for()
    assert counted() == {"A-1": 9, "A-2": 0}
