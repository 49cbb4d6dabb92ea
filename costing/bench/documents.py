"""The house's PDF and spreadsheet kits against the bare libraries that they stand on."""

from __future__ import annotations

import io
from collections import Counter
from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from itertools import zip_longest
from typing import Any

from costing.bench.measure import BenchError, Ratio, Size, take_turns
from costing.models import Quote
from finishing.models import Shop

HEAD = ("Code", "Name", "Lot", "Received", "On hand, L", "Price per L", "Value", "Place")
NUMBERS = ("", "", "", "", "0.000", '"$"#,##0.00', '"$"#,##0.00', "")
WIDTHS = (14, 36, 14, 12, 12, 12, 14, 18)
DAY = "yyyy-mm-dd"


def measure_quote(quote: Quote, size: Size) -> list[Ratio]:
    """The customer's quote as PDF."""
    from costing.bench.bare_pdf import bare_pdf, sketch_of
    from costing.documents.quote_pdf import quote_pdf

    shop = Shop.current()
    kept = Quote.objects.prefetch_related("options").get(pk=quote.pk)

    def ours() -> bytes:
        return quote_pdf(kept, shop)

    made, sketch = ours(), sketch_of(ours)
    pages = len(_pages(made))
    for data, which in ((made, "The quote"), (bare_pdf(sketch, pages=pages), "The baseline of the quote")):
        if missing := words_missing(data, sketch.words):
            raise BenchError(f"{which} does not say: {missing}")
    pair = take_turns(ours, lambda: bare_pdf(sketch, pages=pages), rounds=size.document_rounds)
    return [
        pair.milliseconds(
            f"Quote of {len(kept.options.all())} options as PDF",
            against="bare reportlab, same words and table rows, fonts and paper",
        )
    ]


def _pages(data: bytes) -> list[str]:
    from pypdf import PdfReader

    return [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]


def words_missing(data: bytes, words: Sequence[str]) -> str:
    """Which words a PDF document does not say, or not often enough; empty where it says them all."""
    return " ".join(Counter(words) - Counter(" ".join(_pages(data)).split()))


def sheet_rows(count: int) -> list[tuple[Any, ...]]:
    """Rows of a list of lots; the seventh cell is a formula over two others."""
    start = date(2024, 1, 1)
    return [
        (
            f"MAT-{number % 400:03d}",
            f"Waterborne top coat, shade {number % 97}, 20 % gloss",
            f"L{number:06d}",
            start + timedelta(days=number % 700),
            Decimal(number % 2_000) / 8,
            Decimal(1_850 + number % 900) / 100,
            f"=E{number + 2}*F{number + 2}",
            f"Shelf {number % 12}, bay {number % 7}",
        )
        for number in range(count)
    ]


def house_sheet(rows: Sequence[tuple[Any, ...]]) -> bytes:
    """The rows by the house's kit."""
    from finishing.documents.sheet import Book, Formula, Width

    book = Book(title="Lots", page_size="A4")
    sheet = book.sheet(
        "Lots", columns=[Width(width, number_format) for width, number_format in zip(WIDTHS, NUMBERS, strict=True)]
    )
    sheet.header(HEAD)
    for row in rows:
        sheet.row((*row[:6], Formula(row[6]), row[7]))
    return book.to_bytes()


def bare_sheet(rows: Sequence[tuple[Any, ...]]) -> bytes:
    """The same cells by the bare library, written only."""
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell

    workbook = Workbook(write_only=True)
    worksheet = workbook.create_sheet("Lots")
    worksheet.append(HEAD)
    formats = [(3, DAY), *((place, number_format) for place, number_format in enumerate(NUMBERS) if number_format)]
    for row in rows:
        cells = list(row)
        for place, number_format in formats:
            cell = WriteOnlyCell(worksheet, row[place])
            cell.number_format = number_format
            cells[place] = cell
        worksheet.append(cells)
    buffer = io.BytesIO()
    workbook.save(buffer)
    return buffer.getvalue()


def measure_sheet(size: Size) -> list[Ratio]:
    """A long list of lots as a spreadsheet."""
    rows = sheet_rows(size.sheet_rows)
    different = cells_apart(house_sheet(rows), bare_sheet(rows))
    if different:
        raise BenchError(f"The spreadsheet and its baseline do not hold the same: {different}")
    pair = take_turns(lambda: house_sheet(rows), lambda: bare_sheet(rows), rounds=size.sheet_rounds)
    return [
        pair.milliseconds(
            f"Spreadsheet of {len(rows):,} rows × {len(HEAD)} columns",
            against="bare openpyxl write-only, same cells and number formats",
        )
    ]


def cells_apart(one: bytes, other: bytes) -> str:
    """The first cell that differs between two workbooks in value, type or number format; empty where none does."""
    for number, (first, second) in enumerate(zip_longest(_cells(one), _cells(other)), start=1):
        if first != second:
            return f"row {number}: {first} against {second}"
    return ""


def _cells(data: bytes) -> Any:
    from openpyxl import load_workbook

    worksheet = load_workbook(io.BytesIO(data), read_only=True).worksheets[0]
    for row in worksheet.iter_rows():
        yield [(cell.value, cell.data_type, getattr(cell, "number_format", "")) for cell in row]
