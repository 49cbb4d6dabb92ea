"""The log page with a batch: the pot is chosen already, what is left over goes where it is said, reasons are asked for."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from costing.models import Batch, BatchRest, CoatLog, Job, JobStep
from costing.services.jobs import set_job_status
from finishing.models import Shop, User
from inventory.models import Lot
from tests.costing.jobs.finish_shop import log, mix, step, today

pytestmark = pytest.mark.django_db
D = Decimal
QUEUE = {"X-Queue": "later"}


@pytest.fixture
def coat(job: Job) -> JobStep:
    return step(job, "First coat")


def page_of(of: JobStep) -> str:
    return reverse("log_coat", args=[of.pk])


def filled(batch: Batch | None = None, **more: Any) -> dict[str, Any]:
    return {
        "key": str(uuid4()),
        "seen": "0",
        "batch": str(batch.key) if batch else "",
        "mixed": "" if batch else "1.1",
        "fills": "2",
        "minutes": "20",
        "done_at": timezone.localtime().strftime("%Y-%m-%dT%H:%M:%S"),
        "finishes_step": "on",
        "note": "",
        **more,
    }


def left(batch: Batch) -> Decimal:
    return Batch.objects.with_left().get(pk=batch.pk).left


def text(answer: Any) -> str:
    return str(answer.content.decode())


def test_the_pot_that_was_mixed_last_is_chosen_and_one_strainer_is_proposed(
    as_: Callable[[User], Client], finisher: User, coat: JobStep
) -> None:
    mix(coat, by=finisher, litres=D("1"), mixed_at=timezone.now() - timedelta(minutes=50))
    last = mix(coat, by=finisher, litres=D("1.1"))
    browser = as_(finisher)
    page = text(browser.get(page_of(coat)))
    assert f'value="{last.key}" id="id_batch_0" checked' in " ".join(page.split())
    browser.post(page_of(coat), filled(last))
    taken = {move.lot.number: -move.quantity for move in CoatLog.objects.get().posting.movements.select_related("lot")}
    assert taken == {"L1": 2, "S1": 1}
    assert left(last) == 0
    browser.post(page_of(coat), filled(seen="1", mixed="0.5"))
    assert CoatLog.objects.first().mixed == D("0.5")


@pytest.mark.parametrize(("fate", "in_pot", "thrown"), [("throw", "0", "0.3"), ("keep", "0.3", "")])
def test_what_is_left_over_is_thrown_away_or_kept(
    as_: Callable[[User], Client], finisher: User, coat: JobStep, fate: str, in_pot: str, thrown: str
) -> None:
    batch = mix(coat, by=finisher, litres=D("1"), mixed_at=timezone.now() - timedelta(minutes=30))
    as_(finisher).post(page_of(coat), filled(batch, left_over="300 ml", rest_fate=fate))
    assert batch.uses.get().litres == D("0.7")
    assert left(batch) == D(in_pot)
    assert [str(rest.litres.normalize()) for rest in BatchRest.objects.all()] == ([thrown] if thrown else [])


def test_a_new_mix_with_something_left_over_becomes_a_batch(as_: Callable[[User], Client], finisher: User, coat: JobStep) -> None:
    form = filled(left_over="0.1", rest_fate="throw")
    for _ in range(2):  # the same form twice
        as_(finisher).post(page_of(coat), form)
    batch = Batch.objects.get()
    assert (batch.litres, batch.uses.get().litres, batch.rests.get().litres) == (D("1.1"), D("1"), D("0.1"))
    assert Lot.objects.get(number="L1").on_hand == 48


def test_all_of_it_left_over_is_no_coat(as_: Callable[[User], Client], finisher: User, coat: JobStep) -> None:
    batch = mix(coat, by=finisher, litres=D("1"))
    answer = as_(finisher).post(page_of(coat), filled(batch, left_over="1"))
    assert answer.status_code == 422
    assert "with all of it left over nothing was sprayed" in text(answer)


def test_an_expired_pot_asks_for_its_reason_at_its_field(as_: Callable[[User], Client], finisher: User, coat: JobStep) -> None:
    batch = mix(coat, by=finisher, litres=D("1"), mixed_at=timezone.now() - timedelta(minutes=150))
    form = filled(batch)
    answer = as_(finisher).post(page_of(coat), form)
    assert answer.status_code == 422
    assert answer.context["form"].errors.keys() == {"late_reason"}
    assert 'value="20"' in text(answer)  # what was typed stays
    as_(finisher).post(page_of(coat), {**form, "late_reason": "test piece is good"})
    assert batch.uses.get().late_reason == "test piece is good"


def test_a_coat_on_a_wet_one_asks_for_its_reason_at_its_field(
    as_: Callable[[User], Client], finisher: User, job: Job, coat: JobStep
) -> None:
    log(coat, by=finisher)
    second = step(job, "Second coat")
    form = filled()
    answer = as_(finisher).post(page_of(second), form)
    assert answer.context["form"].errors.keys() == {"early_reason"}
    as_(finisher).post(page_of(second), {**form, "early_reason": "dry to the touch"})
    assert second.logs.get().early_reason == "dry to the touch"


def test_another_finisher_emptied_the_pot_meanwhile(
    as_: Callable[[User], Client], finisher: User, mate: User, coat: JobStep
) -> None:
    batch = mix(coat, by=finisher, litres=D("1"))
    as_(mate).post(page_of(coat), filled(batch))
    answer = as_(finisher).post(page_of(coat), filled(batch, seen="1"))
    assert answer.status_code == 422
    assert "This batch is empty or was taken back" in text(answer)
    assert CoatLog.objects.count() == 1
    answer = as_(finisher).post(page_of(coat), filled(batch, seen="1", mixed="1"))
    assert answer.status_code == 422  # an amount that stood there does not make a new mix of it
    assert CoatLog.objects.count() == 1


# ---------------------------------------------------------------- the tablet


def moment(when: datetime) -> str:
    return when.isoformat()


def test_the_queue_is_answered_in_words_and_once(as_: Callable[[User], Client], finisher: User, coat: JobStep) -> None:
    browser = as_(finisher)
    form = filled(fills="many")
    answer = browser.post(page_of(coat), form, headers=QUEUE)
    assert (answer.status_code, answer.json()["ok"]) == (422, False)
    assert answer.json()["words"] == ["Cup fills: Write a whole number, for example 24."]
    for _ in range(2):
        answer = browser.post(page_of(coat), {**form, "fills": "2"}, headers=QUEUE)
        assert answer.json()["ok"]
    assert answer.json()["words"][0].startswith("Logged: First coat")
    assert CoatLog.objects.count() == 1
    assert not list(browser.get(reverse("spray_room")).context["messages"])  # nobody was waiting for it


def test_an_entry_for_a_closed_job_is_told_to_the_queue(
    as_: Callable[[User], Client], finisher: User, job: Job, coat: JobStep
) -> None:
    set_job_status(job=job, to="cancelled", by=finisher, today=today())
    answer = as_(finisher).post(page_of(coat), filled(), headers=QUEUE)
    assert answer.status_code == 422
    assert f"{job.number} is cancelled" in answer.json()["words"][0]


def test_the_server_says_who_is_signed_in(as_: Callable[[User], Client], finisher: User, estimator: User) -> None:
    said = as_(finisher).get(reverse("queue_hello")).json()
    assert said["user"] == finisher.pk
    assert len(said["token"]) > 20
    assert as_(estimator).get(reverse("queue_hello")).status_code == 403


@pytest.mark.parametrize("ahead", [37, -240])
def test_times_of_a_wrong_clock_are_mended(as_: Callable[[User], Client], finisher: User, coat: JobStep, ahead: int) -> None:
    now = timezone.now()
    tablet = now + timedelta(minutes=ahead)
    times = {"device_now": moment(tablet), "device_done": moment(tablet - timedelta(minutes=90))}
    answer = as_(finisher).post(page_of(coat), filled(**times), follow=True)
    made = CoatLog.objects.get()
    assert abs(made.done_at - (now - timedelta(minutes=90))) < timedelta(minutes=1)
    assert made.clock_off_s is not None
    assert abs(made.clock_off_s - ahead * 60) < 60
    assert "clock is" in text(answer)


def test_a_right_clock_is_not_talked_about(as_: Callable[[User], Client], finisher: User, coat: JobStep) -> None:
    now = timezone.now()
    times = {"device_now": moment(now), "device_done": moment(now - timedelta(minutes=3))}
    as_(finisher).post(page_of(coat), filled(**times))
    assert CoatLog.objects.get().clock_off_s is None


def test_a_clock_that_was_set_back_in_between_asks_for_the_time(
    as_: Callable[[User], Client], finisher: User, coat: JobStep
) -> None:
    now = timezone.now()
    times = {"device_now": moment(now), "device_done": moment(now + timedelta(hours=2))}
    answer = as_(finisher).post(page_of(coat), filled(**times))
    assert "was set back after this was logged" in text(answer)
    assert not CoatLog.objects.exists()


def test_a_timer_left_on_overnight_asks_for_the_minutes(as_: Callable[[User], Client], finisher: User, coat: JobStep) -> None:
    now = timezone.now()
    times = {
        "device_now": moment(now),
        "device_done": moment(now),
        "device_start": moment(now - timedelta(hours=14)),
        "minutes": "840",
    }
    answer = as_(finisher).post(page_of(coat), filled(**times))
    assert answer.context["form"].errors.keys() == {"minutes"}
    assert "The timer has run 14 h 00 min" in text(answer)
    as_(finisher).post(page_of(coat), filled(**{**times, "device_start": "", "minutes": "45"}))
    assert CoatLog.objects.get().minutes == 45


def test_readings_and_air_are_read_in_the_shops_units(as_: Callable[[User], Client], finisher: User, coat: JobStep) -> None:
    Shop.objects.update(unit_system="us")
    as_(finisher).post(page_of(coat), filled(readings="4 5 4.5", temperature="70", humidity="45", mixed="1.1 L"))
    made = CoatLog.objects.get()
    assert made.readings == [101.6, 127, 114.3]
    assert (made.wet_film, made.temperature, made.humidity) == (D("114.3"), D("21.11"), 45)
