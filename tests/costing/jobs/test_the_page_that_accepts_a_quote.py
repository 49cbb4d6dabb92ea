"""Accepting a quote on its page: the option, the first day, what will be booked and what of it is short."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Job, Quote
from costing.work import wanted_by
from finishing.models import User
from tests.costing.jobs.finish_shop import FinishShop, today

pytestmark = pytest.mark.django_db


def filled(quote: Quote, **more: Any) -> dict[str, Any]:
    """The form as a person would send it."""
    return {
        "key": str(uuid4()),
        "option": quote.options.first().pk,  # type: ignore[union-attr]
        "starts_on": today(7).isoformat(),
        **more,
    }


def test_it_shows_what_will_be_booked_and_what_is_short(shop: FinishShop, estimator: User, as_: Callable[[User], Client]) -> None:
    shop.deliver(shop.base, "3", "B1", days=90)
    page = as_(estimator).get(reverse("quote_accept", args=[shop.quote().pk])).text
    assert "5.181 L" in page
    assert "2.181 L short" in page
    assert "10 pcs short" in page


def test_material_of_jobs_before_it_is_not_counted_twice(stocked: FinishShop) -> None:
    stocked.job(starts=3)
    option = stocked.quote().options.get()
    later = {line.material.code: line for line in wanted_by(option, starts_on=today(7), on=today())}
    sooner = {line.material.code: line for line in wanted_by(option, starts_on=today(1), on=today())}
    assert later["base"].before == later["base"].wanted
    assert sooner["base"].before == 0
    # 12 L usable (the expired lot does not count), 5.181242 L for the job before it
    assert (later["base"].usable, later["base"].short) == (12, 0)


def test_it_makes_the_job_and_shows_it(stocked: FinishShop, estimator: User, as_: Callable[[User], Client]) -> None:
    quote = stocked.quote()
    answer = as_(estimator).post(reverse("quote_accept", args=[quote.pk]), filled(quote), follow=True)
    job = Job.objects.get()
    assert answer.redirect_chain == [(job.get_absolute_url(), 302)]
    assert f"{quote.label} is accepted. {job.number} is made and its material is booked." in answer.text
    assert job.created_by == estimator


def test_with_one_option_nothing_has_to_be_chosen(stocked: FinishShop, estimator: User, as_: Callable[[User], Client]) -> None:
    quote = stocked.quote()
    page = as_(estimator).get(reverse("quote_accept", args=[quote.pk])).text
    assert 'type="radio"' not in page
    assert f'name="option" value="{quote.options.get().pk}"' in page


def test_with_several_options_one_must_be_chosen(stocked: FinishShop, estimator: User, as_: Callable[[User], Client]) -> None:
    other = stocked._system("Other system")
    quote = stocked.quote(stocked.system, other)
    form = filled(quote)
    del form["option"]
    answer = as_(estimator).post(reverse("quote_accept", args=[quote.pk]), form)
    assert answer.status_code == 422
    assert answer.text.count('type="radio"') == 2
    assert "Choose the option that the customer takes." in answer.text
    assert f'value="{today(7).isoformat()}"' in answer.text  # what was typed stays


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"starts_on": ""}, "Fill this in."),
        ({"starts_on": "soon"}, "Write a day as year-month-day, for example 2026-05-01."),
        ({"starts_on": "2020-01-01"}, "A job can’t start in the past."),
        ({"starts_on": "2999-01-01"}, "This is more than two years away."),
        ({"option": "99999"}, "This is no option of the quote."),
        ({"key": ""}, "This form is out of date. Reload the page and send it again; nothing was saved."),
        ({"key": "nonsense"}, "This form is out of date."),
    ],
)
def test_bad_input_is_told_and_nothing_is_saved(
    stocked: FinishShop, estimator: User, as_: Callable[[User], Client], wrong: dict[str, str], words: str
) -> None:
    quote = stocked.quote()
    answer = as_(estimator).post(reverse("quote_accept", args=[quote.pk]), filled(quote, **wrong))
    assert answer.status_code == 422
    assert words in answer.text
    assert not Job.objects.exists()


def test_the_form_sent_twice_makes_one_job(stocked: FinishShop, estimator: User, as_: Callable[[User], Client]) -> None:
    quote = stocked.quote()
    form, browser = filled(quote), as_(estimator)
    first = browser.post(reverse("quote_accept", args=[quote.pk]), form)
    second = browser.post(reverse("quote_accept", args=[quote.pk]), form)
    assert first["Location"] == second["Location"] == Job.objects.get().get_absolute_url()


def test_a_stale_page_is_told_that_it_was_accepted(stocked: FinishShop, estimator: User, as_: Callable[[User], Client]) -> None:
    quote = stocked.quote()
    browser = as_(estimator)
    browser.post(reverse("quote_accept", args=[quote.pk]), filled(quote))
    answer = browser.post(reverse("quote_accept", args=[quote.pk]), filled(quote))
    assert answer.status_code == 422
    assert f"{quote.label} was accepted already on" in answer.text
    assert Job.objects.count() == 1


def test_a_quote_that_is_not_on_offer_sends_you_back_with_the_reason(
    stocked: FinishShop, estimator: User, as_: Callable[[User], Client]
) -> None:
    quote = stocked.quote(valid_days=2, on=today(-9))
    answer = as_(estimator).get(reverse("quote_accept", args=[quote.pk]), follow=True)
    assert answer.redirect_chain == [(quote.get_absolute_url(), 302)]
    assert f"{quote.label} lapsed on" in answer.text
