"""Text in a PDF: every letter comes out and can be taken out again, and nothing typed is read as markup."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

import pytest
from pypdf import PdfReader

from finishing.documents import pdf
from finishing.documents.letterhead import Letterhead, letterhead_of, printable

SHOP = Letterhead(name="Larkmoor Finishing", address="14 Fettle Lane\n\n4471 Larkmoor", phone="+00 555 0142")
LETTERS = "µ μ m² m³ ³ € £ × — – ± ≤ ≥ ≈ → ° ł č ő ş ğ Ω Δ ½ Å ø ñ ß Кириллица Ελληνικά “quoted”"


def made(story: Sequence[Any], **given: Any) -> PdfReader:
    data = pdf.document(**{"title": "Quote", "letterhead": SHOP, "page_size": "A4", "story": story, "number": "Q-1", **given})
    return PdfReader(io.BytesIO(data))


def text_of(reader: PdfReader) -> str:
    return " ".join("\n".join(page.extract_text() for page in reader.pages).split())


def test_letters_of_many_tongues_print_and_extract() -> None:
    reader = made([pdf.para(LETTERS), pdf.table([pdf.Column(words="µm × m²")], [["łčő Ω"]])], title="Angebot für Őri")
    text = text_of(reader)
    for word in (*LETTERS.split(), "łčő", "Őri"):
        assert word in text


def test_the_fonts_are_inside_the_file() -> None:
    page = made([pdf.para("x"), pdf.para("y", "strong")]).pages[0]
    fonts = [font.get_object() for font in page["/Resources"]["/Font"].values()]
    named = {str(font["/BaseFont"]) for font in fonts if "/FontDescriptor" in font}
    assert {name.split("+")[-1] for name in named} == {"DejaVuSans", "DejaVuSans-Bold"}
    assert all("/FontFile2" in font["/FontDescriptor"].get_object() for font in fonts if "/FontDescriptor" in font)


NASTY = "<b>bold</b> & <para> </font> &amp; <img src='x'/>"
PARTS = [
    lambda text: pdf.para(text),
    lambda text: pdf.heading(text),
    lambda text: pdf.bullets([text])[0],
    lambda text: pdf.facts([(text, text)]),
    lambda text: pdf.caution(text, text, source=text),
    lambda text: pdf.table([pdf.Column(words="What")], [[text]]),
    lambda text: pdf.table([pdf.Column(words="What"), pdf.Column(words="Else", share=9)], [[text, ""]]),
    lambda text: pdf.table([pdf.Column(words=text)], [["x"]], totals=[[text]]),
]


@pytest.mark.parametrize("part", PARTS)
def test_markup_in_text_is_printed_not_read(part: Any) -> None:
    text = "".join(text_of(made([part(NASTY)])).split())
    assert "<b>bold</b>&<para></font>&amp;<imgsrc='x'/>" in text


def test_markup_in_the_letterhead_title_and_facts_is_printed_not_read() -> None:
    shop = Letterhead(name="A <i>shop</i> & co", address="<br/> lane", email="a<b@c.example")
    reader = made([pdf.para("x")], title="Q <1>", letterhead=shop, number="<n>", date="<d>", meta=[("For <x>", "J & B")])
    text = text_of(reader)
    for words in ("A <i>shop</i> & co", "<br/> lane", "a<b@c.example", "Q <1>", "<n>", "<d>", "For <x>", "J & B"):
        assert words in text


def test_control_characters_are_left_out() -> None:
    assert "ab" in text_of(made([pdf.para("a\x00\x07b")]))
    assert printable("a\x1bb\ud800c\r\nd\te") == "abc\nd\te"


def test_line_breaks_are_kept() -> None:
    page = made([pdf.para("first line\nsecond line")]).pages[0].extract_text()
    assert "first line\nsecond line" in page


def test_the_letterhead_leaves_out_empty_lines() -> None:
    assert SHOP.contact_lines == ("14 Fettle Lane", "4471 Larkmoor", "+00 555 0142")


def test_the_letterhead_comes_from_the_shop() -> None:
    class Settings:
        name, address, email, phone, page_size = "Shop", "Lane", "a@b.example", "1", "A4"

    assert letterhead_of(Settings()) == Letterhead(name="Shop", address="Lane", email="a@b.example", phone="1")


def test_the_file_says_what_it_is() -> None:
    reader = made([pdf.para("x")])
    assert reader.metadata is not None
    assert reader.metadata.title == "Quote Q-1"
    assert reader.metadata.author == "Larkmoor Finishing"
    assert reader.trailer["/Root"]["/Lang"] == "en"
