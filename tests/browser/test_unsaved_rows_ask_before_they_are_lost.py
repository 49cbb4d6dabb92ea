"""A form that keeps unsaved rows asks before its page is left, and lets go once it is sent."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Page

SCRIPT = Path(__file__).resolve().parents[2] / "finishing" / "static" / "finishing" / "house.js"


@pytest.fixture
def page(new_context: Callable[..., BrowserContext]) -> Page:
    """One form that asks and one that does not; leaving the page is tried without going anywhere."""
    made = new_context().new_page()
    made.set_content('<form id="rows" method="post" data-unsaved><input name="a"></form><form id="other"><input name="b"></form>')
    made.evaluate("() => { window.addEventListener('submit', (event) => { window.sent = true; }); }")
    made.add_script_tag(content=SCRIPT.read_text(encoding="utf-8"))
    return made


def asks(page: Page) -> bool:
    """Whether leaving now would be questioned."""
    return bool(page.evaluate("!window.dispatchEvent(new Event('beforeunload', {cancelable: true}))"))


def test_an_untouched_form_lets_go(page: Page) -> None:
    assert not asks(page)


def test_a_changed_form_asks(page: Page) -> None:
    page.fill("[name=a]", "715")
    assert asks(page)


def test_another_form_does_not_ask(page: Page) -> None:
    page.fill("[name=b]", "x")
    assert not asks(page)


def test_a_form_that_is_sent_lets_go(page: Page) -> None:
    page.fill("[name=a]", "715")
    page.evaluate("document.getElementById('rows').dispatchEvent(new Event('submit', {bubbles: true, cancelable: true}))")
    assert not asks(page)


def test_a_form_that_came_back_refused_asks_at_once(page: Page) -> None:
    page.evaluate("document.getElementById('rows').dataset.changed = ''")
    assert asks(page)
