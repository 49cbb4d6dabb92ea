"""The same delivery note from two separate forms: a question first, a tick to book it all the same."""

from __future__ import annotations

import threading
import uuid
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from finishing.models import User
from inventory.models import Lot, Pack, Posting, Supplier
from inventory.services.deliveries import BookedBeforeError, note_number, receive_delivery
from inventory.services.ledger import ReceiptLine
from inventory.services.order_receipts import reverse_posting
from tests.inventory.orders.buying import D, rows, sent
from tests.inventory.pages.shop import delivery

pytestmark = pytest.mark.django_db


def typed(today: date, pack: Pack, *, reference: str = "DN 77", lot: str = "A-1") -> dict[str, str]:
    """A fresh form with one can."""
    row = {"item": f"pack:{pack.pk}", "amount": "1", "lot_number": lot}
    return delivery(today, row, supplier=pack.supplier, reference=reference)


def question(page: Any) -> str:
    head = page.context["delivery" if "delivery" in page.context else "arrival"].head
    assert bool(head.question) == bool(head.errors.get("reference"))
    return str(head.question)


def test_a_second_form_with_the_same_note_is_asked_and_keeps_what_was_typed(desk: Client, can: Pack, today: date) -> None:
    desk.post(reverse("receive"), typed(today, can))
    again = typed(today, can, reference=" dn 77 ", lot="B-9")
    for step in ("check", ""):
        page = desk.post(reverse("receive"), {**again, "step": step})
        assert "5 L of Clear, lot A-1. Nothing is booked yet" in question(page)
        assert 'value="B-9"' in page.text
        assert "Book it all the same" in page.text
    assert Lot.objects.get().number == "A-1"
    first = Posting.objects.get()
    ticked = {**again, "book_again": "on", "asked_about": str(first.pk)}
    assert "5 L can" in str(desk.post(reverse("receive"), {**ticked, "step": "check"}).context["understood"])
    desk.post(reverse("receive"), ticked)
    assert sorted(Lot.objects.values_list("number", flat=True)) == ["A-1", "B-9"]


def test_the_tick_holds_for_the_delivery_that_was_shown_only(desk: Client, can: Pack, today: date) -> None:
    for reference in ("DN 1", "DN 2"):
        desk.post(reverse("receive"), typed(today, can, reference=reference))
    shown = Posting.objects.get(reference="DN 1")
    page = desk.post(
        reverse("receive"), {**typed(today, can, reference="DN 2"), "book_again": "on", "asked_about": str(shown.pk)}
    )
    assert "“DN 2” of North Yard" in question(page)
    assert "checked" not in str(page.context["delivery"].head["book_again"])
    assert Lot.objects.count() == 2


def test_it_does_not_ask_where_there_is_nothing_to_ask(desk: Client, buyer: User, can: Pack, drum: Pack, today: date) -> None:
    first = typed(today, can)
    desk.post(reverse("receive"), first)
    assert "nothing was booked again" in desk.post(reverse("receive"), first, follow=True).text
    for other in (typed(today, can, reference="DN 78"), typed(today, drum)):
        assert desk.post(reverse("receive"), other).status_code == 302
    posting = Posting.objects.get(key=first["key"])
    reverse_posting(key=uuid.uuid4(), by=buyer, on=today, posting=posting, reason="wrong can")
    assert desk.post(reverse("receive"), typed(today, can)).status_code == 302
    for _ in range(2):
        nobody = {**typed(today, can, reference="opening stock"), "supplier": ""}
        assert desk.post(reverse("receive"), nobody).status_code == 302


def test_a_delivery_against_an_order_is_asked_as_well(desk: Client, buyer: User, can: Pack, today: date) -> None:
    desk.post(reverse("receive"), typed(today, can))
    order = sent(buyer, (can, 4))
    address = reverse("purchase_order_receive", args=[order.pk])
    again = {**rows(order, {"packs": "2", "lot_number": "C"}), "reference": "DN 77"}
    for step in ("check", ""):
        page = desk.post(address, {**again, "step": step})
        assert "“DN 77” of North Yard" in question(page)
        assert 'value="C"' in page.text
    assert Lot.objects.count() == 1
    desk.post(address, {**again, "book_again": "on", "asked_about": str(Posting.objects.get().pk)})
    assert Lot.objects.filter(order_line__order=order).count() == 1


@pytest.mark.database
@pytest.mark.django_db(transaction=True)
def test_of_two_forms_sent_at_once_one_is_asked(buyer: User, can: Pack, supplier: Supplier, today: date) -> None:
    start, told = threading.Barrier(2), []

    def book() -> None:
        line = ReceiptLine(material=can.material, quantity=D(5), unit_cost=D(1), lot_number="A", pack=can)
        start.wait()
        try:
            receive_delivery(key=uuid.uuid4(), by=buyer, on=today, supplier=supplier, reference="DN 5", lines=[line])
        except BookedBeforeError as error:
            told.append(error)
        finally:
            connection.close()

    both = [threading.Thread(target=book) for _ in range(2)]
    for one in both:
        one.start()
    for one in both:
        one.join()
    assert (len(told), Lot.objects.count()) == (1, 1)


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("Delivery note NY-2402", "ny 2402", True),
        ("DN 77", "77", True),
        ("delivery note no. 77", "DN-77", True),
        ("NY2402", "NY–2402", True),
        ("NY-2402", "NY-2403", False),
        ("DNA-5", "A-5", False),
        ("1/12", "11/2", False),
        ("Delivery note", "", False),
    ],
)
def test_numbers_are_compared_without_blanks_hyphens_and_leading_words(one: str, other: str, same: bool) -> None:
    assert (note_number(one) == note_number(other)) is same
