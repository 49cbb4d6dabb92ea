"""A batch that is over, empty or another mix, and a coat before its time: each is told, and nothing is written."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from costing.models import CoatLog, Job
from costing.services.coat_checks import BoothNotes
from costing.services.jobs import set_job_status
from costing.services.work_errors import (
    BatchExpiredError,
    EarlyCoatError,
    JobClosedError,
    MixError,
    MoreThanMixedError,
    WorkError,
)
from finishing.models import User
from inventory.models import Lot
from tests.costing.jobs.finish_shop import FinishShop, log, mix, spray, step, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]
D = Decimal


def ago(minutes: int) -> Any:
    return timezone.now() - timedelta(minutes=minutes)


def test_an_expired_batch_is_not_sprayed_without_a_reason(job: Job, finisher: User) -> None:
    first = step(job, "First coat")  # pot life 120 min
    batch = mix(first, by=finisher, litres=D("1"), mixed_at=ago(150))
    liners = Lot.objects.get(number="L1").on_hand
    with pytest.raises(BatchExpiredError, match=f"The pot life of {batch.number} was over .* 30 min before") as refused:
        spray(first, (batch, D("0.5")), by=finisher)
    assert refused.value.field == "late_reason"
    assert not CoatLog.objects.exists()
    assert Lot.objects.get(number="L1").on_hand == liners
    spray(first, (batch, D("0.5")), by=finisher, late_reason="still flows, test piece is good")
    assert batch.uses.get().late_reason == "still flows, test piece is good"


def test_a_coat_done_within_the_pot_life_may_be_logged_later(job: Job, finisher: User) -> None:
    first = step(job, "First coat")
    batch = mix(first, by=finisher, litres=D("1"), mixed_at=ago(150))
    assert spray(first, (batch, D("0.5")), by=finisher, done_at=ago(31), minutes=D(20)).pk


def test_two_people_cannot_take_more_than_was_mixed(job: Job, finisher: User, mate: User) -> None:
    first = step(job, "First coat")
    batch = mix(first, by=finisher, litres=D("1"))
    spray(first, (batch, D("0.8")), by=finisher)
    with pytest.raises(MoreThanMixedError, match="holds 200 mL now: 1 L was mixed, finisher took 800 mL at"):
        spray(first, (batch, D("0.3")), by=mate)
    spray(first, (batch, D("0.2")), by=mate)


def test_a_batch_of_another_mix_or_job_is_refused(stocked: FinishShop, job: Job, finisher: User) -> None:
    batch = mix(step(job, "First coat"), by=finisher, litres=D("1"))
    spray(step(job, "Second coat"), (batch, D("0.1")), by=finisher)  # the same mix on the same job
    other = stocked.job()
    with pytest.raises(WorkError, match="is not the mix of First coat"):
        spray(step(other, "First coat"), (batch, D("0.1")), by=finisher)


def test_a_batch_and_a_further_mix_are_two_logs(job: Job, finisher: User) -> None:
    first = step(job, "First coat")
    batch = mix(first, by=finisher, litres=D("1"))
    with pytest.raises(MixError, match="names batches that were mixed before"):
        spray(first, (batch, D("0.1")), by=finisher, mixed=D(1))
    with pytest.raises(WorkError, match="comes twice"):
        spray(first, (batch, D("0.1")), (batch, D("0.2")), by=finisher)


def test_a_coat_before_it_was_mixed_is_refused(job: Job, finisher: User) -> None:
    first = step(job, "First coat")
    batch = mix(first, by=finisher, litres=D("1"), mixed_at=ago(10))
    with pytest.raises(WorkError, match="after this coat was done"):
        spray(first, (batch, D("0.1")), by=finisher, done_at=ago(20))


def test_a_coat_on_wet_material_asks_for_a_reason(job: Job, finisher: User) -> None:
    log(step(job, "First coat"), by=finisher, done_at=ago(70))  # dries for 60 min
    second = step(job, "Second coat")
    with pytest.raises(EarlyCoatError, match=r"First coat is dry at .* as planned") as refused:
        log(second, by=finisher, minutes=D(30), early_reason="")
    assert refused.value.field == "early_reason"
    assert not second.logs.exists()
    made = log(second, by=finisher, minutes=D(30), early_reason="the booth is at 30 °C")
    assert made.early_reason == "the booth is at 30 °C"


def test_a_coat_on_dry_material_asks_nothing(job: Job, finisher: User) -> None:
    log(step(job, "First coat"), by=finisher, done_at=ago(100))
    assert log(step(job, "Second coat"), by=finisher, minutes=D(30), early_reason="").early_reason == ""


def test_nothing_is_mixed_or_sprayed_on_a_closed_job(job: Job, finisher: User) -> None:
    first = step(job, "First coat")
    batch = mix(first, by=finisher, litres=D("1"))
    set_job_status(job=job, to="done", by=finisher, today=today())
    with pytest.raises(JobClosedError):
        spray(first, (batch, D("0.5")), by=finisher)
    with pytest.raises(JobClosedError):
        mix(first, by=finisher, litres=D("1"))


@pytest.mark.parametrize(
    ("notes", "field", "words"),
    [
        ({"readings": (D(110), D(2100))}, "readings", "2,100 µm is no wet film"),
        ({"temperature": D(72)}, "temperature", "72 °C can’t be the air of the booth"),
        ({"humidity": D(140)}, "humidity", "between 1 and 100 %"),
        ({"started_at": -900, "stopped_at": 0}, "minutes", "The timer has run 15 h 00 min, since .* It was left on"),
        ({"started_at": 0, "stopped_at": -5}, "minutes", "ends before it starts"),
    ],
)
def test_notes_that_cannot_be_right_are_told(job: Job, finisher: User, notes: dict[str, Any], field: str, words: str) -> None:
    now = timezone.now()
    given = {name: now + timedelta(minutes=value) if name.endswith("_at") else value for name, value in notes.items()}
    with pytest.raises(WorkError, match=words) as refused:
        log(step(job, "First coat"), by=finisher, booth=BoothNotes(**given))
    assert refused.value.field == field
    assert not CoatLog.objects.exists()


def test_readings_give_the_film_and_are_kept_one_by_one(job: Job, finisher: User) -> None:
    made = log(step(job, "First coat"), by=finisher, booth=BoothNotes(readings=(D(100), D(110), D(125)), temperature=D(21)))
    made.refresh_from_db()
    assert (made.readings, made.wet_film, made.temperature) == ([100, 110, 125], D("111.67"), D(21))
