"""The list with its filters, the pricing desk, and who may open them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from costing.choices import QuoteStatus
from costing.models import CoatingSystem, Customer, Estimate, Quote
from costing.services.quoting import decline_quote
from finishing.models import User
from tests.costing.pricing.door_shop import TODAY, DoorShop

Browser = Callable[[User], Client]


@pytest.fixture
def all_states(doors: DoorShop) -> dict[str, Quote]:
    """A quote in every state."""
    accepted = doors.quote(sent=True, title="Accepted one")
    Quote.objects.filter(pk=accepted.pk).update(status=QuoteStatus.ACCEPTED, status_on=TODAY())
    replaced = doors.quote(title="Replaced one")
    Quote.objects.filter(pk=replaced.pk).update(status=QuoteStatus.REPLACED)
    return {
        "draft": doors.quote(title="Draft one"),
        "sent": doors.quote(sent=True, title="Sent one", valid_until=TODAY() + timedelta(days=3)),
        "lapsed": doors.lapsed(doors.quote(sent=True, title="Lapsed one")),
        "declined": decline_quote(quote=doors.quote(sent=True, title="Declined one"), reason="Price", on=TODAY()),
        "accepted": accepted,
        "replaced": replaced,
    }


def titles(page: str) -> set[str]:
    """Which of the quotes a page names."""
    return {f"{state} one" for state in ("Accepted", "Replaced", "Draft", "Sent", "Lapsed", "Declined") if f"{state} one" in page}


@pytest.mark.parametrize("state", ["draft", "sent", "lapsed", "declined", "accepted", "replaced"])
def test_the_list_narrows_to_a_state(all_states: dict[str, Quote], as_: Browser, estimator: User, state: str) -> None:
    page = as_(estimator).get(reverse("quotes"), {"state": state}).text
    assert titles(page) == {all_states[state].title}


@pytest.mark.parametrize("words", ["Q-0003", "q-3", "3", "Draft o"])
def test_the_list_finds_a_number_or_a_title(all_states: dict[str, Quote], as_: Browser, estimator: User, words: str) -> None:
    assert all_states["draft"].number == 3
    assert titles(as_(estimator).get(reverse("quotes"), {"words": words}).text) == {"Draft one"}


def test_the_list_narrows_to_a_customer(doors: DoorShop, as_: Browser, estimator: User) -> None:
    doors.quote(title="Draft one")
    other = Customer.objects.create(name="Other")
    doors.quote(title="Sent one", customer=other)
    assert titles(as_(estimator).get(reverse("quotes"), {"customer": other.pk}).text) == {"Sent one"}


def test_an_empty_list_says_what_to_do_first(as_: Browser, estimator: User) -> None:
    page = as_(estimator).get(reverse("quotes")).text
    assert "No quote yet" in page
    assert f'href="{reverse("estimates")}"' in page


def test_a_longer_list_asks_no_more_queries(doors: DoorShop, as_: Browser, estimator: User) -> None:
    browser = as_(estimator)

    def count(name: str) -> int:
        with CaptureQueriesContext(connection) as caught:
            assert browser.get(reverse(name)).status_code == 200
        return len(caught)

    for _ in range(2):
        doors.quote(sent=True)
    few = {name: count(name) for name in ("quotes", "desk_pricing")}
    for _ in range(4):
        doors.quote(sent=True)
    assert {name: count(name) for name in few} == few


def test_the_desk_lists_what_is_waiting(doors: DoorShop, all_states: dict[str, Quote], as_: Browser, estimator: User) -> None:
    doors.add_estimate("Priced, never offered", doors.system)
    page = as_(estimator).get(reverse("desk_pricing"))
    shown = {key: [entry.quote.title for entry in page.context[key]] for key in ("drafts", "sent", "lapsed", "accepted")}
    assert shown == {"drafts": ["Draft one"], "sent": ["Sent one"], "lapsed": ["Lapsed one"], "accepted": ["Accepted one"]}
    assert [estimate.name for estimate in page.context["waiting"]] == ["Priced, never offered"]
    assert "3 days left" in page.text


def test_an_acceptance_of_last_season_leaves_the_desk(doors: DoorShop, as_: Browser, estimator: User) -> None:
    quote = doors.quote(sent=True)
    Quote.objects.filter(pk=quote.pk).update(status=QuoteStatus.ACCEPTED, status_on=TODAY() - timedelta(days=31))
    assert as_(estimator).get(reverse("desk_pricing")).context["accepted"] == []


def test_an_empty_desk_asks_for_a_system_and_then_for_an_estimate(as_: Browser, estimator: User) -> None:
    browser = as_(estimator)
    assert "No coating system yet" in browser.get(reverse("desk_pricing")).text
    CoatingSystem.objects.create(name="Clear")
    page = browser.get(reverse("desk_pricing")).text
    assert "Nothing to price yet" in page
    Estimate.objects.create(name="Kitchen")
    assert "Kitchen" in browser.get(reverse("desk_pricing")).text


@pytest.mark.parametrize(
    "name", ["quotes", "quote", "quote_new", "quote_revise", "quote_pdf", "quote_xlsx", "quote_cost_sheet_pdf", "desk_pricing"]
)
def test_quotes_are_not_for_the_finisher(doors: DoorShop, as_: Browser, client: Client, finisher: User, name: str) -> None:
    quote = doors.quote()
    args = {
        "quotes": [],
        "desk_pricing": [],
        "quote_new": [doors.estimate.pk],
        "quote_cost_sheet_pdf": [quote.pk, 1],
    }.get(name, [quote.pk])
    url = reverse(name, args=args)
    assert client.get(url).status_code == 302
    assert as_(finisher).get(url).status_code == 403


@pytest.mark.parametrize("name", ["quote_send", "quote_decline"])
def test_the_finisher_moves_no_quote(doors: DoorShop, as_: Browser, finisher: User, name: str) -> None:
    quote = doors.quote()
    assert as_(finisher).post(reverse(name, args=[quote.pk]), {"reason": "x"}).status_code == 403
    quote.refresh_from_db()
    assert quote.status == QuoteStatus.DRAFT


def test_a_person_who_may_not_see_costs_sees_the_offer_without_them(
    doors: DoorShop, as_: Browser, estimator: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    quote, browser = doors.quote(), as_(estimator)
    assert "€186.93" in browser.get(reverse("quote", args=[quote.pk])).text
    may = User.has_perm
    monkeypatch.setattr(User, "has_perm", lambda self, perm, obj=None: perm != "costing.see_costs" and may(self, perm, obj))
    page = browser.get(reverse("quote", args=[quote.pk])).text
    assert "€315.00" in page
    assert "€186.93" not in page
    assert "Margin" not in page
