"""Stock moves: the list, one posting, its counter-movement."""

from __future__ import annotations

from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Material, Posting
from inventory.services.ledger import ReceiptLine, receive
from tests.inventory.pages.shop import Shelf, booked, errors, key, words

D = Decimal


@pytest.fixture
def taken(clear: Material, shelf: Shelf) -> Posting:
    """4 L taken out of 10 L."""
    shelf.lot(clear, "10")
    return shelf.take(clear, "4")


def reverse_it(client: Client, posting: Posting, **data: str) -> Any:
    return client.post(reverse("posting_reverse", args=[posting.pk]), {"key": key(), "reason": "wrong job", **data})


def page_of(client: Client, posting: Posting) -> str:
    return words(client.get(reverse("posting", args=[posting.pk])))


def test_a_posting_shows_who_moved_what_when_and_for_what(office: Client, taken: Posting) -> None:
    page = page_of(office, taken)
    for said in ("Clear coat A-1 −4 L −$80.00", "Booked by Office Person", "What for Job 1", "Kind Issue"):
        assert said in page


def test_a_reversal_brings_back_the_stock_and_both_postings_name_each_other(office: Client, taken: Posting) -> None:
    response = reverse_it(office, taken)
    lot = taken.movements.get().lot
    lot.refresh_from_db()
    assert lot.on_hand == 10
    counter = Posting.objects.get(kind="reversal")
    assert response.url == reverse("posting", args=[counter.pk])
    assert f"This reverses {taken}" in page_of(office, counter).replace(" .", ".")
    assert f"This was reversed by {counter}" in page_of(office, taken)
    assert "wrong job" in page_of(office, taken)


def test_it_is_reversed_once(office: Client, taken: Posting) -> None:
    reverse_it(office, taken)
    before = booked()
    assert "has been reversed already" in str(errors(reverse_it(office, taken)))
    assert booked() == before
    address = reverse("posting_reverse", args=[taken.pk])
    assert address not in office.get(reverse("posting", args=[taken.pk])).text


@pytest.mark.parametrize("reason", ["", "  ", "x" * 301])
def test_it_needs_a_reason_that_fits(reason: str, office: Client, taken: Posting) -> None:
    before = booked()
    assert list(errors(reverse_it(office, taken, reason=reason))) == ["reason"]
    assert booked() == before


def test_a_delivery_of_which_some_is_used_is_not_reversed(office: Client, taken: Posting) -> None:
    delivery = Posting.objects.get(kind="receipt")
    assert "can’t be reversed" in str(errors(reverse_it(office, delivery)))


def test_a_finisher_is_not_offered_a_reversal(finisher: Client, taken: Posting) -> None:
    assert reverse("posting_reverse", args=[taken.pk]) not in finisher.get(reverse("posting", args=[taken.pk])).text


def test_the_list_filters_by_kind_reference_and_days(office: Client, taken: Posting, clear: Material, shelf: Shelf) -> None:
    def listed(**query: str) -> set[str]:
        response = office.get(reverse("stock_moves", query=query))
        return {row.record.kind for row in response.context["table"].rows}

    reverse_it(office, taken)
    assert listed() == {"receipt", "issue", "reversal"}
    assert listed(kind="issue") == {"issue"}
    assert listed(text="Job 1") == {"issue", "reversal"}
    assert listed(text="clear") == {"receipt", "issue", "reversal"}
    assert listed(text="A-1", kind="receipt") == {"receipt"}
    assert listed(since=shelf.today.isoformat()) == {"issue", "reversal"}
    assert listed(until="2001-01-01") == set()
    assert listed(since="soon", page="x", sort="x") == {"receipt", "issue", "reversal"}


def test_the_list_begins_with_the_newest(office: Client, taken: Posting) -> None:
    reverse_it(office, taken)
    rows = office.get(reverse("stock_moves")).context["table"].rows
    assert [row.record.kind for row in rows] == ["reversal", "issue", "receipt"]


def test_an_empty_shop_is_told_what_to_do_first(office: Client) -> None:
    assert "Nothing has moved yet" in words(office.get(reverse("stock_moves")))


def test_the_list_says_what_moved_and_how_much(office: Client, taken: Posting, clear: Material, shelf: Shelf) -> None:
    page = words(office.get(reverse("stock_moves")))
    assert "−4 L Clear coat, lot A-1" in page
    assert "+10 L Clear coat, lot A-1" in page
    assert "more" not in page


def test_a_long_posting_shows_its_first_movements_and_counts_the_rest(office: Client, clear: Material, shelf: Shelf) -> None:
    lines = [ReceiptLine(material=clear, quantity=D(1), unit_cost=D(5), lot_number=f"L{number}") for number in range(7)]
    receive(key=uuid4(), by=shelf.by, on=shelf.today, supplier=None, reference="many", lines=lines)
    page = words(office.get(reverse("stock_moves")))
    assert "+1 L Clear coat, lot L0 +1 L Clear coat, lot L1 +1 L Clear coat, lot L2 and 4 more" in page
    assert "lot L3" not in page
