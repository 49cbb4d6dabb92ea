"""A purchase order as PDF and spreadsheet, for the supplier."""

from __future__ import annotations

import io
import subprocess
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook
from pypdf import PdfReader

from finishing.models import Shop, User
from inventory.models import Pack, PurchaseOrder
from tests.inventory.orders.buying import draft

pytestmark = pytest.mark.django_db
PAPER = {"A4": (595, 842), "letter": (612, 792)}


@pytest.fixture
def order(buyer: User, can: Pack, box: Pack) -> PurchaseOrder:
    """2 × 23.60 and 9 × 3.335 = 30.015, which is 30.02: 77.22 in all."""
    made = draft(buyer, (can, 2), (box, 9))
    made.note = "=SUM(A1) ring the bell"
    made.save()
    return made


@pytest.mark.parametrize("page_size", PAPER)
def test_the_pdf_tells_the_supplier_all(desk: Client, order: PurchaseOrder, page_size: str) -> None:
    shop = Shop.current()
    shop.page_size, shop.name, shop.address = page_size, "Our Shop (invented)", "1 Some Road"
    shop.save()
    answer = desk.get(reverse("purchase_order_pdf", args=[order.pk]))
    assert answer["Content-Disposition"] == 'attachment; filename="purchase-order-P-0001.pdf"'
    page = PdfReader(io.BytesIO(answer.content)).pages[0]
    assert (round(page.mediabox.width), round(page.mediabox.height)) == PAPER[page_size]
    text = " ".join(page.extract_text().split())
    wanted = (
        "P-0001",
        "1 Some Road",
        "North Yard (invented)",
        "A-77",
        "NY-5",
        "as soon as possible",
        "$47.20",
        "$30.02",
        "$77.22",
    )
    for words in (*wanted, "=1+1 <b>Strainer €</b>", "=SUM(A1) ring the bell"):
        assert words in text, words


@pytest.mark.libreoffice
def test_the_spreadsheet_recalculates_to_the_same_total(
    desk: Client, order: PurchaseOrder, soffice: Path, tmp_path: Path
) -> None:
    source = tmp_path / "order.xlsx"
    source.write_bytes(desk.get(reverse("purchase_order_xlsx", args=[order.pk])).content)
    formulas = [cell.value for row in load_workbook(source).active.iter_rows() for cell in row if cell.data_type == "f"]
    assert len(formulas) == 3
    assert not [text for text in formulas if not text.startswith(("=ROUND(D", "=SUM(F"))]
    command = [str(soffice), "--headless", "--norestore", f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"]
    command += ["--convert-to", "xlsx", "--outdir", str(tmp_path / "out"), str(source)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    sheet = load_workbook(tmp_path / "out" / "order.xlsx", data_only=True).active
    [total] = [row[5].value for row in sheet.iter_rows() if row[0].value == "Total without tax"]
    assert total == pytest.approx(77.22, abs=1e-9)
