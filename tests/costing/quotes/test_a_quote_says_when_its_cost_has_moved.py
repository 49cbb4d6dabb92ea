"""A quote stays as it is, and tells those who see costs when its cost has moved by more than the shop's share."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.choices import QuoteStatus
from costing.models import Quote
from costing.services.cost_moves import moved_costs
from finishing.models import User
from tests.costing.pricing.door_shop import DoorShop, set_shop

D = Decimal
Browser = Callable[[User], Client]
WORDS = "reckoned today it costs"


def page(browser: Client, quote: Quote) -> str:
    return browser.get(reverse("quote", args=[quote.pk])).text


def test_it_is_told_with_the_margin_that_would_be_left(doors: DoorShop, as_: Browser, estimator: User) -> None:
    quote = doors.quote(sent=True)
    assert WORDS not in page(as_(estimator), quote)
    set_shop(booth_rate=D(150))
    (move,) = moved_costs(quote, share=D("0.05"))
    assert move.cost > quote.options.get().cost
    told = page(as_(estimator), quote)
    assert f"{WORDS} €{move.cost}" in told
    assert "more than the €186.93 of this quote" in told
    quote.refresh_from_db()
    assert quote.options.get().net == D(315)


@pytest.mark.parametrize(("share", "told"), [("0.01", True), ("0.9", False)])
def test_the_shop_says_how_much_is_worth_telling(doors: DoorShop, as_: Browser, estimator: User, share: str, told: bool) -> None:
    quote = doors.quote()
    set_shop(booth_rate=D(90), cost_moved_share=D(share))
    assert (WORDS in page(as_(estimator), quote)) is told


def test_a_cost_that_fell_is_told_too(doors: DoorShop, as_: Browser, estimator: User) -> None:
    quote = doors.quote()
    set_shop(booth_rate=D(0))
    assert "less than the €186.93 of this quote" in page(as_(estimator), quote)


def test_a_quote_that_was_answered_is_left_alone(doors: DoorShop, as_: Browser, estimator: User) -> None:
    quote = doors.quote(sent=True)
    set_shop(booth_rate=D(150))
    Quote.objects.filter(pk=quote.pk).update(status=QuoteStatus.DECLINED)
    assert WORDS not in page(as_(estimator), quote)


def test_what_is_no_longer_priced_says_nothing(doors: DoorShop) -> None:
    quote = doors.quote()
    set_shop(booth_rate=D(150))
    doors.estimate.options.all().delete()
    assert moved_costs(quote, share=D("0.05")) == []
