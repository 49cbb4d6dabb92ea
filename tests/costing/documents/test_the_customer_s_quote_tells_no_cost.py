"""Neither the PDF nor any part of the spreadsheet of a quote holds a cost, a margin, a rate or a material."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from costing.documents.quote_pdf import quote_pdf
from costing.documents.quote_xlsx import quote_xlsx
from costing.models import Quote
from costing.snapshots import read_snapshot
from tests.costing.documents.reading import every_part, pdf_text, workbook
from tests.costing.pricing.door_shop import DoorShop, set_shop

# The figures of the worked example that only the shop may know, and the words that would stand beside them.
FIGURES = ("186.93", "38.30", "20.62", "35.40", "49.47", "28.32", "128.07", "311.55")
WORDS = ("cost", "margin", "markup", "overhead", "labour", "burden", "overspray", "hardener", "base", "snapshot", "wage")


def as_pdf(doors: DoorShop, quote: Quote) -> str:
    return pdf_text(quote_pdf(quote, doors.shop))


def as_sheet(doors: DoorShop, quote: Quote) -> str:
    # Names that the file format itself uses are no words of ours.
    text = every_part(quote_xlsx(quote, doors.shop))
    for word in ("baseColWidth", "pageMargins"):
        text = text.replace(word, "")
    return text


@pytest.mark.parametrize("document", [as_pdf, as_sheet])
def test_what_only_the_shop_knows_is_nowhere(doors: DoorShop, document: Callable[[DoorShop, Quote], str]) -> None:
    quote = doors.quote()
    assert str(read_snapshot(quote.options.get()).true_cost) == FIGURES[0]
    text = document(doors, quote)
    assert "315" in text  # the price is there, so the search reads the right text
    assert [secret for secret in FIGURES if secret in text] == []
    lowered = text.lower()
    assert [word for word in WORDS if word in lowered] == []


def test_the_spreadsheet_has_one_sheet_and_hides_nothing(doors: DoorShop) -> None:
    book = workbook(quote_xlsx(doors.quote(), doors.shop))
    assert [(sheet.title, sheet.sheet_state) for sheet in book.worksheets] == [("Quote", "visible")]
    (sheet,) = book.worksheets
    assert not any(row.hidden for row in sheet.row_dimensions.values())
    assert not any(column.hidden for column in sheet.column_dimensions.values())
    assert not book.defined_names
    assert all(cell.comment is None for row in sheet.iter_rows() for cell in row)


def test_its_properties_name_the_shop_and_the_quote_only(doors: DoorShop) -> None:
    properties = workbook(quote_xlsx(doors.quote(), set_shop(name="Plain shop"))).properties
    assert (properties.creator, properties.title) == ("Plain shop", "Quote Q-0001")
    assert (properties.description, properties.keywords, properties.subject) == (None, None, None)
