"""Tables in a PDF: header on every page, every row once and in order, totals never alone, tall rows cut."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from typing import Any

import pytest
from pypdf import PdfReader

from finishing.documents import pdf
from finishing.documents.letterhead import Letterhead

SHOP = Letterhead(name="Larkmoor Finishing")
COLUMNS = [
    pdf.Column(words="Item number", share=1),
    pdf.Column(words="What it is", share=4),
    pdf.Column(words="Amount", share=1, align="right"),
]


def pages_of(rows: Sequence[Sequence[object]], page_size: str = "A4", **given: Any) -> list[str]:
    story = [pdf.table(COLUMNS, rows, **given)]
    data = pdf.document(title="Cost sheet", letterhead=SHOP, page_size=page_size, story=story)
    return [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]


def rows_of(count: int, what: str = "Door") -> list[list[str]]:
    return [[f"#{number}.", what, f"{number}.50"] for number in range(count)]


@pytest.mark.parametrize("page_size", ["A4", "letter"])
def test_the_header_stands_on_every_page_and_every_row_stands_once(page_size: str) -> None:
    pages = pages_of(rows_of(450), page_size)
    assert len(pages) > 8
    assert all(page.count("What it is") == 1 for page in pages)
    found = [int(number) for page in pages for number in re.findall(r"#(\d+)\.", page)]
    assert found == list(range(450))


def test_a_short_table_takes_one_page() -> None:
    assert len(pages_of(rows_of(3))) == 1


def test_an_empty_table_shows_its_header_and_totals() -> None:
    (page,) = pages_of([], totals=[["", "Total", "0.00"]])
    assert "What it is" in page
    assert "Total" in page


@pytest.mark.parametrize("count", range(28, 50))
def test_totals_take_the_last_row_along(count: int) -> None:
    last = pages_of(rows_of(count), totals=[["", "Net", "1"], ["", "Tax", "2"], ["", "Total", "3"]])[-1]
    for words in (f"#{count - 1}.", "Net", "Tax", "Total"):
        assert words in last


def test_long_text_wraps_in_its_column() -> None:
    (page,) = pages_of([["1", "shaker door with an ogee profile, " * 8, "2.00"]])
    assert " ".join(page.split()).count("shaker door") == 8


def test_a_row_taller_than_a_page_is_cut_and_loses_nothing() -> None:
    words = [f"word{number}" for number in range(4000)]
    pages = pages_of([["1", " ".join(words), "2.00"], ["2", "after", "3.00"]])
    assert len(pages) >= 3
    assert re.findall(r"word\d+", " ".join(pages)) == words
    assert "after" in pages[-1]


def test_a_word_wider_than_its_column_is_broken_not_run_over() -> None:
    (page,) = pages_of([["1", "x" * 300, "2.00"]])
    assert page.count("x") >= 300


def test_a_row_of_the_wrong_length_is_refused() -> None:
    with pytest.raises(ValueError, match="a row of 2 cells in a table of 3 columns"):
        pdf.table(COLUMNS, [["1", "2"]])


def test_a_column_needs_a_share_of_the_width() -> None:
    with pytest.raises(ValueError, match="share"):
        pdf.Column(words="x", share=0)


def test_group_rows_and_totals_are_bold() -> None:
    story = [pdf.table(COLUMNS, [["Film", "", ""], ["1", "lacquer", "2.00"]], strong=[0], totals=[["", "Total", "2.00"]])]
    data = pdf.document(title="t", letterhead=SHOP, page_size="A4", story=story)
    fonts: dict[str, str] = {}

    def visit(text: str, _cm: object, _tm: object, font: Any, _size: float) -> None:
        if text.strip() and font:
            fonts[text.strip()] = str(font["/BaseFont"]).split("+")[-1]

    PdfReader(io.BytesIO(data)).pages[0].extract_text(visitor_text=visit)
    assert fonts["Film"] == fonts["Total"] == "DejaVuSans-Bold"
    assert fonts["lacquer"] == "DejaVuSans"


def test_the_time_of_a_long_table_grows_with_its_rows_only() -> None:
    """Counted in calls of the layout, not in seconds: each row is measured once."""
    table = pdf.table(COLUMNS, rows_of(1200))
    calls = 0
    measure = table._row

    def counting(*args: Any, **kwargs: Any) -> Any:
        nonlocal calls
        calls += 1
        return measure(*args, **kwargs)

    table._row = counting
    pdf.document(title="t", letterhead=SHOP, page_size="A4", story=[table])
    assert calls == 1201
