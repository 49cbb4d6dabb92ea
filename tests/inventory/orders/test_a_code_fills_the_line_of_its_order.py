"""Scanning while a delivery is received against an order: the row it fills, what stays, what is said; nothing is booked."""

from __future__ import annotations

from datetime import date, timedelta
from html import unescape
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from finishing.models import User
from inventory.core.gs1 import GS
from inventory.models import Lot, Pack, Posting, PurchaseOrder
from tests.inventory.orders.buying import receive, rows, sent
from tests.inventory.pages.shop import words

pytestmark = pytest.mark.django_db
GTIN, OTHER = "09506000134352", "09506000134369"


@pytest.fixture
def order(buyer: User, can: Pack, box: Pack) -> PurchaseOrder:
    """Four cans with a GTIN, and two boxes without."""
    Pack.objects.filter(pk=can.pk).update(gtin=GTIN[1:])
    return sent(buyer, (can, 4), (box, 2))


def code(lot: str = "LOT7A", until: date | None = None, gtin: str = GTIN) -> str:
    return f"]C101{gtin}" + (f"17{until:%y%m%d}" if until else "") + f"10{lot}"


def scan(client: Client, order: PurchaseOrder, text: str, form: dict[str, str] | None = None) -> Any:
    """The page of a fresh delivery, or of a form as it stands, with a code read into it."""
    return client.post(reverse("purchase_order_scan", args=[order.pk]), {**(form or fresh(order)), "scan": text})


def fresh(order: PurchaseOrder) -> dict[str, str]:
    return rows(order, {"at": "0"}, {"at": "1"})


def shown(page: Any, place: int = 0) -> dict[str, str]:
    """A row as the page shows it again, without its line and its empty boxes."""
    row = page.context["arrival"].rows.forms[place]
    return {field.name: str(field.value()) for field in row if field.value() and field.name != "line"}


def line_of(page: Any, place: int) -> str:
    return str(page.context["arrival"].rows.forms[place]["line"].value() or "")


def form_of(page: Any) -> dict[str, str]:
    """The form as a browser would send it from the page that came back."""
    arrival = page.context["arrival"]
    data = {"rows-TOTAL_FORMS": str(len(arrival.rows.forms)), "rows-INITIAL_FORMS": "0"}
    for form in (arrival.head, *arrival.rows.forms):
        data |= {field.html_name: str(field.value() or "") for field in form if field.name != "book_again"}
    return data


def test_a_code_fills_the_row_of_its_line_and_can_be_booked(desk: Client, order: PurchaseOrder, today: date) -> None:
    until = today + timedelta(days=200)
    page = scan(desk, order, code(until=until))
    assert shown(page) == {"packs": "1", "lot_number": "LOT7A", "expires_on": until.isoformat()}
    assert "Row 1 : Clear, 5 L can, lot LOT7A, expires" in words(page)
    assert not Posting.objects.exists()
    desk.post(reverse("purchase_order_receive", args=[order.pk]), form_of(page))
    lot = Lot.objects.get()
    assert (lot.number, lot.on_hand, lot.expires_on, lot.order_line) == ("LOT7A", 5, until, order.lines.first())


def test_the_same_lot_again_is_one_more_pack_and_another_lot_another_row(desk: Client, order: PurchaseOrder) -> None:
    page = scan(desk, order, code())
    page = scan(desk, order, code(), form_of(page))
    assert shown(page) == {"packs": "2", "lot_number": "LOT7A"}
    assert "Row 1 , 1 more" in words(page)
    page = scan(desk, order, code("LOT8"), form_of(page))
    assert (shown(page)["packs"], shown(page, 2)) == ("2", {"packs": "1", "lot_number": "LOT8"})
    assert line_of(page, 2) == line_of(page, 0)


def test_a_carton_that_brings_more_than_is_awaited_is_told(desk: Client, buyer: User, order: PurchaseOrder) -> None:
    receive(buyer, order, (0, 1))
    page = scan(desk, order, f"]C102{GTIN}3706{GS}10L1")
    assert shown(page)["packs"] == "6"
    assert "That makes 6 packs in this delivery; 3 of this line are still to come." in words(page)


def test_what_was_typed_stays(desk: Client, order: PurchaseOrder) -> None:
    typed = rows(order, {"at": "0", "packs": "two", "price": "12,5"}, {"at": "1"}) | {"reference": "DN “9”", "on": "next week"}
    page = scan(desk, order, code(), typed)
    assert shown(page) == {"packs": "two", "price": "12,5", "lot_number": "LOT7A"}
    head = page.context["arrival"].head
    assert (head["reference"].value(), head["on"].value(), str(head["key"].value())) == ("DN “9”", "next week", typed["key"])
    assert "errorlist" not in page.text


def test_a_plain_lot_number_completes_a_row_or_waits_for_its_line(desk: Client, buyer: User, order: PurchaseOrder) -> None:
    page = scan(desk, order, "B-2026/44", rows(order, {"at": "0", "packs": "2"}, {"at": "1"}))
    assert shown(page) == {"packs": "2", "lot_number": "B-2026/44"}
    page = scan(desk, order, "B-2026/44")
    assert (shown(page), shown(page, 1), shown(page, 2)) == ({}, {}, {"lot_number": "B-2026/44"})
    assert line_of(page, 2) == ""
    page = scan(desk, order, GTIN, form_of(page))
    assert shown(page, 2) == {"packs": "1", "lot_number": "B-2026/44"}
    assert line_of(page, 2) == str(order.lines.all()[0].pk)
    alone = scan(desk, order, "B-2026/44", rows(order, {"at": "1"}))
    assert shown(alone) == {"lot_number": "B-2026/44"}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (f"]C101{GTIN[:-1]}310LOT1", "check digit"),
        (f"]C101{GTIN}17260230", "February 2026 has 28 days"),
        (f"]C101{GTIN}1726", "no date of six digits"),
        ("", "There is nothing to read"),
    ],
)
def test_what_can_not_be_read_is_told_and_fills_nothing(desk: Client, order: PurchaseOrder, text: str, said: str) -> None:
    page = scan(desk, order, text)
    assert said in page.context["scanned"]["problem"], page.context["scanned"]["problem"]
    assert (shown(page), shown(page, 1)) == ({}, {})
    assert unescape(page.text).count(page.context["scanned"]["problem"]) == 1


def test_day_00_is_the_last_day_of_its_month(desk: Client, order: PurchaseOrder, today: date) -> None:
    page = scan(desk, order, f"]C101{GTIN}17{today.year % 100 + 1:02}020010L")
    last = date(today.year + 1, 3, 1) - timedelta(days=1)
    assert shown(page)["expires_on"] == last.isoformat()
    assert "a month without a day: its last day is meant" in words(page)


def test_an_unknown_gtin_fills_the_rest_and_offers_to_enter_it(desk: Client, order: PurchaseOrder) -> None:
    page = scan(desk, order, code("X1", gtin=OTHER))
    assert (shown(page, 2), line_of(page, 2)) == ({"lot_number": "X1"}, "")
    assert f"No pack has the GTIN {OTHER}" in words(page)
    assert reverse("gtin_new", args=[OTHER]) in page.text


def test_a_pack_that_was_not_ordered_is_refused_in_words(desk: Client, order: PurchaseOrder, drum: Pack) -> None:
    Pack.objects.filter(pk=drum.pk).update(gtin=OTHER)
    page = scan(desk, order, code("X1", gtin=OTHER))
    assert "Thinner, 20 L drum, is not on this order." in words(page)
    assert not [place for place in range(3) if shown(page, place)]


def test_a_label_with_another_amount_counts_no_packs(desk: Client, order: PurchaseOrder) -> None:
    page = scan(desk, order, f"]C101{GTIN}315100049010L1")  # AI 3151: net volume in 0.1 L
    assert shown(page) == {"lot_number": "L1"}
    assert "the order counts packs of 5 L, so no packs are filled in" in words(page)


def test_nothing_is_scanned_for_an_order_that_is_over(desk: Client, buyer: User, order: PurchaseOrder, client: Client) -> None:
    receive(buyer, order, (0, 4), (1, 2))
    address = reverse("purchase_order_scan", args=[order.pk])
    assert "Nothing is awaited of it" in desk.post(address, {"scan": GTIN}, follow=True).text
    assert desk.post(address, {"scan": GTIN}, headers={"HX-Request": "true"})["HX-Redirect"] == order.get_absolute_url()
    for role, status in (("finisher", 403), ("estimator", 403), ("owner", 302)):
        client.force_login(User.objects.get_or_create(username=role, **{f"is_{role}": True})[0])
        assert client.post(address, {"scan": GTIN}).status_code == status
