"""Signing in by the form, in a real browser."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest

from finishing.roles import Role

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("role", list(Role))
def test_each_role_reaches_its_own_opening_page(signed_in: Callable[..., Page], role: Role) -> None:
    page = signed_in(role.value)
    assert page.get_by_role("heading", level=1).count() == 1
    assert page.get_by_role("button", name="Sign out").count() == 1


def test_a_wrong_password_is_refused_and_the_name_stays(page: Page, live_server: object) -> None:
    page.goto(f"{live_server}/sign-in/")
    page.get_by_label("Username").fill("nobody-here")
    page.get_by_label("Password").fill("not-the-password")
    page.get_by_role("button", name="Sign in").click()
    assert page.get_by_label("Username").input_value() == "nobody-here"
    assert page.get_by_text("correct username and password").is_visible()
