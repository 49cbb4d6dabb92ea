"""The comforts of the house script: rows by keyboard, a question before danger, a form sent once.

The page is set from the templates and the script file, so neither a server nor a database takes part.
"""

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


PieceSet = forms.formset_factory(PieceForm, extra=2, max_num=4)


@pytest.fixture
def typed(new_context: Callable[..., BrowserContext]) -> Page:
    """A page with two empty rows, which counts how often its form was sent."""
    page = new_context().new_page()
    rows = render_to_string("parts/formset_table.html", {"formset": PieceSet(prefix="rows")})
    page.set_content(
        f'<form id="main" method="post">{rows}<button name="save">Save</button>'
        '<button name="drop" data-confirm="Throw it away?">Drop</button></form>'
        '<form id="search" method="get"><button>Search</button></form>'
        '<form id="lots" method="post" data-confirm="Lots: %n?" data-confirm-ticks="lots">'
        '<input type="checkbox" name="lots" value="1"><input type="checkbox" name="lots" value="2"><button>Off</button></form>'
    )
    page.evaluate(
        """() => {
            window.sent = [];
            window.addEventListener("submit", (event) => {
                if (!event.defaultPrevented) window.sent.push(event.target.id);
                event.preventDefault();
            });
        }"""
    )
    page.add_script_tag(content=SCRIPT.read_text(encoding="utf-8"))
    page.evaluate("document.dispatchEvent(new Event('DOMContentLoaded'))")
    return page


def focus(page: Page) -> str:
    return str(page.evaluate("document.activeElement.name"))


def sent(page: Page) -> list[str]:
    return list(page.evaluate("window.sent"))


def test_arrows_move_in_the_column_and_stop_at_the_ends(typed: Page) -> None:
    typed.focus("[name=rows-0-number]")
    typed.keyboard.press("ArrowDown")
    assert focus(typed) == "rows-1-number"
    typed.keyboard.press("ArrowDown")
    assert focus(typed) == "rows-1-number"
    typed.keyboard.press("ArrowUp")
    typed.keyboard.press("ArrowUp")
    assert focus(typed) == "rows-0-number"


def test_arrows_in_a_list_of_choices_choose(typed: Page) -> None:
    typed.focus("[name=rows-0-zone]")
    typed.keyboard.press("ArrowDown")
    assert focus(typed) == "rows-0-zone"
    assert typed.input_value("[name=rows-0-zone]") == "hidden"


def test_enter_begins_the_next_row_and_adds_one_after_the_last(typed: Page) -> None:
    typed.focus("[name=rows-0-number]")
    typed.keyboard.press("Enter")
    assert focus(typed) == "rows-1-name"
    typed.keyboard.press("Enter")
    assert focus(typed) == "rows-2-name"
    assert typed.input_value("[name=rows-TOTAL_FORMS]") == "3"
    assert typed.get_attribute("[name=rows-2-number]", "aria-label") == "Number, row 3"
    assert typed.locator("[data-formset-row]").nth(2).locator(".row-number").inner_text() == "3"
    assert sent(typed) == []


def test_rows_end_at_the_most_that_the_form_takes(typed: Page) -> None:
    for _ in range(4):
        typed.get_by_role("button", name="Add a row").click()
    assert typed.input_value("[name=rows-TOTAL_FORMS]") == "4"
    assert typed.locator("[data-formset-row]").count() == 4


def test_the_add_button_shows_only_where_script_runs(typed: Page) -> None:
    assert typed.get_by_role("button", name="Add a row").is_visible()
    assert (
        "hidden"
        in render_to_string("parts/formset_table.html", {"formset": PieceSet(prefix="rows")}).split("data-formset-add")[1][:10]
    )


def test_a_form_that_changes_something_is_sent_once(typed: Page) -> None:
    typed.get_by_role("button", name="Save").dblclick()
    assert sent(typed) == ["main"]


def test_a_search_may_be_sent_again(typed: Page) -> None:
    typed.get_by_role("button", name="Search").dblclick()
    assert sent(typed) == ["search", "search"]


@pytest.mark.parametrize(("answer", "expected"), [("accept", ["main"]), ("dismiss", [])])
def test_a_dangerous_button_asks_first(typed: Page, answer: str, expected: list[str]) -> None:
    asked: list[str] = []

    def reply(dialog: object) -> None:
        asked.append(dialog.message)  # type: ignore[attr-defined]
        getattr(dialog, answer)()

    typed.on("dialog", reply)
    typed.get_by_role("button", name="Drop").click()
    assert asked == ["Throw it away?"]
    assert sent(typed) == expected


def test_a_form_can_be_sent_after_the_question_was_answered_with_no(typed: Page) -> None:
    typed.on("dialog", lambda dialog: dialog.dismiss())
    typed.get_by_role("button", name="Drop").click()
    typed.get_by_role("button", name="Save").click()
    assert sent(typed) == ["main"]


def test_a_question_about_ticked_rows_names_their_number_and_is_not_asked_for_none(typed: Page) -> None:
    asked: list[str] = []
    typed.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss())[1])
    typed.click("#lots button")
    assert (asked, sent(typed)) == ([], ["lots"]), "the server says what is missing"
    typed.check("[name=lots][value='2']")
    typed.click("#lots button")
    assert (asked, sent(typed)) == (["Lots: 1?"], ["lots"])
