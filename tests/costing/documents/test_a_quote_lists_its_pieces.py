"""The customer's quote lists what is to be finished, as it was measured when the quote was made."""

from __future__ import annotations

from decimal import Decimal

from costing.documents.quote_pdf import quote_pdf
from tests.costing.documents.reading import pdf_text
from tests.costing.pricing.door_shop import DoorShop, set_shop


def test_every_row_stands_there_with_its_number_size_and_area(doors: DoorShop) -> None:
    doors.add_doors(doors.estimate, label="Shelf <b>", pieces=3, length=Decimal(900), width=Decimal(300))
    quote = doors.quote()
    doors.estimate.rows.all().delete()
    printed = " ".join(pdf_text(quote_pdf(quote, doors.shop)).split())
    assert "What is finished" in printed
    assert "Door 24 715 × 397 × 19 mm 15.32 m²" in printed
    assert "Shelf <b> 3 900 × 300 × 19 mm" in printed
    assert "Together 27" in printed


def test_a_us_shop_s_quote_has_inches(doors: DoorShop) -> None:
    set_shop(unit_system="us")
    doors.estimate.rows.update(length=Decimal("714.375"), width=Decimal("396.875"), thickness=Decimal("19.05"))
    printed = " ".join(pdf_text(quote_pdf(doors.quote(), doors.shop)).split())
    assert "28 1/8 × 15 5/8 × 3/4 in" in printed
