"""Bytes turned over, cells of every kind, merged cells, far too many rows: a clear answer each time, and all or nothing."""

from __future__ import annotations

import io
import random
import zipfile
from datetime import date, datetime, time
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook

from inventory.models import Lot, Material, StockCount
from tests.inventory.counting.counted import Round
from tests.inventory.counting.test_filled_sheets_are_taken_whole_or_not_at_all import A, B, Filled, counted, upload
from tests.inventory.pages.shop import Shelf

pytestmark = pytest.mark.django_db
SEED = 20261125
ROUNDS = 60
ODD: list[Any] = [True, date(2026, 3, 2), datetime(2026, 3, 2, 4, 5), time(1, 30), 1e300, "1e5", "٣", "1/2", "½", "NaN", "-0"]
ODD += ["#REF!", "1,5", "1.234,5", "1,234", "9" * 400, "<b>5</b>", "5\n6", "5 L 3 L", "=HYPERLINK(1)", "+3", "'3"]


@pytest.fixture
def count(lot: Lot, shelf: Shelf, gloves: Material, round_: Round) -> StockCount:
    shelf.lot(gloves, "40", number="G-7", location=lot.location)
    return round_.open(location=lot.location)


def all_or_nothing(browser: Client, count: StockCount, content: bytes) -> bool:
    """Upload; true when it was taken. Either all that was filled in is there then, or nothing."""
    answer = upload(browser, count, content)
    found = counted(count)
    assert answer.status_code in (200, 422), answer.status_code
    if answer.status_code == 422:
        assert found == [None, None]
        assert "error-summary" in answer.text
        return False
    assert None not in found
    count.lines.update(counted=None, counted_at=None, counted_by=None, book_when_counted=None)
    return True


def test_bytes_that_were_turned_over(tablet: Client, count: StockCount) -> None:
    good = Filled(tablet, count).fill(A, 9).fill(B, 38).content()
    chance = random.Random(SEED)  # noqa: S311 - a repeatable fuzz
    assert all_or_nothing(tablet, count, good)
    for _ in range(ROUNDS):
        content = bytearray(good)
        for _ in range(chance.randint(1, 8)):
            content[chance.randrange(len(content))] = chance.randrange(256)
        all_or_nothing(tablet, count, bytes(content[: chance.choice([len(content), chance.randrange(len(content))])]))


def test_cells_of_every_kind(tablet: Client, count: StockCount) -> None:
    def is_taken(value: Any) -> bool:
        return all_or_nothing(tablet, count, Filled(tablet, count).fill(A, value).fill(B, 38).content())

    taken = [value for value in ODD if is_taken(value)]
    assert taken == ["٣", "1/2", "½", "-0", "1,234", "+3"], "read as the fields of the pages read them"


def test_merged_cells_hold_one_figure(tablet: Client, count: StockCount) -> None:
    """Merged over two rows, the second has no figure of its own."""
    filled = Filled(tablet, count).fill(A, 9)
    column = filled.sheet.cell(1, filled.columns["Counted"]).column_letter
    filled.sheet.merge_cells(f"{column}{filled.row(A)}:{column}{filled.row(B)}")
    upload(tablet, count, filled.content())
    assert counted(count) == [9, None]


def test_macros_and_bombs_and_endless_sheets_are_told(tablet: Client, count: StockCount) -> None:
    good = Filled(tablet, count).fill(A, 9).fill(B, 38)
    for name, content, said in (
        ("xl/vbaProject.bin", b"x", "The workbook holds macros"),
        ("xl/media/big.bin", b"\0" * 41_000_000, "far larger inside than a count sheet"),
    ):
        buffer = io.BytesIO(good.content())
        with zipfile.ZipFile(buffer, "a", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr(name, content)
        assert said in upload(tablet, count, buffer.getvalue()).text
    for row in range(6_000):
        good.sheet.append(["more", row])
    assert "more than 5000 rows" in upload(tablet, count, good.content()).text
    assert counted(count) == [None, None]


def test_a_csv_of_the_same_columns_is_read(tablet: Client, count: StockCount) -> None:
    book = load_workbook(io.BytesIO(tablet.get(reverse("count_sheet_xlsx", args=[count.pk])).content))
    rows = [["" if cell.value is None else str(cell.value) for cell in row] for row in book.active.iter_rows()]
    heads = next(row for row in rows if row[0] == "Line")
    at, lot = heads.index("Counted"), heads.index("Lot number")
    for row in rows:
        row[at] = {"A-1": "9,5", "G-7": "38"}.get(row[lot], row[at])
    text = "\n".join(";".join(row) for row in rows)
    upload(tablet, count, b"\xef\xbb\xbf" + text.encode(), name="sheet.csv")
    assert [str(value.normalize()) for value in counted(count)] == ["9.5", "38"]  # type: ignore[attr-defined]
