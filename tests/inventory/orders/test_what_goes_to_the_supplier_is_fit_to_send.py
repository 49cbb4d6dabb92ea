"""The PDF and the spreadsheet of a draft are what goes out: only the page says that the order is not noted as sent."""

from __future__ import annotations

import io
import uuid
from datetime import date, datetime

import pytest
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook
from pypdf import PdfReader

from finishing.models import User
from finishing.show import day
from inventory.models import Pack, PurchaseOrder, Supplier
from inventory.services.order_receipts import reverse_posting
from inventory.services.orders import send_order
from tests.inventory.orders.buying import D, draft, receive, sent
from tests.inventory.pages.shop import words

pytestmark = pytest.mark.django_db


@pytest.fixture
def order(buyer: User, can: Pack, supplier: Supplier) -> PurchaseOrder:
    """One can from a supplier who takes 9.00 for bringing it."""
    Supplier.objects.filter(pk=supplier.pk).update(delivery_charge=D(9))
    return draft(buyer, (can, 1))


def cells(desk: Client, order: PurchaseOrder) -> dict[object, list[object]]:
    content = desk.get(reverse("purchase_order_xlsx", args=[order.pk])).content
    rows = load_workbook(io.BytesIO(content)).active.iter_rows(values_only=True)
    return {row[0]: [one for one in row[1:] if one is not None] for row in rows}


def paper(desk: Client, order: PurchaseOrder) -> str:
    content = desk.get(reverse("purchase_order_pdf", args=[order.pk])).content
    return " ".join("".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages).split())


def test_a_draft_s_files_bear_a_day_and_no_word_of_the_draft(desk: Client, order: PurchaseOrder, today: date) -> None:
    pdf, sheet = paper(desk, order), cells(desk, order)
    assert day(today) in pdf
    assert "draft" not in (pdf + str(sheet)).lower()
    assert sheet["Date"] == [datetime(today.year, today.month, today.day)]
    page = words(desk.get(order.get_absolute_url()))
    assert "Not noted as sent yet." in page


def test_a_sent_order_s_files_bear_the_day_it_was_sent(desk: Client, buyer: User, order: PurchaseOrder) -> None:
    gone = send_order(order=order, by=buyer, on=date(2026, 1, 5), promised_on=None)
    assert day(date(2026, 1, 5)) in paper(desk, gone)
    assert cells(desk, gone)["Date"] == [datetime(2026, 1, 5)]


def test_both_files_name_the_delivery_charge_of_the_page(desk: Client, order: PurchaseOrder) -> None:
    assert "Delivery charge $9.00 besides" in words(desk.get(order.get_absolute_url()))
    assert "Delivery charge, besides $9.00" in paper(desk, order)
    assert cells(desk, order)["Delivery charge, besides"] == [9]
    Supplier.objects.update(delivery_charge=0)
    assert "Delivery charge" not in paper(desk, order) + str(cells(desk, order))


def test_a_delivery_taken_back_is_marked_on_the_order(desk: Client, buyer: User, can: Pack, today: date) -> None:
    order = sent(buyer, (can, 3))
    wrong, right = receive(buyer, order, (0, 2)), receive(buyer, order, (0, 1))
    reverse_posting(key=uuid.uuid4(), by=buyer, on=today, posting=wrong, reason="typed wrong")
    came = words(desk.get(order.get_absolute_url())).partition("What came")[2]
    assert "lot L0-2 reversed" in came
    assert "lot L0-1 reversed" not in came
    assert str(right.movements.get().lot) in came
