"""Spreadsheets: numbers, dates and formulas are what they look like, and the sheet prints well."""

from __future__ import annotations

import io
import subprocess
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from openpyxl import load_workbook

from finishing.documents.sheet import Book, Formula, Width, money_format, ref, sum_of

EURO = money_format("EUR")


def price_list(page_size: str = "A4", *, landscape: bool = False) -> bytes:
    book = Book(title="Prices & terms", page_size=page_size, made=datetime(2026, 3, 4, 9, 30))
    sheet = book.sheet("Prices", columns=(Width(30), Width(10, "0.000"), Width(12, EURO), Width(12, EURO)), landscape=landscape)
    sheet.heading("Prices")
    sheet.facts([("Date", date(2026, 3, 4)), ("Valid", None)])
    sheet.blank()
    sheet.header(("Item", "Litres", "Each", "Amount"))
    first = sheet.next_row
    for litres, each in (("1.250", "12.34"), ("0.333", "9.99"), ("100", "0.01")):
        row = sheet.next_row
        amount = Formula(f"=ROUND({ref('B', row)}*{ref('C', row)},2)")
        sheet.row(("Lacquer", Decimal(litres), Decimal(each), amount))
    sheet.total(("Total", None, None, sum_of("D", first, sheet.next_row - 1)))
    return book.to_bytes()


def test_numbers_dates_and_formulas_keep_their_kind() -> None:
    sheet = load_workbook(io.BytesIO(price_list()))["Prices"]
    assert sheet["B2"].value == datetime(2026, 3, 4)
    assert sheet["B2"].number_format == "yyyy-mm-dd"
    assert sheet["B6"].value == 1.25
    assert sheet["B6"].number_format == "0.000"
    assert sheet["C6"].number_format == EURO
    assert sheet["D9"].value == "=SUM(D6:D8)"
    assert sheet["D9"].number_format == EURO


@pytest.mark.libreoffice
def test_formulas_recalculate_to_the_cent(soffice: Path, tmp_path: Path) -> None:
    source = tmp_path / "in.xlsx"
    source.write_bytes(price_list())
    command = [str(soffice), "--headless", "--norestore", f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"]
    command += ["--convert-to", "xlsx", "--outdir", str(tmp_path / "out"), str(source)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    sheet = load_workbook(tmp_path / "out" / "in.xlsx", data_only=True)["Prices"]
    # 1.25 × 12.34 = 15.425, half up; 0.333 × 9.99 = 3.32667
    assert [round(sheet[f"D{row}"].value, 6) for row in (6, 7, 8, 9)] == [15.43, 3.33, 1.0, 19.76]


def test_the_header_is_frozen_and_repeats_in_print() -> None:
    sheet = load_workbook(io.BytesIO(price_list()))["Prices"]
    assert sheet.freeze_panes == "A6"
    assert sheet.print_title_rows == "$5:$5"


@pytest.mark.parametrize(("page_size", "code"), [("A4", "9"), ("letter", "1")])
def test_it_prints_on_the_shop_s_paper_one_page_wide(page_size: str, code: str) -> None:
    sheet = load_workbook(io.BytesIO(price_list(page_size, landscape=page_size == "letter")))["Prices"]
    assert str(sheet.page_setup.paperSize) == code
    assert sheet.page_setup.orientation == ("landscape" if page_size == "letter" else "portrait")
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 0)
    assert sheet.sheet_properties.pageSetUpPr.fitToPage


def test_columns_have_their_widths_and_heads_stand_over_their_figures() -> None:
    sheet = load_workbook(io.BytesIO(price_list()))["Prices"]
    assert [sheet.column_dimensions[letter].width for letter in "ABCD"] == [30, 10, 12, 12]
    assert [sheet[f"{letter}5"].alignment.horizontal for letter in "AB"] == ["left", "right"]
    assert sheet["A5"].font.bold
    assert sheet["A9"].font.bold
    assert not sheet["A6"].font.bold


def test_the_footer_shows_the_title_with_its_ampersand() -> None:
    sheet = load_workbook(io.BytesIO(price_list()))["Prices"]
    assert sheet.oddFooter.left.text == "Prices && terms"


def test_an_unknown_paper_is_refused() -> None:
    with pytest.raises(ValueError, match="no paper called 'A5'"):
        Book(title="x", page_size="A5")


@pytest.mark.parametrize("value", [Decimal("NaN"), Decimal("Infinity"), float("nan"), float("-inf")])
def test_a_figure_that_is_no_number_is_refused_where_it_is_put_in(value: Decimal | float) -> None:
    with pytest.raises(ValueError, match="ordinary number"):
        Book(title="x", page_size="A4").sheet("x", columns=()).row((value,))


def test_a_moment_with_a_time_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="time zone"):
        Book(title="x", page_size="A4").sheet("x", columns=()).row((datetime(2026, 1, 1, tzinfo=UTC),))


def test_an_unknown_kind_of_value_is_refused() -> None:
    with pytest.raises(TypeError, match="list"):
        Book(title="x", page_size="A4").sheet("x", columns=()).row(([1],))  # type: ignore[list-item]


def test_a_row_may_have_its_own_number_formats() -> None:
    book = Book(title="x", page_size="A4")
    sheet = book.sheet("x", columns=(Width(10), Width(10, "0.00")))
    sheet.row((Decimal("0.5"), Decimal("0.25")), formats=("", "0 %"))
    loaded = load_workbook(io.BytesIO(book.to_bytes()))["x"]
    assert loaded["B1"].number_format == "0 %"
    assert loaded["A1"].number_format == "General"


@pytest.mark.parametrize(
    ("currency", "locale", "expected"),
    [
        ("USD", "en_US", '"$"#,##0.00'),
        ("JPY", "en_US", '"¥"#,##0'),
        ("EUR", "de_DE", '#,##0.00"\u00a0€"'),
        ("CHF", "de_CH", '"CHF\u00a0"#,##0.00'),
    ],
)
def test_money_is_shown_the_locale_s_way(currency: str, locale: str, expected: str) -> None:
    assert money_format(currency, locale) == expected


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        (ref("C", 5), "C5"),
        (ref(28, 5), "AB5"),
        (ref("C", 5, fixed=True), "$C$5"),
        (ref("C", 5, sheet="Bob's rates"), "'Bob''s rates'!C5"),
        (sum_of("D", 5, 4).text, "=0"),
    ],
)
def test_cells_are_named_as_a_spreadsheet_names_them(given: str, expected: str) -> None:
    assert given == expected


def test_a_book_without_sheets_is_still_a_file() -> None:
    assert load_workbook(io.BytesIO(Book(title="x", page_size="A4").to_bytes())).sheetnames == ["Sheet"]


def test_the_moment_of_making_is_kept() -> None:
    made = load_workbook(io.BytesIO(price_list())).properties
    assert made.created == datetime(2026, 3, 4, 9, 30)
    assert made.title == "Prices & terms"
