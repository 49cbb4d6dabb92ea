"""A job is started, finished or cancelled; what it no longer needs becomes free."""

from __future__ import annotations

import pytest

from costing.choices import JobStatus
from costing.models import Job
from costing.services.jobs import set_job_status
from costing.services.work_errors import StatusChangeError
from finishing.models import User
from inventory.models import Booking
from tests.costing.jobs.finish_shop import FinishShop, log, step, today

pytestmark = pytest.mark.django_db


def move(job: Job, to: JobStatus, by: User) -> Job:
    return set_job_status(job=job, to=to, by=by, today=today())


def test_it_goes_from_booked_to_work_to_done(job: Job, owner: User) -> None:
    assert move(job, JobStatus.IN_WORK, owner).status == JobStatus.IN_WORK
    done = move(job, JobStatus.DONE, owner)
    assert (done.status, done.closed_on, done.closed_by) == (JobStatus.DONE, today(), owner)


@pytest.mark.parametrize("to", [JobStatus.DONE, JobStatus.CANCELLED])
def test_closing_frees_what_is_still_booked(job: Job, owner: User, finisher: User, to: JobStatus) -> None:
    log(step(job, "First coat"), by=finisher)
    assert Booking.objects.open().count() == 5
    move(job, to, owner)
    assert not Booking.objects.open().exists()


def test_closing_one_job_leaves_the_bookings_of_others(stocked: FinishShop, owner: User) -> None:
    first, second = stocked.job(), stocked.job()
    move(first, JobStatus.CANCELLED, owner)
    assert set(Booking.objects.open().values_list("holder", flat=True)) == {second.holder}


def test_starting_frees_nothing(job: Job, owner: User) -> None:
    assert move(job, JobStatus.IN_WORK, owner).closed_on is None
    assert Booking.objects.open().count() == 5


def test_the_same_button_twice_changes_nothing_more(job: Job, owner: User, finisher: User) -> None:
    move(job, JobStatus.CANCELLED, owner)
    assert move(job, JobStatus.CANCELLED, finisher).closed_by == owner


@pytest.mark.parametrize(
    ("path", "to", "words"),
    [
        ([], JobStatus.DONE, "is booked and can’t become done"),
        ([JobStatus.CANCELLED], JobStatus.IN_WORK, "is cancelled and can’t become in work"),
        ([JobStatus.IN_WORK, JobStatus.DONE], JobStatus.CANCELLED, "is done and can’t become cancelled"),
        ([JobStatus.IN_WORK], JobStatus.BOOKED, "is in work and can’t become booked"),
    ],
)
def test_it_refuses_a_way_that_makes_no_sense(job: Job, owner: User, path: list[JobStatus], to: JobStatus, words: str) -> None:
    for status in path:
        move(job, status, owner)
    with pytest.raises(StatusChangeError, match=words):
        move(job, to, owner)
