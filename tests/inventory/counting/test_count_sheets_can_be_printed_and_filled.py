"""The sheet of a count as PDF and XLSX: every lot, in the shop's units, with or without what the books say."""

from __future__ import annotations

import io
import subprocess
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook
from pypdf import PdfReader

from finishing import show
from finishing.models import Shop
from finishing.units import UnitSystem
from inventory.models import Location, Lot, Material, StockCount
from tests.inventory.counting.counted import D, Round
from tests.inventory.pages.shop import Shelf

pytestmark = pytest.mark.django_db
TRAP = "=1+1 <b>Łódź µm² €</b>"


@pytest.fixture
def stocked(lot: Lot, shelf: Shelf, cabinet: Location) -> Lot:
    """Lot A-1 on the rack, and one whose name would like to be a formula in the cabinet."""
    trap = Material.objects.create(code="TRAP", name=TRAP, kind="thinner")
    shelf.lot(trap, "1.5", number="=2+2", location=cabinet)
    return lot


def pdf_text(browser: Client, count: StockCount) -> str:
    content = browser.get(reverse("count_sheet_pdf", args=[count.pk])).content
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages).split())


def sheet_of(browser: Client, count: StockCount) -> Any:
    return load_workbook(io.BytesIO(browser.get(reverse("count_sheet_xlsx", args=[count.pk])).content)).active


def test_the_printed_sheet_lists_every_lot_by_place(tablet: Client, stocked: Lot, round_: Round) -> None:
    count = round_.open(note="Year end")
    text = pdf_text(tablet, count)
    lines = [line.label for line in count.lines.all()]
    for words in (*lines, "Rack", "Cabinet", "A-1", "=2+2", TRAP, "10 L", "1.5 L", "Year end", "Counted by ____", count.label):
        assert words in text, words
    assert "Found, but not on this sheet" in text


def test_a_blind_sheet_has_no_book_figures(tablet: Client, stocked: Lot, round_: Round) -> None:
    count = round_.open(is_blind=True)
    text, sheet = pdf_text(tablet, count), sheet_of(tablet, count)
    assert "Books say" not in text
    assert "10 L" not in text
    cells = [cell.value for row in sheet.iter_rows() for cell in row]
    assert "Books say" not in cells
    assert 10 not in cells
    assert not [cell for row in sheet.iter_rows() for cell in row if cell.data_type == "f"]


def test_figures_are_in_the_units_of_the_shop(tablet: Client, stocked: Lot, round_: Round) -> None:
    shop = Shop.current()
    shop.unit_system = UnitSystem.US
    shop.save()
    show.use(None)
    count = round_.open(location=stocked.location)
    assert "2.642 gal" in pdf_text(tablet, count)
    row = [cell.value for cell in list(sheet_of(tablet, count).iter_rows())[-1]]
    assert (row[4], row[5]) == ("gal", pytest.approx(2.642))


@pytest.mark.libreoffice
def test_the_difference_beside_a_line_recalculates(
    tablet: Client, stocked: Lot, round_: Round, soffice: Path, tmp_path: Path
) -> None:
    """Filled in, opened and saved by a spreadsheet program: 9.25 − 10 beside the one line, nothing beside the other."""
    count = round_.open()
    content = tablet.get(reverse("count_sheet_xlsx", args=[count.pk])).content
    book = load_workbook(io.BytesIO(content))
    row = next(cells for cells in book.active.iter_rows() if cells[3].value == "A-1")
    row[6].value = 9.25
    source = tmp_path / "sheet.xlsx"
    book.save(source)
    command = [str(soffice), "--headless", "--norestore", f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"]
    command += ["--convert-to", "xlsx", "--outdir", str(tmp_path / "out"), str(source)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    done = load_workbook(tmp_path / "out" / "sheet.xlsx", data_only=True).active
    found = {cells[3].value: cells[7].value for cells in done.iter_rows(min_row=row[0].row - 1)}
    assert found["A-1"] == pytest.approx(-0.75)
    assert not found["=2+2"]
    saved = (tmp_path / "out" / "sheet.xlsx").read_bytes()
    file = io.BytesIO(saved)
    file.name = "sheet.xlsx"
    minute = f"{timezone.localtime():%Y-%m-%dT%H:%M}"
    tablet.post(reverse("count_upload", args=[count.pk]), {"counted_at": minute, "file": file})
    assert round_.line(count, stocked).counted == D("9.25"), "what the spreadsheet program saved is read"
