"""Chromium for the tests of this folder, without a plugin and without a trace in the tests that follow.

The synchronous interface of Playwright keeps an event loop running in the main thread. While it runs, Django takes every
database call for one from asynchronous code and refuses it. So the browser lives as long as this folder's tests, Django's
guard is off for just as long, and both are back in place for the next test of the same process.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import pytest

from finishing.testing.machine import find_chromium

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

GUARD = "DJANGO_ALLOW_ASYNC_UNSAFE"
NOT_FOUND = "Chromium not found: browser tests skipped"
NO_DRIVER = "Playwright does not start, on Debian libatomic1 may be missing: browser tests skipped"
ARGUMENTS = [
    "--no-sandbox",  # root, as in CI, cannot have it; the pages are our own
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
TIMEOUT_MS = 15_000
DESK = {"width": 1280, "height": 900}
TABLET = {"width": 800, "height": 1100}
PASSWORD = "oak-maple-walnut-7"


@pytest.fixture(scope="package")
def browser() -> Iterator[Browser]:
    """One Chromium for all tests of this folder."""
    from playwright.sync_api import Error, sync_playwright

    before = os.environ.get(GUARD)
    os.environ[GUARD] = "true"
    try:
        with ExitStack() as stack:
            try:
                playwright = stack.enter_context(sync_playwright())
            except Exception as error:  # noqa: BLE001 - raised bare by Playwright when its driver dies
                pytest.skip(f"{NO_DRIVER} ({error})")
            own = find_chromium()
            try:
                started = playwright.chromium.launch(executable_path=own, args=ARGUMENTS)
            except Error:
                if own is not None:
                    raise
                pytest.skip(NOT_FOUND)
            stack.callback(started.close)
            yield started
    finally:
        if before is None:
            del os.environ[GUARD]
        else:
            os.environ[GUARD] = before


@pytest.fixture
def new_context(browser: Browser) -> Iterator[Callable[..., BrowserContext]]:
    """Make a fresh browser profile: ``new_context(viewport=TABLET, color_scheme="dark")``."""
    opened: list[BrowserContext] = []

    def make(**options: object) -> BrowserContext:
        given = {"viewport": DESK, "locale": "en-US", "reduced_motion": "reduce", **options}
        context = browser.new_context(**given)
        context.set_default_timeout(TIMEOUT_MS)
        opened.append(context)
        return context

    yield make
    for context in opened:
        context.close()


class Complaints:
    """What a page did that no page of the house may do: script errors, refused content, calls to other hosts."""

    def __init__(self) -> None:
        self.found: list[str] = []

    def watch(self, page: Page) -> None:
        """Note from now on."""
        page.on("pageerror", lambda error: self.found.append(f"script error: {error}"))
        page.on("console", lambda message: self._console(message.type, message.text))
        page.on("request", lambda request: self._request(request.url))

    def _console(self, kind: str, text: str) -> None:
        # A refused form answers 4xx on purpose, and the browser reports each as an error of its own.
        if kind == "error" and not text.startswith("Failed to load resource"):
            self.found.append(f"console: {text}")

    def _request(self, url: str) -> None:
        parts = urlsplit(url)
        if parts.scheme in {"http", "https"} and parts.hostname not in {"localhost", "127.0.0.1"}:
            self.found.append(f"asked another host: {url}")


@pytest.fixture
def complaints() -> Iterator[Complaints]:
    """What the watched pages did wrong; anything left in ``found`` at the end fails the test."""
    watched = Complaints()
    yield watched
    assert not watched.found, "\n".join(watched.found)


@pytest.fixture
def page(new_context: Callable[..., BrowserContext], complaints: Complaints, live_server: object) -> Page:
    """A page at desk size. The live server is part of it: its data outlives no test."""
    del live_server
    opened = new_context().new_page()
    complaints.watch(opened)
    return opened


@pytest.fixture
def signed_in(page: Page, live_server: object) -> Callable[..., Page]:
    """``signed_in("estimator")``: the page, after that role signed in by the form. Made when it does not exist yet."""
    from django.contrib.auth import get_user_model

    def sign_in(role: str, *, on: Page | None = None) -> Page:
        person, made = get_user_model().objects.get_or_create(username=f"test-{role}", defaults={f"is_{role}": True})
        if made:
            person.set_password(PASSWORD)
            person.save()
        tab = on or page
        tab.goto(f"{live_server}/sign-in/")
        tab.get_by_label("Username").fill(person.username)
        tab.get_by_label("Password").fill(PASSWORD)
        tab.get_by_role("button", name="Sign in").click()
        tab.wait_for_url(lambda url: "/sign-in/" not in url)
        return tab

    return sign_in
