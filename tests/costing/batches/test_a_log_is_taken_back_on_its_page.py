"""A mistaken log is taken back by its own finisher on the same day, or by the office; it stays readable and counts no more."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from costing.models import Batch, CoatLog, Job
from finishing.models import User
from inventory.models import Lot
from tests.costing.jobs.finish_shop import mix, spray, step

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def made(job: Job, finisher: User) -> CoatLog:
    first = step(job, "First coat")
    return spray(first, (mix(first, by=finisher, litres=D(1)), D("0.8")), by=finisher)


def page_of(log: CoatLog) -> str:
    return reverse("log_take_back", args=[log.pk])


def test_the_finisher_takes_back_what_was_logged_today(as_: Callable[[User], Client], finisher: User, made: CoatLog) -> None:
    browser = as_(finisher)
    job = made.step.job
    assert page_of(made) in browser.get(job.get_absolute_url()).content.decode()
    assert browser.post(page_of(made), {"reason": " "}).status_code == 422
    said = browser.post(page_of(made), {"reason": "wrong job"}, follow=True).content.decode()
    assert "It no longer counts" in said
    assert "Taken back: wrong job" in said
    assert page_of(made) not in said
    assert Batch.objects.with_left().get().left == 1
    assert Lot.objects.get(number="L1").on_hand == 50


def test_another_finisher_or_another_day_may_not(
    as_: Callable[[User], Client], finisher: User, mate: User, office: User, made: CoatLog
) -> None:
    assert as_(mate).post(page_of(made), {"reason": "mine"}).status_code == 403
    CoatLog.objects.filter(pk=made.pk).update(created_at=timezone.now() - timedelta(days=2))
    assert as_(finisher).post(page_of(made), {"reason": "late"}).status_code == 403
    assert as_(office).post(page_of(made), {"reason": "wrong job"}).status_code == 302
    made.refresh_from_db()
    assert (made.withdrawn_by, made.withdrawn_reason) == (office, "wrong job")
