"""Spreadsheets: text stays text, in the file and after a spreadsheet program has recalculated and saved it."""

from __future__ import annotations

import io
import subprocess
from pathlib import Path

import pytest
from openpyxl import load_workbook

from finishing.documents.sheet import LONGEST_TEXT, Book, Formula, Width, csv_text, sheet_name

NASTY = [
    "=1+1",
    "+1+1",
    "-1+1",
    "@SUM(1)",
    '=HYPERLINK("http://x.example","y")',
    "=cmd|' /C calc'!A0",
    "\t=1+1",
    "{=1+1}",
    "#REF!",
    "TRUE",
    "00123",
    "1e5",
    "2026-03-04",
]


def book_of(texts: list[str]) -> bytes:
    book = Book(title="=1+1", page_size="A4", author="=1+1")
    sheet = book.sheet("Text", columns=(Width(40), Width(12)))
    sheet.heading(texts[0])
    sheet.facts([(texts[0], texts[0])])
    sheet.header((texts[0], "Sum"))
    for text in texts:
        sheet.row((text, Formula("=1+1")))
    sheet.total((texts[0], None))
    return book.to_bytes()


def test_text_is_stored_as_text() -> None:
    worksheet = load_workbook(io.BytesIO(book_of(NASTY)))["Text"]
    for row, text in enumerate(NASTY, start=4):
        cell = worksheet.cell(row, 1)
        assert (cell.value, cell.data_type) == (text, "s")
        assert worksheet.cell(row, 2).data_type == "f"
    for row in (1, 2, 3, 4 + len(NASTY)):
        assert worksheet.cell(row, 1).data_type == "s"
    assert worksheet["B2"].data_type == "s"


@pytest.mark.libreoffice
def test_text_is_still_text_after_recalculation(soffice: Path, tmp_path: Path) -> None:
    source = tmp_path / "in.xlsx"
    source.write_bytes(book_of(NASTY))
    subprocess.run(
        [
            str(soffice),
            "--headless",
            "--norestore",
            f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}",
            "--convert-to",
            "xlsx",
            "--outdir",
            str(tmp_path / "out"),
            str(source),
        ],
        check=True,
        capture_output=True,
        timeout=120,
    )
    worksheet = load_workbook(tmp_path / "out" / "in.xlsx", data_only=True)["Text"]
    for row, text in enumerate(NASTY, start=4):
        assert worksheet.cell(row, 1).value == text
        assert worksheet.cell(row, 2).value == 2


def test_control_characters_are_left_out_and_line_breaks_kept() -> None:
    worksheet = load_workbook(io.BytesIO(book_of(["a\x00\x0bb\r\nc\ud800"])))["Text"]
    assert worksheet["A4"].value == "ab\nc"


def test_text_longer_than_a_cell_is_cut() -> None:
    worksheet = load_workbook(io.BytesIO(book_of(["x" * (LONGEST_TEXT + 5)])))["Text"]
    assert len(worksheet["A4"].value) == LONGEST_TEXT


def test_a_formula_must_be_meant() -> None:
    with pytest.raises(ValueError, match="begins with ="):
        Formula("SUM(A1:A2)")


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1+1", "@x", "\t=1", " =1", "\n=1"])
def test_csv_text_is_guarded(text: str) -> None:
    assert csv_text(text) == "'" + text


@pytest.mark.parametrize(("value", "text"), [("Door", "Door"), (None, ""), ("a=b", "a=b"), ("5 - 3", "5 - 3"), ("a\x00b", "ab")])
def test_csv_text_leaves_plain_text_alone(value: object, text: str) -> None:
    assert csv_text(value) == text


@pytest.mark.parametrize(
    ("given", "name"),
    [("Quote: 1/2 [x]", "Quote 1 2 x"), ("", "Sheet"), ("'", "Sheet"), ("y" * 40, "y" * 31), ("a\x00b", "ab"), ("Łódź", "Łódź")],
)
def test_sheet_names_keep_to_the_format(given: str, name: str) -> None:
    assert sheet_name(given) == name


def test_two_sheets_of_one_name_both_stay() -> None:
    book = Book(title="t", page_size="A4")
    for name in ("Lines", "lines", "z" * 31, "z" * 35):
        book.sheet(name, columns=()).text("x")
    names = load_workbook(io.BytesIO(book.to_bytes())).sheetnames
    assert names == ["Lines", "lines 2", "z" * 31, "z" * 29 + " 2"]
