"""A hand scanner types a code and presses Enter: rows fill one after the other, and nothing is booked by it."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import expect

from inventory.models import Lot, Material, Pack, Posting, Supplier

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Page

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
CODE = "]C10109506000134352172812311"


@pytest.fixture
def can(live_server: object) -> Pack:
    """A can whose code is known. The live server is part of it: what it sees is really stored."""
    del live_server
    clear = Material.objects.create(code="CLEAR", name="Clear coat", kind="coating")
    yard = Supplier.objects.create(name="North Yard (invented)")
    return Pack.objects.create(
        material=clear, supplier=yard, description="5 L can", content=Decimal(5), price=Decimal(106), gtin="9506000134352"
    )


def test_codes_scanned_one_after_the_other_fill_rows(signed_in: Callable[..., Page], live_server: object, can: Pack) -> None:
    page = signed_in("office")
    page.goto(f"{live_server}/receive/")
    page.get_by_label("Delivery note").fill("DN 5")
    page.get_by_label("Scan or paste a code").focus()
    for number, lot in enumerate(("0LOT7A", "0LOT7A", "0LOT8"), start=1):
        page.keyboard.type(CODE + lot)
        page.keyboard.press("Enter")
        expect(page.locator("#scan-said")).to_contain_text(("Row 1: Clear", "Row 1, 1 more", "Row 2: Clear")[number - 1])
        expect(page.get_by_label("Scan or paste a code")).to_be_focused()
    expect(page.get_by_label("Lot number, row 1")).to_have_value("LOT7A")
    expect(page.get_by_label("How many, row 1")).to_have_value("2")
    expect(page.get_by_label("Expires on, row 2")).to_have_value("2028-12-31")
    expect(page.get_by_label("Delivery note")).to_have_value("DN 5")
    assert page.url.endswith("/receive/")
    assert Posting.objects.count() == 0
    page.get_by_role("button", name="Book the delivery").click()
    page.get_by_text("is booked.").wait_for()
    assert dict(Lot.objects.values_list("number", "on_hand")) == {"LOT7A": 10, "LOT8": 5}


def test_a_scanner_works_without_script(
    new_context: Callable[..., BrowserContext], signed_in: Callable[..., Page], live_server: object, can: Pack
) -> None:
    page = signed_in("office", on=new_context(java_script_enabled=False).new_page())
    page.goto(f"{live_server}/receive/")
    page.get_by_label("Scan or paste a code").fill(f"{CODE}0LOT7A")
    page.get_by_label("Scan or paste a code").press("Enter")
    expect(page.locator("#scan-said")).to_contain_text("Row 1: Clear coat")
    page.get_by_label("Delivery note").fill("DN 6")
    page.get_by_role("button", name="Book the delivery").click()
    page.get_by_text("is booked.").wait_for()
    assert Lot.objects.get().number == "LOT7A"
