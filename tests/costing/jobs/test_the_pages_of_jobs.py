"""The list of jobs and the page of one: steps, material, log, and what moves it on."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from costing.choices import JobStatus
from costing.models import Job
from costing.services.jobs import set_job_status
from costing.work import booked_for
from finishing.models import User
from inventory.models import Booking
from inventory.services.ledger import reverse as reverse_posting
from tests.costing.jobs.finish_shop import MIXED, FinishShop, log, step, today

pytestmark = pytest.mark.django_db
D = Decimal


def listed(client: Client, **query: str) -> list[str]:
    """The numbers of the jobs on the list, in order."""
    answer = client.get(reverse("jobs"), query)
    return [row.record.number for row in answer.context["table"].rows]


# ---------------------------------------------------------------- the list


def test_an_empty_list_says_where_jobs_come_from(shop: FinishShop, office: User, as_: Callable[[User], Client]) -> None:
    page = as_(office).get(reverse("jobs")).text
    assert "No job yet" in page
    assert f'href="{reverse("quotes")}"' in page


def test_an_empty_list_sends_a_finisher_nowhere_forbidden(
    shop: FinishShop, finisher: User, as_: Callable[[User], Client]
) -> None:
    page = as_(finisher).get(reverse("jobs")).text
    assert "No job yet" in page
    assert f'href="{reverse("quotes")}"' not in page


def test_jobs_in_work_stand_first_then_booked_by_day_then_closed(
    stocked: FinishShop, owner: User, as_: Callable[[User], Client]
) -> None:
    closed, later, sooner, working = (stocked.job(starts=days) for days in (1, 20, 5, 30))
    set_job_status(job=closed, to=JobStatus.CANCELLED, by=owner, today=today())
    set_job_status(job=working, to=JobStatus.IN_WORK, by=owner, today=today())
    assert listed(as_(owner)) == [job.number for job in (working, sooner, later, closed)]


def test_the_list_counts_finished_steps(job: Job, finisher: User, as_: Callable[[User], Client]) -> None:
    log(step(job, "Sand"), by=finisher)
    log(step(job, "First coat"), by=finisher, mixed=D(1), supplies=[], finishes_step=False)
    assert "1 of 4" in as_(finisher).get(reverse("jobs")).text


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ({"status": "open"}, {"booked", "in_work"}),
        ({"status": "cancelled"}, {"cancelled"}),
        ({"status": "in_work"}, {"in_work"}),
        ({"words": "kitchen"}, {"booked", "in_work", "cancelled"}),
        ({"words": "bathroom"}, set()),
    ],
)
def test_the_list_can_be_narrowed(
    stocked: FinishShop, owner: User, as_: Callable[[User], Client], query: dict[str, str], found: set[str]
) -> None:
    _, working, closed = (stocked.job() for _ in range(3))
    set_job_status(job=closed, to=JobStatus.CANCELLED, by=owner, today=today())
    set_job_status(job=working, to=JobStatus.IN_WORK, by=owner, today=today())
    numbers = listed(as_(owner), **query)
    assert {Job.objects.get(pk=int(number.removeprefix("J-"))).status for number in numbers} == found


def test_a_job_is_found_by_its_number_and_by_its_first_day(
    stocked: FinishShop, owner: User, as_: Callable[[User], Client]
) -> None:
    sooner, later = stocked.job(starts=2), stocked.job(starts=9)
    browser = as_(owner)
    assert listed(browser, words=later.number) == [later.number]
    assert listed(browser, before=today(5).isoformat()) == [sooner.number]


def test_a_filter_that_finds_nothing_says_so(job: Job, owner: User, as_: Callable[[User], Client]) -> None:
    assert "No job fits. Show all." in as_(owner).get(reverse("jobs"), {"words": "bathroom"}).text


# ---------------------------------------------------------------- one job


def test_its_page_shows_steps_with_what_is_planned_and_logged(job: Job, finisher: User, as_: Callable[[User], Client]) -> None:
    log(step(job, "Sand"), by=finisher, minutes=D(45))
    log(step(job, "First coat"), by=finisher, mixed=D(2), minutes=D(50), finishes_step=False)
    answer = as_(finisher).get(job.get_absolute_url())
    rows = [row.record for row in answer.context["steps"].rows]
    assert [(row["name"], row["mix"], row["time"]) for row in rows] == [
        ("1. Sand", "–", "45 min of 1 h 01 min"),
        ("2. First coat", "2 L of 2.793 L", "50 min of 1 h 01 min"),
        ("3. Second coat", "0 L of 2.793 L", "0 min of 1 h 01 min"),
        ("4. Check", "–", "0 min of 10 min"),
    ]
    assert [[word for word in ("done", "begun", "to do") if word in row["state"]] for row in rows] == [
        ["done"],
        ["begun"],
        ["to do"],
        ["to do"],
    ]
    assert [part.state for part in answer.context["progress"]] == ["done", "now", "later", "later"]


def test_its_page_shows_material_planned_drawn_and_still_booked(job: Job, finisher: User, as_: Callable[[User], Client]) -> None:
    log(step(job, "First coat"), by=finisher)
    rows = {row.record["material"]: row.record for row in as_(finisher).get(job.get_absolute_url()).context["material"].rows}
    base = next(row for name, row in rows.items() if ">Base<" in name)
    assert (base["planned"], base["drawn"], base["held"]) == ("5.181 L", "2.591 L", "2.591 L")


def test_what_is_missing_counts_jobs_that_come_first(stocked: FinishShop) -> None:
    first, second, third = stocked.job(starts=1), stocked.job(starts=2), stocked.job(starts=3)
    short = {
        job.number: next(line.short for line in booked_for(job, today()) if line.material == stocked.base)
        for job in (first, second, third)
    }
    # 12 L can be used, each job needs 5.181242 L
    assert short == {first.number: 0, second.number: 0, third.number: D("3.543726")}


def test_a_closed_job_holds_nothing_and_lacks_nothing(shop: FinishShop, owner: User) -> None:
    job = shop.job()
    assert all(line.short == line.held > 0 for line in booked_for(job, today()))
    set_job_status(job=job, to=JobStatus.CANCELLED, by=owner, today=today())
    assert all(line.short == line.held == 0 < line.planned for line in booked_for(job, today()))


def test_its_log_names_the_lots_and_the_reason_for_an_unfit_one(
    stocked: FinishShop, job: Job, owner: User, as_: Callable[[User], Client]
) -> None:
    made = log(step(job, "First coat"), by=owner, mixed=D("0.5"), lots={"base": stocked.lots["B0"]}, override_reason="scrap door")
    page = as_(owner).get(job.get_absolute_url()).text
    assert "0.464 L of Base, lot B0 (scrap door)" in page
    assert made.posting is not None
    assert reverse("posting", args=[made.posting.pk]) in page


def test_a_reversed_log_is_shown_as_not_counting(job: Job, owner: User, as_: Callable[[User], Client]) -> None:
    made = log(step(job, "First coat"), by=owner)
    assert made.posting is not None
    reverse_posting(key=uuid4(), by=owner, on=today(), posting=made.posting, reason="wrong job")
    answer = as_(owner).get(job.get_absolute_url())
    assert "reversed, does not count" in answer.text
    assert answer.context["view"].steps[1].mixed == 0


def test_a_finisher_sees_no_price(job: Job, finisher: User, owner: User, as_: Callable[[User], Client]) -> None:
    assert "Price before tax" in as_(owner).get(job.get_absolute_url()).text
    assert "Price before tax" not in as_(finisher).get(job.get_absolute_url()).text


def test_only_those_who_log_get_the_button(job: Job, finisher: User, estimator: User, as_: Callable[[User], Client]) -> None:
    address = reverse("log_coat", args=[step(job, "Sand").pk])
    assert address in as_(finisher).get(job.get_absolute_url()).text
    assert address not in as_(estimator).get(job.get_absolute_url()).text


# ---------------------------------------------------------------- moving it on


def test_its_buttons_are_those_that_make_sense(job: Job, owner: User, as_: Callable[[User], Client]) -> None:
    browser = as_(owner)
    page = browser.get(job.get_absolute_url()).text
    assert ("Start work" in page, "Job is done" in page, "Cancel the job" in page) == (True, False, True)
    browser.post(reverse("job_status", args=[job.pk]), {"to": "in_work"})
    page = browser.get(job.get_absolute_url()).text
    assert ("Start work" in page, "Job is done" in page, "Cancel the job" in page) == (False, True, True)


def test_done_says_so_and_frees_what_is_left(job: Job, finisher: User, as_: Callable[[User], Client]) -> None:
    log(step(job, "First coat"), by=finisher, mixed=MIXED)
    answer = as_(finisher).post(reverse("job_status", args=[job.pk]), {"to": "done"}, follow=True)
    assert f"{job.number} is done." in answer.text
    assert not Booking.objects.open().exists()


def test_a_stale_button_is_refused_in_words(job: Job, owner: User, as_: Callable[[User], Client]) -> None:
    set_job_status(job=job, to=JobStatus.CANCELLED, by=owner, today=today())
    answer = as_(owner).post(reverse("job_status", args=[job.pk]), {"to": "in_work"}, follow=True)
    assert f"{job.number} is cancelled and can’t become in work." in answer.text


@pytest.mark.parametrize("to", ["", "sold"])
def test_an_unknown_status_is_refused_in_words(job: Job, owner: User, as_: Callable[[User], Client], to: str) -> None:
    answer = as_(owner).post(reverse("job_status", args=[job.pk]), {"to": to}, follow=True)
    assert "A job can be started, done or cancelled." in answer.text
    job.refresh_from_db()
    assert job.status == JobStatus.BOOKED
