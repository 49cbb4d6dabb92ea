"""The board follows the log: a job goes from one column to the next as its coats dry and its steps are done."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from costing.board import board
from costing.models import Job
from finishing.models import User
from tests.costing.jobs.finish_shop import FinishShop, log, step

pytestmark = pytest.mark.django_db


def column_of(of: Job, now: datetime) -> str:
    [found] = [column.title for column in board(now=now).columns if of in [placed.view.job for placed in column.jobs]]
    return found


def test_a_job_moves_through_the_columns_by_its_log(job: Job, finisher: User) -> None:
    done = timezone.now() - timedelta(hours=20)

    def later(minutes: float) -> datetime:
        return done + timedelta(minutes=minutes)

    assert column_of(job, done) == "To begin"
    log(step(job, "Sand"), by=finisher, done_at=later(0))
    assert column_of(job, later(1)) == "Ready for the next coat"
    log(step(job, "First coat"), by=finisher, done_at=later(30), finishes_step=False)
    assert column_of(job, later(31)) == "Ready for the next coat"
    log(step(job, "First coat"), by=finisher, done_at=later(40))
    assert [column_of(job, later(minutes)) for minutes in (41, 60, 101)] == ["Wet", "Drying", "Ready for the next coat"]
    log(step(job, "Second coat"), by=finisher, done_at=later(120))
    stacking = 120 + float(step(job, "Second coat").dry_minutes)  # the last coat waits until it may be stacked
    assert stacking > 120 + 60
    assert column_of(job, later(stacking - 1)) == "Drying"
    assert column_of(job, later(stacking + 1)) == "Other work"
    log(step(job, "Check"), by=finisher, done_at=later(stacking + 10))
    assert column_of(job, later(stacking + 11)) == "Other work"


def test_the_page_says_clear_times_and_links_the_log(
    job: Job, finisher: User, estimator: User, as_: Callable[[User], Client]
) -> None:
    log(step(job, "Sand"), by=finisher)
    made = log(step(job, "First coat"), by=finisher, done_at=timezone.now() - timedelta(minutes=20))
    page = " ".join(as_(finisher).get(reverse("board")).content.decode().split())
    ready = timezone.localtime(made.done_at + timedelta(minutes=60))
    assert f"ready at <strong>{ready:%H:%M}</strong>" in page
    assert reverse("log_coat", args=[step(job, "Second coat").pk]) in page
    assert "Today, in order" in page
    assert "after drying" in page
    page = as_(estimator).get(reverse("board")).content.decode()
    assert reverse("log_coat", args=[step(job, "Second coat").pk]) not in page


def test_an_empty_board_says_so(shop: FinishShop, finisher: User, as_: Callable[[User], Client]) -> None:
    del shop
    page = as_(finisher).get(reverse("board")).content.decode()
    assert "Nothing is to be done today" in page


def test_the_board_asks_as_often_for_many_jobs(stocked: FinishShop) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            board(now=timezone.now())
        return len(queries)

    stocked.job()
    one = asked()
    made: list[Any] = [stocked.job() for _ in range(3)]
    assert len(made) == 3
    assert asked() == one
