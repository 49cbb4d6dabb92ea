"""A workbook or a CSV file is read cell by cell; a file that is none, or means harm, is refused in plain words."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable
from datetime import date
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook

from costing.services.takeoff_import import FileRefusedError, read_file, read_in_shop_units
from costing.services.takeoff_template import template_workbook

LIMIT = 2_000_000


def workbook(*lines: Iterable[Any], more_sheets: int = 0) -> bytes:
    book = Workbook()
    sheet = book.active
    sheet.title = "Cut list"
    for line in lines:
        sheet.append(list(line))
    for _ in range(more_sheets):
        book.create_sheet()
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def with_member(content: bytes, name: str, data: bytes) -> bytes:
    out = io.BytesIO(content)
    with zipfile.ZipFile(out, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, data)
    return out.getvalue()


def replaced(content: bytes, name: str, change: Any) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for member in old.infolist():
            data = old.read(member)
            new.writestr(member.filename, change(data) if member.filename == name else data)
    return out.getvalue()


def test_numbers_texts_and_fractions_of_a_workbook_are_read() -> None:
    sheet = read_file(workbook(["Piece", "Qty", "Length"], ["Door", 12, 28.25], ["Shelf", 8.0, "23 1/2"]), limit=LIMIT)

    assert sheet.grid == (("Piece", "Qty", "Length"), ("Door", "12", "28.25"), ("Shelf", "8", "23 1/2"))
    assert sheet.notes == ()


def test_a_sum_of_binary_fractions_comes_without_its_noise() -> None:
    assert read_file(workbook(["Length"], [0.1 + 0.2]), limit=LIMIT).grid[1] == ("0.3",)


def test_formulas_and_dates_keep_their_nature_so_that_they_are_told() -> None:
    grid = read_file(workbook(["Length"], ["=A1*2"], [date(2026, 3, 4)], [True]), limit=LIMIT).grid

    assert grid[1] == ("=A1*2",)
    assert grid[2][0].startswith("2026-03-04")
    assert grid[3] == ("TRUE",)


def test_row_numbers_are_those_of_the_sheet_and_empty_rows_below_are_dropped() -> None:
    content = workbook(["Title"], [], ["Piece", "Qty"], ["", None], [None])

    grid = read_file(content, limit=LIMIT).grid
    assert [[cell for cell in row if cell] for row in grid] == [["Title"], [], ["Piece", "Qty"]]


def test_it_says_which_sheet_it_read() -> None:
    assert read_file(workbook(["Piece"], more_sheets=1), limit=LIMIT).notes == ("Only the sheet “Cut list” was read.",)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "The file is empty."),
        (b"  \n ", "The file is empty."),
        (b"PK\x03\x04 cut short", "cut short or damaged"),
        (workbook(["Piece"])[:-60], "cut short or damaged"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1 old", "of an old kind, or one locked by a password"),
        (b"%PDF-1.7", "This is a PDF."),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "not a text file in UTF-8"),
        ("Piece\tQty".encode("utf-16"), "not a text file in UTF-8"),
        (b'Piece,Qty\n"Door', "cut short or damaged"),
    ],
)
def test_a_file_that_is_no_cut_list_is_refused(content: bytes, message: str) -> None:
    with pytest.raises(FileRefusedError, match=message):
        read_file(content, limit=LIMIT)


def test_a_file_above_the_limit_is_refused() -> None:
    with pytest.raises(FileRefusedError, match="larger than 10 kB"):
        read_file(b"x," * 6000, limit=10_000)


def test_another_kind_of_archive_is_refused() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("content.xml", "<a/>")

    with pytest.raises(FileRefusedError, match="not an XLSX workbook"):
        read_file(out.getvalue(), limit=LIMIT)


def test_a_workbook_with_macros_is_refused() -> None:
    content = with_member(workbook(["Piece"]), "xl/vbaProject.bin", b"macro")

    with pytest.raises(FileRefusedError, match="holds macros"):
        read_file(content, limit=LIMIT)


def test_a_workbook_that_would_unpack_to_a_flood_is_refused_before_it_is_unpacked() -> None:
    content = with_member(workbook(["Piece"]), "xl/media/big.bin", b"\x00" * 41_000_000)
    assert len(content) < 100_000

    with pytest.raises(FileRefusedError, match="far larger inside than a cut list"):
        read_file(content, limit=LIMIT)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_a_workbook_that_declares_entities_is_refused(encoding: str) -> None:
    evil = '<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "aaaa">]><x>&a;</x>'.encode(encoding)
    content = replaced(workbook(["Piece"]), "xl/workbook.xml", lambda _old: evil)

    with pytest.raises(FileRefusedError, match="declarations that no spreadsheet writes"):
        read_file(content, limit=LIMIT)


def test_a_workbook_whose_sheet_is_damaged_is_refused() -> None:
    content = replaced(workbook(["Piece"], ["Door"]), "xl/worksheets/sheet1.xml", lambda old: old[: len(old) // 2])

    with pytest.raises(FileRefusedError, match="damaged or of an unknown make"):
        read_file(content, limit=LIMIT)


def test_a_sheet_that_understates_its_extent_is_read_to_its_end() -> None:
    lines = [["Piece"], *[[f"Door {number}"] for number in range(20)]]
    content = replaced(workbook(*lines), "xl/worksheets/sheet1.xml", lambda old: old.replace(b'ref="A1:A21"', b'ref="A1:A2"'))

    assert len(read_file(content, limit=LIMIT).grid) == 21


def test_too_many_rows_and_rows_far_below_are_refused() -> None:
    with pytest.raises(FileRefusedError, match="more than 2000 rows"):
        read_file(workbook(*[["Door"]] * 2100), limit=LIMIT)
    far_below = replaced(workbook(["a"], ["b"]), "xl/worksheets/sheet1.xml", _move_second_row_down)
    with pytest.raises(FileRefusedError, match="goes on below row 20000"):
        read_file(far_below, limit=LIMIT)


def _move_second_row_down(old: bytes) -> bytes:
    return old.replace(b'<row r="2"', b'<row r="1048576"').replace(b'r="A2"', b'r="A1048576"')


def test_more_columns_than_a_cut_list_has_are_refused(db: None) -> None:
    reading = read_in_shop_units(read_file(workbook(["x"] * 60), limit=LIMIT))

    assert reading.problems[0].wrong == "It has more than 50 columns."


def test_the_template_can_be_uploaded_as_it_is(db: None) -> None:
    reading = read_in_shop_units(read_file(template_workbook(), limit=LIMIT))

    assert reading.is_good, reading.problems
    assert [row.form for row in reading.rows] == ["panel", "moulding", "area"]


def test_the_template_names_its_columns_in_the_shop_s_units(us_shop: object) -> None:
    content = template_workbook()

    names = [cell.value for cell in next(load_workbook(io.BytesIO(content)).active.iter_rows(max_row=1))]
    assert "Length (in)" in names
    assert "Area of all pieces (ft²)" in names
    assert read_in_shop_units(read_file(content, limit=LIMIT)).is_good
