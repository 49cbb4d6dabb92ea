"""What if this quote is accepted: what runs short and when, what to order today, and by how much that moves the start."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from costing.models import Job, Quote
from finishing import show
from finishing.models import User
from inventory.models import Booking, Material, Pack, Supplier
from tests.costing.jobs.conftest import *  # noqa: F403 - the same shop and people
from tests.costing.jobs.finish_shop import FinishShop

pytestmark = pytest.mark.django_db
D = Decimal


def day(days: int) -> date:
    return timezone.localdate() + timedelta(days=days)


@pytest.fixture
def page(estimator: User, as_: Callable[[User], Client]) -> Callable[[Quote, int], str]:
    """The page for a start in so many days."""

    def opened(quote: Quote, start: int) -> str:
        answer = as_(estimator).get(reverse("quote_what_if", args=[quote.pk]), {"starts_on": day(start).isoformat()})
        assert answer.status_code == 200
        return answer.text

    return opened


@pytest.fixture
def quote(stocked: FinishShop) -> Quote:
    """5.181 L of base are needed; deliveries take 4 days."""
    Supplier.objects.update(lead_time_days=4, lead_time_sd_days=0)
    return stocked.quote()


def test_a_shelf_that_is_full_starts_on_the_day(quote: Quote, page: Callable[[Quote, int], str]) -> None:
    text = page(quote, 2)
    assert "As wished: everything is here by then." in text
    assert "Nothing runs short earlier than without it." in text


def test_what_is_missing_moves_the_start_to_its_delivery(
    shop: FinishShop, stocked: FinishShop, quote: Quote, page: Callable[[Quote, int], str]
) -> None:
    Booking.objects.create(material=shop.base, holder="J-1", planned=D(9), needed_on=day(1))
    text = page(quote, 2)
    assert f"2 days later than {show.day(day(2))}." in text
    assert (
        f"The start waits for Base: what is on order and an order of today are expected to cover it on {show.day(day(4))}" in text
    )
    assert "1 <span" in text
    # 12 L usable, 9 booked, 5.181 needed: 2.181 L are missing, three packs of a litre at 30
    assert "3 × pack" in text
    assert "$90.00 for goods" in text


def test_a_later_start_is_not_moved(shop: FinishShop, quote: Quote, page: Callable[[Quote, int], str]) -> None:
    Booking.objects.create(material=shop.base, holder="J-1", planned=D(9), needed_on=day(1))
    text = page(quote, 6)
    assert "As wished" in text
    assert show.day(day(6)) in text


def test_what_nobody_sells_leaves_the_start_open(shop: FinishShop, quote: Quote, page: Callable[[Quote, int], str]) -> None:
    Booking.objects.create(material=shop.base, holder="J-1", planned=D(9), needed_on=day(1))
    Pack.objects.filter(material=shop.base).delete()
    text = page(quote, 2)
    assert "Base: not enough is here or on order, and no pack of it can be bought." in text
    assert "Something can’t be bought; see below." in text


def test_asking_writes_nothing(quote: Quote, page: Callable[[Quote, int], str]) -> None:
    before = Quote.objects.values().get()
    page(quote, 2)
    assert Quote.objects.values().get() == before
    assert not Booking.objects.exists()
    assert not Job.objects.exists()


@pytest.mark.parametrize("typed", ["", "soon", "2020-01-01", "9999-01-01"])
def test_a_day_without_sense_is_told_at_its_field(quote: Quote, owner: User, as_: Callable[[User], Client], typed: str) -> None:
    answer = as_(owner).get(reverse("quote_what_if", args=[quote.pk]), {"starts_on": typed})
    assert answer.status_code == 422
    assert "Choose a day." in answer.text or "Give a day from" in answer.text
    assert "Earliest start" in answer.text


def test_the_quote_and_the_page_that_accepts_it_lead_here(quote: Quote, owner: User, as_: Callable[[User], Client]) -> None:
    address = reverse("quote_what_if", args=[quote.pk])
    assert f'href="{address}"' in as_(owner).get(quote.get_absolute_url()).text
    assert f'href="{address}?starts_on={day(7).isoformat()}"' in as_(owner).get(reverse("quote_accept", args=[quote.pk])).text


def test_those_who_write_quotes_may_ask(quote: Quote, finisher: User, office: User, as_: Callable[[User], Client]) -> None:
    address = reverse("quote_what_if", args=[quote.pk])
    assert as_(finisher).get(address).status_code == 403
    assert as_(office).get(address).status_code == 200


def test_a_second_option_does_not_read_the_stock_again(stocked: FinishShop, owner: User, as_: Callable[[User], Client]) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def queries(quote: Quote) -> int:
        client = as_(owner)
        client.get(reverse("quote_what_if", args=[quote.pk]))
        with CaptureQueriesContext(connection) as seen:
            client.get(reverse("quote_what_if", args=[quote.pk]))
        return len(seen)

    one = queries(stocked.quote())
    assert queries(stocked.quote(stocked.system, stocked._system("Second system"))) == one
    assert Material.objects.count() == 5
