"""Every upload of the house: a clear error for what is no list, never a traceback, never half of it written."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import date, datetime
from typing import Any

import pytest

from tests.finishing.uploads.conftest import GOOD, House
from tests.finishing.uploads.files import READ, REFUSED, csv_file, xlsx_file

Unwritten = Callable[[], bool]
FIGURE = {"takeoff": 2, "materials": 4, "packs": 3, "stock": 2, "prices": 2}  # the place of a figure in each list


def with_figure(upload: str, cell: object) -> list[Sequence[Any]]:
    head, row = GOOD[upload]
    place = FIGURE[upload]
    return [head, [*row[:place], cell, *row[place + 1 :]]]


@pytest.mark.parametrize("upload", GOOD)
@pytest.mark.parametrize("case", REFUSED)
def test_what_is_no_list_is_refused_in_words(house: House, nothing_written: Unwritten, upload: str, case: str) -> None:
    make, words = REFUSED[case]

    answer = house.send(upload, make(GOOD[upload]))

    assert answer.status == 422
    assert re.search(words, answer.refusal), answer.refusal
    assert "Traceback" not in answer.text
    assert nothing_written()


@pytest.mark.parametrize("upload", GOOD)
@pytest.mark.parametrize("case", READ)
def test_a_good_list_is_read_in_every_guise_and_not_written_yet(
    house: House, nothing_written: Unwritten, upload: str, case: str
) -> None:
    answer = house.send(upload, READ[case](GOOD[upload]), name="list.pdf")

    assert (answer.status, answer.refusal, answer.faults) == (200, "", [])
    assert nothing_written()


# In the place of a figure, with words of what is told where all uploads tell the same.
NO_FIGURES: dict[str, tuple[object, str]] = {
    "a formula": ("=1+1", "is a formula"),
    "a formula that starts a program": ("=cmd|' /C calc'!A0", "is a formula"),
    "an error of the spreadsheet": ("#REF!", "is an error of the spreadsheet"),
    "a word": ("many", "“many”"),
    "nothing but a sign": ("-", ""),
    "a negative number": ("-3", ""),
    "a decimal comma": ("12,5", ""),
    "two decimal signs": ("1.234.567,8", ""),
    "thousands with points": ("1.234,50", ""),
    "no number": ("NaN", ""),
    "no end": ("Infinity", ""),
    "far too many digits": ("9" * 50, ""),
    "a power beyond all": ("1e400", ""),
    "a picture of a number": ("①②", ""),
    "a date": (date(2026, 3, 4), "2026-03-04"),
    "a moment": (datetime(2026, 3, 4, 5, 6), "2026-03-04"),
    "a truth": (True, "TRUE"),
    "markup": ("<script>alert(1)</script>", "script"),
}


@pytest.mark.parametrize("upload", GOOD)
@pytest.mark.parametrize("case", NO_FIGURES)
def test_what_is_no_figure_is_told_at_its_cell(house: House, nothing_written: Unwritten, upload: str, case: str) -> None:
    cell, words = NO_FIGURES[case]

    answer = house.send(upload, xlsx_file(with_figure(upload, cell)))

    assert re.search(words, " ".join(answer.faults)), answer.faults
    assert answer.faults
    assert all(told.endswith(".") for told in answer.faults)
    assert "<script>alert" not in answer.text
    assert nothing_written()


@pytest.mark.parametrize("upload", GOOD)
@pytest.mark.parametrize("cell", ["1,040.0", "1040", " 1040 ", "+1040"])
def test_figures_with_thousands_and_blanks_are_read(house: House, nothing_written: Unwritten, upload: str, cell: str) -> None:
    if upload == "materials":
        cell = cell.replace("1,040.0", "1.0400").replace("1040", "1.04")

    answer = house.send(upload, csv_file(with_figure(upload, cell)))

    assert (answer.refusal, answer.faults) == ("", [])


@pytest.mark.parametrize("upload", GOOD)
def test_a_decimal_comma_is_read_where_semicolons_part_the_cells(house: House, upload: str) -> None:
    answer = house.send(upload, csv_file(with_figure(upload, "1,5"), ";"))

    assert (answer.refusal, answer.faults) == ("", [])
    assert "Commas in numbers were read as decimal points." in answer.text


@pytest.mark.parametrize("upload", GOOD)
@pytest.mark.parametrize("cells", ["A2:C3", "A2:D2", "A1:E1"])
def test_merged_cells_are_told(house: House, nothing_written: Unwritten, upload: str, cells: str) -> None:
    rows = GOOD[upload] if cells != "A2:C3" else [*GOOD[upload], GOOD[upload][1]]

    answer = house.send(upload, xlsx_file(rows, lambda book: book.active.merge_cells(cells)))

    assert answer.refusal or answer.faults or "taken as a heading, not read" in answer.text
    assert nothing_written()


@pytest.mark.parametrize(
    ("text", "is_read"),
    [
        (date(2099, 12, 31), True),
        (datetime(2099, 12, 31, 0, 0), True),
        ("2099-12-31", True),
        ("31.12.2099", True),
        ("12/31/2099", True),
        ("31/12/2099", True),
        ("31 Dec 2099", True),
        ("Dec 31, 2099", True),
        ("04/05/2099", False),
        ("31.12.99", False),
        (73050, False),
        ("30.02.2099", False),
        ("end of 2099", False),
        ("=TODAY()", False),
    ],
)
def test_days_in_several_styles_are_read_or_told(house: House, nothing_written: Unwritten, text: object, is_read: bool) -> None:
    head, row = GOOD["stock"]

    answer = house.send("stock", xlsx_file([head, [*row[:4], text]]))

    assert bool(answer.faults) is not is_read
    if is_read:
        assert "Dec 31, 2099" in answer.text
    assert nothing_written()


@pytest.mark.parametrize("upload", GOOD)
def test_the_limits_are_told_on_the_page(house: House, upload: str) -> None:
    page = house.client.get(house.address(upload)).text

    size = "2,000 rows and 50 columns" if upload == "takeoff" else "10,000 rows and 60 columns"
    assert f"up to 2,000 kB, {size}; a workbook up to 40 MB unpacked" in page
