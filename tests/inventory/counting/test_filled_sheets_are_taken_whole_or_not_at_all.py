"""A filled XLSX sheet: read with the units it was printed in, told at its rows what is not right, never half taken."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from openpyxl import Workbook, load_workbook

from finishing import show
from finishing.models import Shop
from finishing.units import UnitSystem
from inventory.models import CountLine, Location, Lot, Material, StockCount
from tests.inventory.counting.counted import D, Round
from tests.inventory.pages.shop import Shelf, words

pytestmark = pytest.mark.django_db
A, B = 0, 1  # the rows of the two lots below the heads


@pytest.fixture
def pair(lot: Lot, shelf: Shelf, gloves: Material) -> tuple[Lot, Lot]:
    """10 L of clear coat, lot A-1, and 40 pairs of gloves, lot G-7."""
    return lot, shelf.lot(gloves, "40", number="G-7", location=lot.location)


@pytest.fixture
def count(pair: tuple[Lot, Lot], round_: Round) -> StockCount:
    return round_.open(location=pair[0].location)


class Filled:
    """The sheet of a count as downloaded, to be filled in cell by cell."""

    def __init__(self, browser: Client, count: StockCount) -> None:
        content = browser.get(reverse("count_sheet_xlsx", args=[count.pk])).content
        self.book = load_workbook(io.BytesIO(content))
        self.sheet: Any = self.book.active
        self.heads = next(row[0].row for row in self.sheet.iter_rows() if row[0].value == "Line")
        self.columns = {cell.value: cell.column for cell in self.sheet[self.heads]}

    def row(self, lot: int) -> int:
        """Where a lot stands, as the spreadsheet numbers it."""
        return int(self.heads + 1 + lot)

    def fill(self, lot: int, value: object, column: str = "Counted") -> Filled:
        """Write into a cell."""
        self.sheet.cell(self.row(lot), self.columns[column]).value = value
        return self

    def content(self) -> bytes:
        """The file."""
        buffer = io.BytesIO()
        self.book.save(buffer)
        return buffer.getvalue()


def upload(browser: Client, count: StockCount, content: bytes, *, at: Any = None, name: str = "sheet.xlsx") -> Any:
    """Send a file as the page does."""
    moment = timezone.localtime(at) if at else timezone.localtime()
    data = {"counted_at": f"{moment:%Y-%m-%dT%H:%M}", "file": SimpleUploadedFile(name, content)}
    return browser.post(reverse("count_upload", args=[count.pk]), data, follow=True)


def counted(count: StockCount) -> list[object]:
    """What is entered of each line, in their order."""
    return list(count.lines.order_by("lot__number").values_list("counted", flat=True))


def test_a_filled_sheet_is_entered(tablet: Client, count: StockCount) -> None:
    filled = Filled(tablet, count).fill(A, 9.5).fill(A, "dented", "Remark").fill(B, 0)
    assert "2 lines are entered from the sheet." in words(upload(tablet, count, filled.content()))
    assert counted(count) == [D("9.5"), 0]
    assert CountLine.objects.get(lot__number="A-1").reason == "dented"


def test_lines_left_empty_stay_uncounted(tablet: Client, count: StockCount) -> None:
    said = words(upload(tablet, count, Filled(tablet, count).fill(B, 38).content()))
    assert "1 lines are entered" not in said
    assert "1 line is entered from the sheet. 1 was left empty." in said
    assert counted(count) == [None, 38]


@pytest.mark.parametrize(("cell", "litres"), [("850 ml", "0.85"), ("1 gal", "3.785412"), ("2.5", "2.5")])
def test_text_with_a_unit_of_its_own_is_read(tablet: Client, count: StockCount, cell: str, litres: str) -> None:
    upload(tablet, count, Filled(tablet, count).fill(A, cell).content())
    assert counted(count)[0] == D(litres)


def test_a_sheet_keeps_its_units_when_the_shop_changes_its_own(tablet: Client, count: StockCount) -> None:
    filled = Filled(tablet, count).fill(A, 2)
    shop = Shop.current()
    shop.unit_system = UnitSystem.US
    shop.save()
    show.use(None)
    upload(tablet, count, filled.content())
    assert counted(count)[0] == 2


Change = Callable[[Filled], Filled]
WRONG: list[tuple[str, Change, int, str]] = [
    ("words in place of a figure", lambda f: f.fill(A, "about half"), A, "be read as a volume"),
    ("a formula", lambda f: f.fill(A, "=4+5"), A, "This cell holds a formula. Write the figure that was counted."),
    ("less than nothing", lambda f: f.fill(A, -1), A, "This must be 0 L or more."),
    ("more than a shop has", lambda f: f.fill(A, 10**9), A, "This must be 1000000 L or less."),
    ("another unit of the wrong kind", lambda f: f.fill(A, "3 kg"), A, "kg"),
    ("a changed lot number", lambda f: f.fill(A, 9).fill(A, "A-2", "Lot number"), A, "is for lot A-1, not A-2."),
    ("a line of another count", lambda f: f.fill(A, 9).fill(A, "C-9999/1", "Line"), A, "This line is of C-9999."),
    ("a line number from nowhere", lambda f: f.fill(A, 9).fill(A, "first", "Line"), A, "“first” is no line number"),
    ("an extra line", lambda f: f.fill(B + 1, 3).fill(B + 1, "X-1", "Lot number"), B + 1, "This row has no line number"),
    (
        "a unit that was changed",
        lambda f: f.fill(A, 9).fill(A, "kg", "Unit"),
        A,
        "The unit of this line is L; the sheet says kg.",
    ),
    ("a remark without a figure", lambda f: f.fill(A, "gone", "Remark"), A, "Write 0 where nothing was found."),
]


@pytest.mark.parametrize(("change", "row", "said"), [case[1:] for case in WRONG], ids=[case[0] for case in WRONG])
def test_a_row_that_is_not_right_is_told_and_nothing_is_taken(
    tablet: Client, count: StockCount, change: Change, row: int, said: str
) -> None:
    filled = Filled(tablet, count).fill(B, 38)
    answer = upload(tablet, count, change(filled).content())
    assert answer.status_code == 422
    assert "Nothing of the sheet was taken." in answer.text
    assert f'<th scope="row">{filled.row(row)}</th>' in answer.text
    assert said in answer.text
    assert counted(count) == [None, None]


def test_a_line_that_comes_twice_is_told(tablet: Client, count: StockCount) -> None:
    filled = Filled(tablet, count).fill(A, 9)
    for column in ("Line", "Lot number", "Unit"):
        filled.fill(B + 1, filled.sheet.cell(filled.row(A), filled.columns[column]).value, column)
    answer = upload(tablet, count, filled.fill(B + 1, 8).content())
    assert f"stands in row {filled.row(A)} already" in answer.text
    assert counted(count) == [None, None]


def test_the_sheet_of_another_count_is_refused(
    tablet: Client, count: StockCount, shelf: Shelf, clear: Material, cabinet: Location, round_: Round
) -> None:
    shelf.lot(clear, "1", number="Z-1", location=cabinet)
    other = round_.open(location=cabinet)
    answer = upload(tablet, count, Filled(tablet, other).fill(A, 1).content())
    assert f"This line is of {other.label}. Upload the sheet on the page of that count." in answer.text
    assert counted(other) == [None]


def blank() -> bytes:
    """A workbook with nothing of ours in it."""
    buffer = io.BytesIO()
    Workbook().save(buffer)
    return buffer.getvalue()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "The file is empty."),
        (b"%PDF-1.7 a sheet", "This is a PDF."),
        (b"PK\x03\x04 cut short", "cut short or damaged"),
        (b"Line;Lot number\n1;2\n", "The row with the column heads Line, Lot number, Unit, Counted is missing."),
        (blank(), "The row with the column heads"),
    ],
    ids=["empty", "pdf", "cut", "other columns", "other workbook"],
)
def test_a_file_that_is_no_sheet_is_told(tablet: Client, count: StockCount, content: bytes, said: str) -> None:
    answer = upload(tablet, count, content)
    assert (answer.status_code, said in answer.text) == (422, True)


def test_a_sheet_with_nothing_in_it_is_told(tablet: Client, count: StockCount) -> None:
    assert "Nothing is filled in" in upload(tablet, count, Filled(tablet, count).content()).text


def test_the_moment_of_counting_is_asked_for(tablet: Client, count: StockCount) -> None:
    content = Filled(tablet, count).fill(A, 9).content()
    assert "nothing was counted on it before" in upload(tablet, count, content, at=timezone.now() - timedelta(hours=2)).text
    assert "still to come" in upload(tablet, count, content, at=timezone.now() + timedelta(hours=2)).text
    file = SimpleUploadedFile("sheet.xlsx", content)
    answer = tablet.post(reverse("count_upload", args=[count.pk]), {"counted_at": "", "file": file})
    assert "Say when the lots were counted." in answer.text
    assert counted(count) == [None, None]


def test_the_moment_is_filled_in_and_without_it_the_rows_are_still_told(tablet: Client, count: StockCount) -> None:
    address = reverse("count_upload", args=[count.pk])
    assert f'value="{timezone.localtime():%Y-%m-%dT%H:}' in tablet.get(address).text
    file = SimpleUploadedFile("sheet.xlsx", Filled(tablet, count).fill(A, "plenty").content())
    answer = tablet.post(address, {"counted_at": "", "file": file})
    assert "Say when the lots were counted." in answer.text
    assert "One row needs a look." in answer.text
    assert counted(count) == [None, None]


def test_what_was_entered_after_the_sheet_was_filled_stands(
    tablet: Client, count: StockCount, pair: tuple[Lot, Lot], round_: Round
) -> None:
    """The sheet's minute begins before the entry, so the entry is the later count."""
    round_.enter(count, pair[0], "7")
    filled = Filled(tablet, count).fill(A, 9).fill(B, 38)
    answer = upload(tablet, count, filled.content(), at=count.opened_at)
    assert f'<th scope="row">{filled.row(A)}</th>' in answer.text
    assert "That was after this sheet was counted" in answer.text
    assert counted(count) == [7, None]
