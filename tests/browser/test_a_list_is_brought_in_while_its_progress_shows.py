"""A long list tells how far it is and leads to its result by itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from threading import Event
from typing import TYPE_CHECKING, Any

import pytest
from playwright.sync_api import expect

from finishing import working
from inventory.bringing_in import materials
from inventory.models import Material
from tests.inventory.bringing_in.bringing import csv_file

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
HEAD = ("Code", "Name", "Kind", "Kept in")
LIST = csv_file(HEAD, *[(f"M-{number}", f"Material {number}", "Coating", "L") for number in range(600)])


@pytest.fixture
def gate(monkeypatch: pytest.MonkeyPatch) -> Iterator[Event]:
    """Every list counts as long work, and the check of its rows waits half way until somebody opens the gate."""
    opened = Event()
    checked = materials.chunks

    def halting(rows: Any) -> Iterator[Any]:
        for number, part in enumerate(checked(rows)):
            if number == 2:
                opened.wait(20)
            yield part

    monkeypatch.setattr(working, "PATIENCE", 0.0)
    monkeypatch.setattr(materials, "chunks", halting)
    yield opened
    opened.set()


def upload(page: Page, live_server: object) -> None:
    page.goto(f"{live_server}/bring-in/materials/")
    page.get_by_label("The file").set_input_files({"name": "list.csv", "mimeType": "text/csv", "buffer": LIST})
    page.get_by_role("button", name="Read the file").click(no_wait_after=True)


def test_the_newest_word_shows_and_the_result_follows_by_itself(
    signed_in: Callable[..., Page], live_server: object, gate: Event
) -> None:
    page = signed_in("office")
    upload(page, live_server)
    status = page.get_by_role("status")
    expect(status.get_by_text("Checking rows: 500 of 600")).to_be_visible()
    expect(status.get_by_text("Checking rows: 250 of 600")).to_be_hidden()
    gate.set()
    expect(page.get_by_role("button", name="Apply 600 rows")).to_be_visible()
    page.get_by_role("button", name="Apply 600 rows").click(no_wait_after=True)
    expect(page.get_by_text("Applied on")).to_be_visible()
    assert Material.objects.count() == 600
