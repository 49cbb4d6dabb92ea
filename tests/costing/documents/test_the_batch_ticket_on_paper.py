"""The ticket as a PDF holds what the page shows, and its code opens that page."""

from __future__ import annotations

import io
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from costing.documents.ticket_pdf import MODULE, QUIET, code
from finishing.models import User
from inventory.documents.labels_draw import square_modules
from tests.costing.jobs.finish_shop import FinishShop, step

pytestmark = pytest.mark.django_db


def test_the_paper_says_what_to_weigh_and_from_which_lot(client: Client) -> None:
    shop = FinishShop(by=User.objects.create_user("owner", is_owner=True))
    shop.stock()
    coat = step(shop.job(), "First coat")
    client.force_login(shop.by, backend="finishing.auth.RoleBackend")
    answer = client.get(reverse("ticket_pdf", args=[coat.pk]), {"litres": "1.1 L"})
    assert answer["Content-Type"] == "application/pdf"
    said = " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(answer.content)).pages)
    for words in ("Batch ticket", "Mix 1.1 L, in this order", "1. Base", "2. Hardener", "100 mL", "105 g", "B1 (1.02 L)"):
        assert words in said, words
    for words in ("Pot life", "2 h 00 min", "110 µm", "Gravity gun", "Caution: Hardener"):
        assert words in said, words
    assert f"http://testserver/steps/{coat.pk}/ticket/" in said.replace(" ", "")  # it is wrapped below its code


def test_the_drawn_code_is_the_code_of_the_address() -> None:
    address = "http://192.0.2.7:8000/steps/12/ticket/"
    drawing = code(address)
    modules = square_modules(address)
    drawn = [[0] * len(modules) for _ in modules]
    for bar in drawing.contents[1:]:
        row = len(modules) - 1 - round(bar.y / MODULE - QUIET)
        for place in range(round(bar.width / MODULE)):
            drawn[row][round(bar.x / MODULE - QUIET) + place] = 1
    assert drawn == [list(row) for row in modules]
    assert Decimal(str(drawing.width)) == Decimal(str(drawing.height))
