"""A quote is printed with the logo of a shop that has one."""

from __future__ import annotations

import io

from PIL import Image

from costing.documents.quote_pdf import quote_pdf
from finishing.logo import clean_logo
from finishing.models import ShopLogo
from tests.costing.pricing.door_shop import DoorShop


def test_it_is_printed_once_it_is_kept(doors: DoorShop) -> None:
    quote = doors.quote()
    assert b"/Subtype /Image" not in quote_pdf(quote, doors.shop)
    drawn = io.BytesIO()
    Image.new("RGB", (90, 30), "navy").save(drawn, "PNG")
    ShopLogo.keep(clean_logo(drawn.getvalue()))
    assert b"/Subtype /Image" in quote_pdf(quote, doors.shop)
