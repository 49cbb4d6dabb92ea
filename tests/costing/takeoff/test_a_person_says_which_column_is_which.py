"""Where the names of the columns are not known, a person says which column is which, and the list stays as pasted."""

from __future__ import annotations

import re
from decimal import Decimal
from html import unescape

import pytest
from django.test import Client

from costing.core.takeoff_header import Choice
from costing.core.takeoff_reading import read_takeoff
from costing.models import Estimate
from tests.costing.takeoff.test_lists_are_shown_before_they_are_saved import paste, upload
from tests.costing.takeoff.test_uploaded_files_are_read_or_refused import workbook

UNKNOWN = "Pieza\tCuantos\tLargo (cm)\tAncho (cm)\tNota\nPuerta\t12\t71.5\t39.7\tblanca\nEstante\t8\t60\t30\t"
NAMES = "Pieza | Cuantos | Largo (cm) | Ancho (cm) | Nota"
CHOSEN = {
    "columns-names": NAMES,
    "columns-names_at": "1",
    "columns-row": "1",
    "columns-length_unit": "mm",
    "columns-of_0": "label",
    "columns-of_1": "pieces",
    "columns-of_2": "length",
    "columns-of_3": "width",
    "columns-of_4": "",
}
AS_SHOWN = {f"initial-{name}": value for name, value in CHOSEN.items() if not name.startswith("columns-names")}


def chosen_in(text: str, name: str) -> str:
    """The option of a choice on a page that is selected."""
    select = re.search(rf'<select name="{name}".*?</select>', text, re.DOTALL)
    assert select is not None, f"no choice {name}"
    option = re.search(r'value="([^"]*)" selected', select[0])
    return option[1] if option else ""


def hidden(text: str, name: str) -> str:
    field = re.search(rf'<input type="hidden" name="{name}"(?: value="([^"]*)")?', text)
    assert field is not None, f"no field {name}"
    return unescape(field[1] or "")


def test_a_unit_in_a_chosen_name_holds_and_other_columns_take_the_given_one() -> None:
    grid = [["Pieza", "Cuantos", "Largo (cm)", "Ancho"], ["Puerta", "2", "71.5", "15 5/8"]]
    choice = Choice(row=1, fields={0: "label", 1: "pieces", 2: "length", 3: "width"})

    (row,) = read_takeoff(grid, length_unit="in", choice=choice).rows

    assert (row.length, row.width) == (Decimal(715), Decimal("396.875"))


def test_a_list_without_names_is_read_from_its_first_row() -> None:
    choice = Choice(row=0, fields={0: "label", 1: "pieces", 2: "length", 3: "width"})

    reading = read_takeoff([["Door", "2", "715", "397"], ["Shelf", "8", "600", "300"]], choice=choice)

    assert [row.label for row in reading.rows] == ["Door", "Shelf"]


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({0: "label", 2: "length", 3: "width"}, "No column is chosen for the pieces."),
        ({0: "label", 1: "pieces", 2: "length", 3: "length"}, "“Largo” and “Ancho” both mean the same."),
    ],
)
def test_a_choice_that_cannot_be_read_says_why(fields: dict[int, str], words: str) -> None:
    grid = [["Pieza", "Cuantos", "Largo", "Ancho"], ["Puerta", "2", "715", "397"]]

    reading = read_takeoff(grid, choice=Choice(row=1, fields=fields))

    assert [problem.wrong for problem in reading.problems] == [words]


def test_a_unit_that_cannot_be_read_is_told_for_a_chosen_column() -> None:
    grid = [["Pieza", "Cuantos", "Largo (vara)", "Ancho"], ["Puerta", "2", "715", "397"]]

    reading = read_takeoff(grid, choice=Choice(row=1, fields={0: "label", 1: "pieces", 2: "length", 3: "width"}))

    assert reading.problems[0].column == "Largo (vara)"


def test_names_that_are_not_known_open_the_step_and_the_list_stays(estimator: Client, estimate: Estimate) -> None:
    response = paste(estimator, estimate, UNKNOWN)

    assert response.status_code == 422
    assert '<details class="card" id="which-column" open>' in response.text
    assert "Puerta\t12\t71.5" in response.text
    assert "Largo (cm); 71.5; 60" in response.text
    assert hidden(response.text, "columns-names") == NAMES


def test_the_chosen_columns_are_read_stay_chosen_and_are_saved(estimator: Client, estimate: Estimate) -> None:
    shown = paste(estimator, estimate, UNKNOWN, **CHOSEN)

    assert "Save 2 rows" in shown.text
    assert chosen_in(shown.text, "columns-of_3") == "width"

    saved = paste(estimator, estimate, UNKNOWN, save="1", **CHOSEN, **AS_SHOWN)

    assert saved.status_code == 302
    assert list(estimate.rows.values_list("label", "pieces", "length", "width")) == [
        ("Puerta", 12, Decimal(715), Decimal(397)),
        ("Estante", 8, Decimal(600), Decimal(300)),
    ]


def test_choices_changed_after_the_rows_were_shown_are_shown_before_they_are_saved(estimator: Client, estimate: Estimate) -> None:
    changed = CHOSEN | {"columns-of_2": "width", "columns-of_3": "length"}

    response = paste(estimator, estimate, UNKNOWN, save="1", **changed, **AS_SHOWN)

    assert response.status_code == 200
    assert "Look at the rows, then save." in response.text
    assert not estimate.rows.exists()


def test_the_page_tells_what_was_shown(estimator: Client, estimate: Estimate) -> None:
    shown = paste(estimator, estimate, UNKNOWN, **CHOSEN)

    assert {name: hidden(shown.text, name) for name in AS_SHOWN} == AS_SHOWN


def test_one_column_cannot_be_chosen_twice(estimator: Client, estimate: Estimate) -> None:
    response = paste(estimator, estimate, UNKNOWN, save="1", **CHOSEN | {"columns-of_3": "length"})

    assert response.status_code == 422
    assert "Column 3 is Length already." in response.text
    assert chosen_in(response.text, "columns-of_1") == "pieces"
    assert "Puerta\t12\t71.5" in response.text
    assert not estimate.rows.exists()


def test_a_row_of_names_that_was_changed_is_read_by_its_names(estimator: Client, estimate: Estimate) -> None:
    mended = UNKNOWN.replace("Pieza\tCuantos\tLargo (cm)\tAncho (cm)", "Piece\tQty\tLength (in)\tWidth (in)")

    response = paste(estimator, estimate, mended, save="1", **CHOSEN)

    assert response.status_code == 302
    assert estimate.rows.get(label="Estante").length == Decimal(1524)


def test_what_the_names_told_is_chosen_at_first(estimator: Client, estimate: Estimate) -> None:
    response = paste(estimator, estimate, "Piece\tCuantos\tLength\tWidth\nDoor\t2\t715\t397")

    assert response.status_code == 422
    assert [chosen_in(response.text, f"columns-of_{index}") for index in range(4)] == ["label", "", "length", "width"]


def test_an_uploaded_list_has_the_step_too(estimator: Client, estimate: Estimate) -> None:
    lines = [line.split("\t") for line in UNKNOWN.split("\n")]

    response = upload(estimator, estimate, workbook(*lines))

    assert '<details class="card" id="which-column" open>' in response.text
    assert hidden(response.text, "columns-names") == NAMES
