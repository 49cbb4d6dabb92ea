"""More jobs, logs and lots cost no more queries."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from finishing.models import User
from tests.costing.jobs.finish_shop import FinishShop, log, step

pytestmark = pytest.mark.django_db
D = Decimal


def grow(shop: FinishShop, by: User, times: int) -> None:
    """So many more jobs with a begun coat, and lots to go with them."""
    for number in range(times):
        shop.deliver(shop.base, "6", f"more-{shop.base.lots.count()}-{number}", days=100)
        job = shop.job()
        log(step(job, "Sand"), by=by, supplies=[])
        log(step(job, "First coat"), by=by, mixed=D("0.1"), supplies=[], finishes_step=False)


def count(browser: Client, url: str) -> int:
    browser.get(url)  # what is cached once per process is cached now
    with CaptureQueriesContext(
        connection,
    ) as asked:
        assert browser.get(url).status_code == 200
    return len(asked)


@pytest.mark.parametrize("name", ["jobs", "job", "log_coat", "spray_room", "desk_owner", "quote_accept"])
def test_a_page_asks_the_same_number_of_questions(
    name: str, stocked: FinishShop, owner: User, as_: Callable[[User], Client]
) -> None:
    grow(stocked, owner, 2)
    job = stocked.job()
    log(step(job, "First coat"), by=owner, mixed=D("0.1"), supplies=[], finishes_step=False)
    pk = {"job": job.pk, "log_coat": step(job, "First coat").pk, "quote_accept": stocked.quote().pk}.get(name)
    url, browser = reverse(name, args=[pk] if pk else []), as_(owner)
    before = count(browser, url)
    grow(stocked, owner, 4)
    for _ in range(3):
        log(step(job, "First coat"), by=owner, mixed=D("0.1"), supplies=[], finishes_step=False)
    assert count(browser, url) == before
    assert before <= 20
