"""Paper of a PDF: its size, what stands on every page, and that nothing leaves the margins."""

from __future__ import annotations

import io
from typing import Any

import pytest
from pypdf import PdfReader

from finishing.documents import pdf
from finishing.documents.letterhead import Letterhead

SHOP = Letterhead(name="Larkmoor Finishing", phone="+00 555 0142")


def made(page_size: str = "A4", lines: int = 1, **given: Any) -> bytes:
    story = [pdf.para(f"line {number}") for number in range(lines)]
    return pdf.document(title="Quote", number="Q-1", letterhead=SHOP, page_size=page_size, story=story, **given)


# ISO 216: A4 is 210 × 297 mm; ANSI Letter is 8.5 × 11 in (from memory); 72 points an inch.
@pytest.mark.parametrize(("page_size", "width", "height"), [("A4", 210 / 25.4, 297 / 25.4), ("letter", 8.5, 11)])
def test_each_paper_has_its_box(page_size: str, width: float, height: float) -> None:
    for page in PdfReader(io.BytesIO(made(page_size, lines=120))).pages:
        assert float(page.mediabox.width) == pytest.approx(width * 72, abs=0.1)
        assert float(page.mediabox.height) == pytest.approx(height * 72, abs=0.1)


def test_the_shop_s_choices_of_paper_are_all_known() -> None:
    from finishing.choices import PageSize
    from finishing.documents.pdf_page import PAGE_SIZES
    from finishing.documents.sheet import PAPER_CODES

    assert {str(size) for size in PageSize} == set(PAGE_SIZES) == set(PAPER_CODES)


def test_an_unknown_paper_is_refused() -> None:
    with pytest.raises(ValueError, match="no paper called 'A5'"):
        made("A5")


def test_every_page_says_which_of_how_many_it_is() -> None:
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(made(lines=120))).pages]
    assert len(pages) == 3
    for number, text in enumerate(pages, start=1):
        assert f"page {number} of 3" in text
        assert "+00 555 0142" in text


def test_later_pages_say_which_document_they_belong_to() -> None:
    first, second, *_ = (page.extract_text() for page in PdfReader(io.BytesIO(made(lines=120))).pages)
    assert "Larkmoor Finishing · Quote · Q-1" in second
    assert "Larkmoor Finishing · Quote · Q-1" not in first


def test_the_same_content_gives_the_same_bytes_when_asked() -> None:
    assert made(invariant=True) == made(invariant=True)


def test_the_text_width_leaves_the_margins() -> None:
    assert pdf.page_width("A4") == pytest.approx((210 - 36) / 25.4 * 72, abs=0.1)


def test_a_heading_goes_to_the_next_page_rather_than_stand_alone_at_the_foot() -> None:
    for lines in range(40, 56):
        story = [*(pdf.para(f"line {number}") for number in range(lines)), pdf.heading("Terms"), pdf.para("half on order")]
        data = pdf.document(title="Quote", letterhead=SHOP, page_size="A4", story=story)
        pages = [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]
        assert [("Terms" in text) for text in pages] == [("half on order" in text) for text in pages]


def test_a_heading_stays_on_the_page_when_a_long_table_follows() -> None:
    story = [pdf.heading("Work"), pdf.table([pdf.Column(words="What")], [[f"row {number}"] for number in range(300)])]
    data = pdf.document(title="Quote", letterhead=SHOP, page_size="A4", story=story)
    first = PdfReader(io.BytesIO(data)).pages[0].extract_text()
    assert "Work" in first
    assert "row 0" in first
