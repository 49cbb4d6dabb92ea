"""No system, four systems, a day that has passed, a price that moved: each has its words at its field, and nothing is saved."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import CoatingSystem, Quote
from costing.services.quoting import Offer, QuoteError, create_quote
from finishing.models import User
from inventory.models import Pack
from tests.costing.pricing.door_shop import TODAY, DoorShop, form_data, set_shop

D = Decimal
Browser = Callable[[User], Client]


@pytest.fixture
def four(doors: DoorShop) -> list[CoatingSystem]:
    """Four systems that the estimate prices."""
    systems = [doors.system, *(doors.add_system(f"System {number}") for number in (2, 3, 4))]
    for position, system in enumerate(systems[1:], start=2):
        doors.estimate.options.create(position=position, system=system)
    return systems


def send(browser: Client, doors: DoorShop, data: dict[str, Any]) -> Any:
    """The form of a new quote, sent."""
    return browser.post(reverse("quote_new", args=[doors.estimate.pk]), data)


def test_the_form_ticks_the_first_three_systems_and_knows_the_terms(
    doors: DoorShop, four: list[CoatingSystem], as_: Browser, estimator: User
) -> None:
    set_shop(quote_terms="Net 14 days.", quote_days=10)
    form = as_(estimator).get(reverse("quote_new", args=[doors.estimate.pk])).context["form"]
    assert [form.initial[f"offer_{system.pk}"] for system in four] == [True, True, True, False]
    assert form.initial["terms"] == "Net 14 days."
    assert form.initial["valid_until"] == TODAY() + timedelta(days=10)
    assert form.initial["customer"] == doors.customer.pk


def test_a_good_form_becomes_a_draft(doors: DoorShop, as_: Browser, estimator: User) -> None:
    answer = send(as_(estimator), doors, form_data(doors, doors.system, introduction="Dear Zoë", terms="Cash"))
    quote = Quote.objects.get()
    assert answer.url == reverse("quote", args=[quote.pk])
    assert (quote.introduction, quote.terms, quote.created_by) == ("Dear Zoë", "Cash", estimator)


def test_a_form_sent_twice_makes_one_quote(doors: DoorShop, as_: Browser, estimator: User) -> None:
    browser, data = as_(estimator), form_data(doors, doors.system)
    assert send(browser, doors, data).url == send(browser, doors, data).url
    assert Quote.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"valid_until": (TODAY() - timedelta(days=1)).isoformat()}, "valid_until", "This day has passed."),
        ({"valid_until": "9999-12-31"}, "valid_until", "Choose a day up to"),
        ({"valid_until": "soon"}, "valid_until", "Write a day as year-month-day, for example 2026-05-01."),
        ({"customer": ""}, "customer", "Fill this in."),
        ({"customer": "999"}, "customer", "one of those listed"),
        ({"title": ""}, "title", "Fill this in."),
        ({"key": ""}, "key", "out of date"),
        ({"terms": "x" * 2001}, "terms", "Keep this to 2000 characters"),
    ],
)
def test_a_bad_field_is_told_at_its_place_and_what_was_typed_stays(
    doors: DoorShop, as_: Browser, estimator: User, change: dict[str, str], field: str, words: str
) -> None:
    answer = send(as_(estimator), doors, form_data(doors, doors.system, introduction="Typed words", **change))
    assert answer.status_code == 422
    assert words in " ".join(answer.context["form"].errors[field])
    assert "Typed words" in answer.text
    assert Quote.objects.count() == 0


def test_no_system_ticked(doors: DoorShop, as_: Browser, estimator: User) -> None:
    answer = send(as_(estimator), doors, form_data(doors))
    assert answer.context["form"].errors[f"offer_{doors.system.pk}"] == ["Choose at least one system to offer."]
    assert Quote.objects.count() == 0


def test_four_systems_ticked(doors: DoorShop, four: list[CoatingSystem], as_: Browser, estimator: User) -> None:
    answer = send(as_(estimator), doors, form_data(doors, *four))
    (words,) = answer.context["form"].errors[f"offer_{doors.system.pk}"]
    assert words == "A quote offers up to three systems, and 4 are ticked. Untick some of them."
    assert Quote.objects.count() == 0


def test_a_price_that_moved_since_the_page_was_shown(doors: DoorShop, as_: Browser, estimator: User) -> None:
    data = form_data(doors, doors.system, **{f"seen_{doors.system.pk}": "315.00"})
    Pack.objects.filter(material=doors.base).update(price=D(200))
    answer = send(as_(estimator), doors, data)
    (words,) = answer.context["form"].errors[f"offer_{doors.system.pk}"]
    assert "this page showed €315.00" in words
    assert Quote.objects.count() == 0


def test_after_such_a_refusal_the_form_can_simply_be_sent_again(doors: DoorShop, as_: Browser, estimator: User) -> None:
    browser = as_(estimator)
    data = form_data(doors, doors.system, **{f"seen_{doors.system.pk}": "300.00"})
    refused = send(browser, doors, data)
    assert f'name="seen_{doors.system.pk}" value="315.00"' in refused.text
    assert send(browser, doors, {**data, f"seen_{doors.system.pk}": "315.00"}).status_code == 302


def test_an_estimate_that_cannot_be_priced_offers_nothing(doors: DoorShop, as_: Browser, estimator: User) -> None:
    Pack.objects.update(is_usual=False)
    page = as_(estimator).get(reverse("quote_new", args=[doors.estimate.pk])).text
    assert "Nothing can be offered yet" in page
    assert '<form method="post" class="card' not in page


def refused(doors: DoorShop, offer: Offer) -> QuoteError:
    """The refusal of an offer that no form let through."""
    with pytest.raises(QuoteError) as caught:
        create_quote(key=uuid4(), by=doors.by, estimate=doors.estimate, offer=offer, on=TODAY())
    assert Quote.objects.count() == 0
    return caught.value


def test_the_service_refuses_them_for_every_caller(doors: DoorShop, four: list[CoatingSystem]) -> None:
    assert refused(doors, doors.offer(options=())).field == "options"
    assert "not 4" in str(refused(doors, doors.offer(*four)))
    assert "once" in str(refused(doors, doors.offer(doors.system, doors.system)))
    assert refused(doors, doors.offer(valid_until=TODAY() - timedelta(days=1))).field == "valid_until"
    assert "no longer part of this estimate" in str(refused(doors, doors.offer(doors.add_system("Elsewhere"))))
    Pack.objects.update(is_usual=False)
    assert "cannot be priced: “Base” has no usual pack" in str(refused(doors, doors.offer()))


def test_a_takeoff_without_area_is_not_offered(doors: DoorShop) -> None:
    doors.estimate.rows.all().delete()
    assert "has no area yet" in str(refused(doors, doors.offer()))
