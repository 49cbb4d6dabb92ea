"""The spray room: the next step of each job, what is drying, which containers are open."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from costing.choices import JobStatus
from costing.models import Job
from costing.services.jobs import set_job_status
from costing.work import with_steps
from finishing.models import User
from inventory.services.lots import open_lot
from tests.costing.jobs.finish_shop import FinishShop, log, step, today

pytestmark = pytest.mark.django_db


def test_an_empty_room_says_where_jobs_come_from(shop: FinishShop, finisher: User, as_: Callable[[User], Client]) -> None:
    assert "No job is waiting" in as_(finisher).get(reverse("spray_room")).text


def test_a_booked_job_shows_its_first_step_with_the_button(job: Job, finisher: User, as_: Callable[[User], Client]) -> None:
    page = as_(finisher).get(reverse("spray_room")).text
    assert "Comes next" in page
    assert f'href="{reverse("log_coat", args=[step(job, "Sand").pk])}">Log: Sand</a>' in page


def test_the_next_step_is_the_first_that_is_not_finished(job: Job, finisher: User, as_: Callable[[User], Client]) -> None:
    log(step(job, "Sand"), by=finisher)
    log(step(job, "First coat"), by=finisher, finishes_step=False)
    page = as_(finisher).get(reverse("spray_room")).text
    assert "Log: First coat" in page
    log(step(job, "First coat"), by=finisher)
    page = as_(finisher).get(reverse("spray_room")).text
    assert "Log: Second coat" in page
    assert "2 of 4 steps done" in page


def test_a_coat_shows_its_mix_film_and_pot_life(job: Job, finisher: User, as_: Callable[[User], Client]) -> None:
    log(step(job, "Sand"), by=finisher)
    text = " ".join(as_(finisher).get(reverse("spray_room")).text.split())
    assert "<strong>2.793 L</strong> at 10 : 1" in text
    assert "110 µm" in text
    assert "2 h 00 min once mixed" in text
    assert "Gravity gun, 5 fills" in text


def test_what_dries_says_when_it_is_ready(job: Job, finisher: User, as_: Callable[[User], Client]) -> None:
    done = timezone.now() - timedelta(minutes=20)
    log(step(job, "First coat"), by=finisher, done_at=done)
    ready = timezone.localtime(done + timedelta(minutes=60))  # the coat dries for 60 min
    page = as_(finisher).get(reverse("spray_room")).text
    assert ">Drying</h2>" in page
    assert f'<time datetime="{ready.isoformat()}">{ready:%H:%M}</time>' in page


def test_what_has_dried_is_no_longer_drying(job: Job, finisher: User, as_: Callable[[User], Client]) -> None:
    log(step(job, "First coat"), by=finisher, done_at=timezone.now() - timedelta(minutes=61))
    page = as_(finisher).get(reverse("spray_room")).text
    assert ">Drying</h2>" not in page
    assert "Since" in page


def test_a_later_step_ends_the_drying(job: Job, finisher: User) -> None:
    log(step(job, "First coat"), by=finisher, done_at=timezone.now() - timedelta(minutes=10))
    assert with_steps([job])[0].is_drying
    log(step(job, "Check"), by=finisher)
    assert not with_steps([job])[0].is_drying


def test_a_job_with_every_step_done_asks_to_be_closed(job: Job, finisher: User, as_: Callable[[User], Client]) -> None:
    for each in job.steps.all():
        log(each, by=finisher)
    page = as_(finisher).get(reverse("spray_room")).text
    assert "every step is logged" in page
    assert "Close the job" in page


def test_closed_jobs_leave_the_room(job: Job, finisher: User, owner: User, as_: Callable[[User], Client]) -> None:
    set_job_status(job=job, to=JobStatus.CANCELLED, by=owner, today=today())
    assert "No job is waiting" in as_(finisher).get(reverse("spray_room")).text


def test_only_the_next_six_booked_jobs_are_shown(stocked: FinishShop, finisher: User, as_: Callable[[User], Client]) -> None:
    jobs = [stocked.job(starts=days) for days in range(8, 0, -1)]
    page = as_(finisher).get(reverse("spray_room")).text
    assert "2 more jobs booked" in page
    assert jobs[-1].number in page  # starts tomorrow
    assert jobs[0].number not in page


def test_open_containers_show_until_when_they_are_good(
    stocked: FinishShop, job: Job, finisher: User, owner: User, as_: Callable[[User], Client]
) -> None:
    type(stocked.base).objects.filter(pk=stocked.base.pk).update(open_life_days=10)
    open_lot(lot=stocked.lots["B2"], on=today(-12), by=owner)
    open_lot(lot=stocked.lots["B1"], on=today(-1), by=owner)
    answer = as_(finisher).get(reverse("spray_room"))
    assert [(lot.number, mark.kind) for lot, mark in answer.context["opened"]] == [("B2", "expired"), ("B1", "soon")]
