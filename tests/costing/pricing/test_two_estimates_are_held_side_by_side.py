"""The page that holds two estimates, or two systems of one, beside each other."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from django.test import Client
from django.urls import reverse

from costing.services.estimating import price
from finishing.models import User
from tests.costing.pricing.door_shop import DoorShop

D = Decimal
Browser = Callable[[User], Client]


def url(doors: DoorShop) -> str:
    return reverse("estimate_beside", args=[doors.estimate.pk])


def test_two_estimates_line_by_line(doors: DoorShop, as_: Browser, estimator: User) -> None:
    other = doors.add_estimate("48 doors", doors.system)
    other.rows.update(pieces=48)
    one, two = doors.estimate.options.get(), other.options.get()
    page = as_(estimator).get(url(doors), {"one": one.pk, "other": two.pk}).text
    small, large = price(doors.estimate, doors.system), price(other, doors.system)
    assert f"€{small.shown.true_cost:.2f}" in page
    assert f"€{large.shown.true_cost:.2f}" in page
    assert f"+€{large.shown.true_cost - small.shown.true_cost:.2f}" in page
    for words in ("+24", "+15.32 m²", "Film on the work", "Labour by operation", f"{other.number} Clear finish"):
        assert words in page


def test_without_being_asked_it_takes_the_first_two(doors: DoorShop, as_: Browser, estimator: User) -> None:
    thick = doors.add_system("Thick finish", dry_film=D(60))
    doors.estimate.options.create(position=2, system=thick)
    page = as_(estimator).get(url(doors)).text
    assert f"{doors.estimate.number} Clear finish" in page
    assert f"{doors.estimate.number} Thick finish" in page


def test_alone_it_says_what_is_missing(doors: DoorShop, as_: Browser, estimator: User) -> None:
    assert "Nothing to hold beside it" in as_(estimator).get(url(doors)).text


def test_a_choice_that_is_none_is_refused(doors: DoorShop, as_: Browser, estimator: User) -> None:
    doors.add_estimate("Other", doors.system)
    answer = as_(estimator).get(url(doors), {"one": doors.estimate.options.get().pk, "other": "999999"})
    assert answer.status_code == 422
    assert "other" in answer.context["form"].errors


def test_what_cannot_be_priced_says_why(doors: DoorShop, as_: Browser, estimator: User) -> None:
    doors.add_estimate("Other", doors.system)
    doors.base.packs.all().delete()
    assert "“Base” has no usual pack" in as_(estimator).get(url(doors)).text


def test_costs_are_for_those_who_may_see_them(doors: DoorShop, as_: Browser, finisher: User) -> None:
    assert as_(finisher).get(url(doors)).status_code == 403
