"""Each role reaches its own pages; others are refused, and nobody gets in without signing in."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.contrib.auth import get_user_model
from django.test import Client
from django.urls import reverse

from costing.models import Job
from finishing.models import User
from tests.costing.jobs.finish_shop import FinishShop, step

pytestmark = pytest.mark.django_db

EVERYONE = {"office", "estimator", "finisher", "owner"}
ALLOWED = {
    "jobs": EVERYONE,
    "job": EVERYONE,
    "log_coat": {"finisher", "owner"},
    "spray_room": {"finisher", "owner"},
    "quote_accept": {"office", "estimator", "owner"},
    "desk_owner": {"owner"},
}


def address(name: str, shop: FinishShop) -> str:
    """The page on real objects."""
    if name == "quote_accept":
        return reverse(name, args=[shop.quote().pk])
    if name in {"job", "log_coat"}:
        job = shop.job()
        return reverse(name, args=[job.pk if name == "job" else step(job, "Sand").pk])
    return reverse(name)


def person(role: str) -> User:
    found = get_user_model().objects.filter(username=role).first()
    return found or User.objects.create_user(role, **({f"is_{role}": True} if role in EVERYONE else {}))


@pytest.mark.parametrize("name", ALLOWED)
@pytest.mark.parametrize("role", [*sorted(EVERYONE), "stranger"])
def test_each_page_is_open_to_its_roles_only(name: str, role: str, stocked: FinishShop, as_: Callable[[User], Client]) -> None:
    answer = as_(person(role)).get(address(name, stocked))
    assert answer.status_code == (200 if role in ALLOWED[name] else 403)


@pytest.mark.parametrize("name", ALLOWED)
def test_nobody_gets_in_without_signing_in(name: str, stocked: FinishShop, client: Client) -> None:
    answer = client.get(address(name, stocked))
    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("login"))


@pytest.mark.parametrize(
    ("role", "to", "allowed"),
    [
        ("finisher", "in_work", True),
        ("finisher", "cancelled", False),
        ("estimator", "cancelled", True),
        ("stranger", "in_work", False),
    ],
)
def test_cancelling_is_for_those_who_accept_quotes(
    role: str, to: str, allowed: bool, job: Job, as_: Callable[[User], Client]
) -> None:
    answer = as_(person(role)).post(reverse("job_status", args=[job.pk]), {"to": to})
    job.refresh_from_db()
    assert (answer.status_code, job.status) == ((302, to) if allowed else (403, "booked"))


def test_a_job_is_not_moved_by_looking(job: Job, owner: User, as_: Callable[[User], Client]) -> None:
    assert as_(owner).get(reverse("job_status", args=[job.pk])).status_code == 405


@pytest.mark.parametrize("name", ["job", "log_coat", "quote_accept", "job_status"])
def test_what_does_not_exist_is_not_found(name: str, owner: User, as_: Callable[[User], Client]) -> None:
    browser = as_(owner)
    ask = browser.post if name == "job_status" else browser.get
    assert ask(reverse(name, args=[999])).status_code == 404
