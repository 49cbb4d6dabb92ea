"""Rows are filled down by key: the field above, the whole row above, and a button that repeats the last row."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from django import forms
from django.template.loader import render_to_string

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Page

SCRIPT = Path(__file__).resolve().parents[2] / "finishing" / "static" / "finishing" / "house.js"


class PieceForm(forms.Form):
    """One row of a takeoff."""

    name = forms.CharField(label="Piece")
    number = forms.CharField(label="Number", widget=forms.TextInput(attrs={"inputmode": "numeric"}))
    zone = forms.ChoiceField(label="Zone", choices=[("show", "show"), ("hidden", "hidden")])


PieceSet = forms.formset_factory(PieceForm, extra=2, max_num=3, can_delete=True)


@pytest.fixture
def page(new_context: Callable[..., BrowserContext]) -> Page:
    """Two rows, the first filled; changes are counted, as the live sum counts them."""
    made = new_context().new_page()
    words = {"formset": PieceSet(prefix="rows"), "repeat_words": "Repeat the last row"}
    made.set_content(f"<form>{render_to_string('parts/formset_table.html', words)}</form>")
    made.evaluate("() => { window.changes = 0; document.addEventListener('change', () => { window.changes += 1; }); }")
    made.add_script_tag(content=SCRIPT.read_text(encoding="utf-8"))
    made.evaluate("document.dispatchEvent(new Event('DOMContentLoaded'))")
    made.fill("[name=rows-0-name]", "Door")
    made.fill("[name=rows-0-number]", "24")
    made.select_option("[name=rows-0-zone]", "hidden")
    return made


def row(page: Page, number: int) -> list[str]:
    return [page.input_value(f"[name=rows-{number}-{name}]") for name in ("name", "number", "zone")]


def test_one_field_is_taken_from_above(page: Page) -> None:
    page.focus("[name=rows-1-number]")
    page.keyboard.press("Control+d")
    assert row(page, 1) == ["", "24", "show"]


def test_a_whole_row_is_taken_from_above_and_counted(page: Page) -> None:
    before = page.evaluate("window.changes")
    page.focus("[name=rows-1-name]")
    page.keyboard.press("Control+Shift+D")
    assert row(page, 1) == ["Door", "24", "hidden"]
    assert page.evaluate("window.changes") > before


def test_a_mark_to_remove_stays_with_its_row(page: Page) -> None:
    page.check("[name=rows-0-DELETE]")
    page.focus("[name=rows-1-name]")
    page.keyboard.press("Control+Shift+D")
    assert not page.is_checked("[name=rows-1-DELETE]")


def test_the_first_row_has_nothing_above(page: Page) -> None:
    page.focus("[name=rows-0-number]")
    page.keyboard.press("Control+d")
    assert row(page, 0) == ["Door", "24", "hidden"]


def test_the_button_repeats_the_last_row_until_there_is_no_room(page: Page) -> None:
    for _ in range(4):
        page.click("[data-formset-repeat]")
    assert [row(page, number) for number in range(3)] == [["Door", "24", "hidden"]] * 3
    assert page.input_value("[name=rows-TOTAL_FORMS]") == "3"
