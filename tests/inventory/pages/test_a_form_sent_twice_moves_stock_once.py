"""A doubled or stale form: the second arrival shows the first posting; another person's key is refused."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Lot, Material, Pack, Posting
from tests.inventory.pages.shop import Shelf, booked, delivery, errors, issue, key, this_day, words

AGAIN = "nothing was booked again"


def test_a_delivery(office: Client, can: Pack, today: date) -> None:
    line = {"item": f"pack:{can.pk}", "amount": "2", "lot_number": "C", "made_on": (today - timedelta(days=1)).isoformat()}
    data = delivery(today, line)
    first = office.post(reverse("receive"), data)
    before = booked()
    second = office.post(reverse("receive"), data, follow=True)
    assert second.redirect_chain[0][0] == first.url
    assert AGAIN in words(second)
    assert booked() == before


def test_an_issue(finisher: Client, clear: Material, shelf: Shelf) -> None:
    lot = shelf.lot(clear, "10")
    data = {"key": key(), "quantity": "4"}
    first, second = issue(finisher, clear, **data), issue(finisher, clear, **data)
    assert first.url == second.url
    assert AGAIN in words(finisher.get(second.url))
    lot.refresh_from_db()
    assert lot.on_hand == 6


def test_an_issue_that_emptied_the_lot_it_names(finisher: Client, clear: Material, shelf: Shelf) -> None:
    lot = shelf.lot(clear, "4")
    data = {"key": key(), "quantity": "4", "lot": str(lot.pk)}
    first, second = issue(finisher, clear, **data), issue(finisher, clear, **data)
    assert (second.status_code, second.url) == (302, first.url)
    assert AGAIN in words(finisher.get(second.url))


@pytest.mark.parametrize("verb", ["stock_return", "stock_write_off"])
def test_a_return_and_a_write_off(verb: str, office: Client, clear: Material, shelf: Shelf) -> None:
    lot = shelf.lot(clear, "10")
    shelf.take(clear, "5")
    data = {"key": key(), "quantity": "2", "on": this_day(), "reference": "Job 1", "reason": "fell", "cause": "spilled"}
    first = office.post(reverse(verb, args=[lot.pk]), data)
    before = booked()
    second = office.post(reverse(verb, args=[lot.pk]), data, follow=True)
    assert second.redirect_chain[0][0] == first.url
    assert AGAIN in words(second)
    assert booked() == before


def test_a_reversal(office: Client, clear: Material, shelf: Shelf) -> None:
    posting = shelf.lot(clear).movements.get().posting
    address, data = reverse("posting_reverse", args=[posting.pk]), {"key": key(), "reason": "typed twice"}
    first = office.post(address, data)
    before = booked()
    second = office.post(address, data, follow=True)
    assert second.redirect_chain[0][0] == first.url
    assert AGAIN in words(second)
    assert booked() == before


def test_the_same_form_with_other_figures_is_told_apart(finisher: Client, clear: Material, shelf: Shelf) -> None:
    shelf.lot(clear, "10")
    same = key()
    issue(finisher, clear, key=same, quantity="1")
    before = booked()
    response = issue(finisher, clear, key=same, quantity="2")
    assert "with other figures" in str(errors(response))
    assert booked() == before


def test_a_key_belongs_to_one_person(as_role: Callable[[str], Client], clear: Material, shelf: Shelf) -> None:
    shelf.lot(clear, "10")
    same = key()
    issue(as_role("finisher"), clear, key=same)
    before = booked()
    response = issue(as_role("owner"), clear, key=same)
    assert "Somebody else has sent this form" in str(errors(response))
    assert booked() == before


def test_a_key_belongs_to_one_action(office: Client, clear: Material, shelf: Shelf) -> None:
    lot = shelf.lot(clear, "10")
    same = key()
    issue(office, clear, key=same)
    data = {"key": same, "quantity": "1", "on": this_day(), "reason": "fell", "cause": "spilled"}
    response = office.post(reverse("stock_write_off", args=[lot.pk]), data)
    assert "used for something else" in str(errors(response))


@pytest.mark.parametrize("broken", ["", "not-a-key"])
def test_a_form_without_its_key_is_out_of_date(broken: str, finisher: Client, clear: Material, shelf: Shelf) -> None:
    shelf.lot(clear, "10")
    before = booked()
    response = issue(finisher, clear, key=broken)
    assert "This form is out of date" in words(response)
    assert booked() == before


def test_each_form_shown_has_a_key_of_its_own(finisher: Client, clear: Material, shelf: Shelf) -> None:
    lot = shelf.lot(clear, "10")
    address = reverse("stock_write_off", args=[lot.pk])

    def shown() -> Any:
        return finisher.get(address).context["form"]["key"].value()

    assert shown() != shown()


def test_a_refused_form_keeps_its_key(finisher: Client, clear: Material, shelf: Shelf) -> None:
    shelf.lot(clear, "10")
    same = key()
    assert str(issue(finisher, clear, key=same, quantity="11").context["form"]["key"].value()) == same
    assert issue(finisher, clear, key=same, quantity="1").status_code == 302
    assert (Posting.objects.filter(kind="issue").count(), Lot.objects.get().on_hand) == (1, 9)
