"""Two people press the same button at the same moment: one is first, the other is told."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from uuid import uuid4

import pytest
from django.db import connection

from costing.models import CoatLog, Job
from costing.services.jobs import accept_quote
from costing.services.work_errors import LoggedMeanwhileError, QuoteNotOpenError
from finishing.models import User
from inventory.models import Booking, Posting
from tests.costing.jobs.finish_shop import FinishShop, log, step, today

pytestmark = [pytest.mark.database, pytest.mark.django_db(transaction=True)]


def at_once(*acts: Callable[[], object]) -> list[object]:
    """What each act gave or raised, all begun together on connections of their own."""
    start = Barrier(len(acts))

    def run(act: Callable[[], object]) -> object:
        start.wait(timeout=10)
        try:
            return act()
        except ValueError as error:
            return error
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(run, acts))


def test_one_quote_accepted_by_two_makes_one_job(stocked: FinishShop, owner: User, estimator: User) -> None:
    quote = stocked.quote()
    option = quote.options.get()

    def accept(by: User) -> Callable[[], object]:
        return lambda: accept_quote(key=uuid4(), by=by, quote=quote, option=option, starts_on=today(3), today=today())

    answers = at_once(accept(owner), accept(estimator))
    assert {type(answer) for answer in answers} == {Job, QuoteNotOpenError}
    assert (Job.objects.count(), Booking.objects.count()) == (1, 5)


def test_one_step_logged_by_two_draws_once(job: Job, finisher: User, mate: User) -> None:
    coat = step(job, "First coat")
    answers = at_once(lambda: log(coat, by=finisher, seen_logs=0), lambda: log(coat, by=mate, seen_logs=0))
    assert {type(answer) for answer in answers} == {CoatLog, LoggedMeanwhileError}
    assert Posting.objects.filter(kind="issue").count() == 1


def test_one_form_sent_by_two_taps_at_once_draws_once(job: Job, finisher: User) -> None:
    coat, key = step(job, "First coat"), uuid4()
    answers = at_once(*[lambda: log(coat, by=finisher, key=key, seen_logs=0)] * 2)
    assert answers[0] == answers[1] == CoatLog.objects.get()
