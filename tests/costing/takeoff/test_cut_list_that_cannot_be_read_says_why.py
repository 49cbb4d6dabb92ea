"""What is wrong with a cut list is told with its row, its column, and what would be right."""

from __future__ import annotations

import pytest

from costing.core.takeoff_reading import MOST_COLUMNS, MOST_ROWS, Problem, Reading, read_takeoff

NAMES = ("Piece", "Qty", "Length", "Width", "Thickness", "Girth", "Area", "Zone", "Faces", "Profile factor", "Geometry factor")
GOOD = {"Piece": "Shelf", "Qty": "2", "Length": "500", "Width": "300", "Thickness": "18"}


def read_with(**changed: str) -> Reading:
    """A good row with some cells changed; an underscore stands for the space in a name."""
    cells = GOOD | {name.replace("_", " "): value for name, value in changed.items()}
    return read_takeoff([NAMES, [cells.get(name, "") for name in NAMES]])


def only_problem(reading: Reading) -> Problem:
    assert len(reading.problems) == 1, reading.problems
    assert not reading.is_good
    return reading.problems[0]


@pytest.mark.parametrize(
    ("column", "text", "wrong", "right"),
    [
        ("Qty", "two", "“two” is not a whole number of pieces.", "Give a whole number from 1 to 100000."),
        ("Qty", "0", "There can’t be “0” pieces.", "Give a whole number from 1 to 100000."),
        ("Qty", "-3", "There can’t be “-3” pieces.", "Give a whole number from 1 to 100000."),
        ("Qty", "2.5", "“2.5” is not a whole number of pieces.", "Give a whole number from 1 to 100000."),
        ("Qty", "NaN", "“NaN” is not a whole number of pieces.", "Give a whole number from 1 to 100000."),
        ("Qty", "9" * 40, f"There can’t be “{'9' * 40}” pieces.", "Give a whole number from 1 to 100000."),
        ("Qty", "", "The number of pieces is missing.", "Give a whole number, 1 or more."),
        ("Length", "50 m", "“50 m” is 50000 mm.", "Give more than 0 and at most 10000 mm."),
        ("Length", "-3", "“-3” is -3 mm.", "Give more than 0 and at most 10000 mm."),
        ("Length", "0", "“0” is 0 mm.", "Give more than 0 and at most 10000 mm."),
        ("Length", "NaN", "“NaN” can't be read as a length.", "Write for example 715, 71.5 cm, 24 in or 3/4 in."),
        ("Length", "inf", "“inf” can't be read as a length.", "Write for example 715, 71.5 cm, 24 in or 3/4 in."),
        ("Length", "1e400", "“e” is not a unit known here.", "Write for example 715, 71.5 cm, 24 in or 3/4 in."),
        ("Length", "9" * 50, f"“{'9' * 50}” is far too large mm.", "Give more than 0 and at most 10000 mm."),
        ("Length", "2 L", "“L” is a volume; this needs a length.", "Write for example 715, 71.5 cm, 24 in or 3/4 in."),
        ("Length", "abc", "“abc” can't be read as a length.", "Write for example 715, 71.5 cm, 24 in or 3/4 in."),
        ("Length", "=B2*2", "“=B2*2” is a formula.", "Paste values instead of formulas."),
        ("Width", "#REF!", "“#REF!” is an error of the spreadsheet.", "Mend the formula there, then copy the value."),
        (
            "Thickness",
            "2026-03-04",
            "“2026-03-04” is a date: a spreadsheet makes one of 3/4.",
            "Format the column as text and type it again, or write 0.75.",
        ),
        ("Thickness", "600", "“600” is 600 mm.", "Give at least 0 and at most 500 mm."),
        ("Zone", "front side", "“front side” is not a zone.", "Write show or hidden, or leave it empty for show."),
        ("Faces", "3", "There can’t be “3” faces.", "Give a whole number from 0 to 2."),
        ("Profile factor", "0.9", "A profile factor of 0.9 makes no sense.", "Give a number from 1 to 10, for example 1.05."),
        ("Geometry factor", "0", "A geometry factor of 0 makes no sense.", "Give a number from 0.05 to 1, for example 0.8."),
        ("Geometry factor", "much", "“much” is not a number.", "Give a number from 0.05 to 1, for example 0.8."),
        ("Piece", "", "The label is missing.", "Say what the piece is, for example: Door, upper."),
        ("Piece", "x" * 81, "The label has 81 letters.", "Shorten it to 80."),
    ],
)
def test_it_names_the_row_the_column_and_what_would_be_right(column: str, text: str, wrong: str, right: str) -> None:
    problem = only_problem(read_with(**{column: text}))

    assert (problem.row, problem.column, problem.wrong, problem.right) == (2, column, wrong, right)


def test_it_tells_every_problem_of_a_row_at_once() -> None:
    reading = read_with(Qty="two", Length="50 m", Zone="nowhere")

    assert [problem.column for problem in reading.problems] == ["Qty", "Length", "Zone"]


def test_a_missing_size_is_told() -> None:
    problem = only_problem(read_with(Width=""))

    assert problem.wrong == "The width is missing."
    assert problem.right == "Give length and width, or length and girth, or the area of all pieces."


def test_width_and_girth_together_are_told() -> None:
    assert only_problem(read_with(Girth="110")).wrong == "Both a width and a girth are given."


def test_a_row_that_leaves_nothing_to_finish_is_told() -> None:
    problem = only_problem(read_with(Faces="0", Thickness="0"))

    assert problem.column == "Faces"
    assert "leave nothing to finish" in problem.wrong


def test_too_many_pieces_of_a_large_size_are_told() -> None:
    problem = only_problem(read_with(Qty="100000", Length="10000", Width="10000"))

    assert problem.column == "Qty"
    assert "a row may have at most 10000 m²" in problem.right


@pytest.mark.parametrize(
    ("grid", "wrong"),
    [
        ([], "There is nothing in it."),
        ([["", " "], [""]], "There is nothing in it."),
        ([["a", "b"], ["1", "2"]], "No row with the names of the columns was found."),
        ([["Piece", "Length", "Width"], ["Shelf", "1", "2"]], "There is no column for the pieces."),
        ([["Piece", "Qty", "Colour"], ["Shelf", "1", "red"]], "There is no column for the length or the area."),
        ([["Piece", "Qty", "Length"], ["Shelf", "1", "2"]], "There is no column for the width or the girth."),
        ([["Qty", "Length", "Width"], ["1", "2", "3"]], "There is no column for the label."),
        ([["Piece", "Qty", "Length", "Width"]], "There are column names and no rows below them."),
        (
            [["Piece", "Qty", "Length", "Height", "Width"], ["Shelf", "1", "2", "3", "4"]],
            "“Length” and “Height” both mean the same.",
        ),
        ([["Piece", "Qty", "Length (furlong)", "Width"], ["a", "1", "2", "3"]], "“furlong” is not a unit known here."),
        ([["Piece", "Qty", "Length (kg)", "Width"], ["a", "1", "2", "3"]], "“kg” is a mass; this needs a length."),
        ([["x"] * (MOST_COLUMNS + 1)], f"It has more than {MOST_COLUMNS} columns."),
    ],
)
def test_a_list_with_wrong_names_is_refused_as_a_whole(grid: list[list[str]], wrong: str) -> None:
    problem = only_problem(read_takeoff(grid))

    assert problem.wrong == wrong
    assert problem.right


def test_more_rows_than_a_takeoff_holds_are_refused() -> None:
    names, row = ["Piece", "Qty", "Length", "Width"], ["Shelf", "1", "500", "300"]

    assert read_takeoff([names, *[row] * MOST_ROWS]).is_good
    assert only_problem(read_takeoff([names, *[row] * (MOST_ROWS + 1)])).wrong == f"It has {MOST_ROWS + 1} rows."
