"""The ticket says what to weigh and measure, in what order, from which lots, and how it is sprayed."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from costing.models import Batch, Job, JobStep
from costing.services.jobs import set_job_status
from costing.tickets import ticket
from costing.work import StepView, lots_for, with_steps
from finishing.models import User
from inventory.models import Lot
from tests.costing.jobs.finish_shop import FinishShop, mix, step, today

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def coat(job: Job) -> JobStep:
    return step(job, "First coat")


def view_of(of: JobStep) -> StepView:
    return next(view for view in with_steps([of.job])[0].steps if view.step.pk == of.pk)


def made(of: JobStep, litres: str | None = None) -> Any:
    view = view_of(of)
    return ticket(
        view, lots=lots_for(line.material_id for line in view.materials), on=today(), litres=D(litres) if litres else None
    )


def page_of(of: JobStep) -> str:
    return reverse("ticket", args=[of.pk])


def words(answer: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def filled(**more: Any) -> dict[str, Any]:
    now = timezone.localtime().strftime("%Y-%m-%dT%H:%M")
    return {"key": str(uuid4()), "mixed": "1.1", "mixed_at": now, "note": "", **more}


def test_amounts_follow_the_plan_and_are_weighed_by_density(stocked: FinishShop, coat: JobStep) -> None:
    # the model's worked example: 2.792689 L at 10 : 1, hardener of 1.05 kg/L; the base has no density entered
    base, hardener = made(coat).lines
    assert round(base.amount.litres, 6) == D("2.538808")
    assert base.amount.kilograms is None
    assert round(hardener.amount.litres, 6) == D("0.253881")
    assert round(hardener.amount.kilograms, 6) == D("0.266575")
    stocked.base.density = D("1.2")
    stocked.base.save()
    base, hardener = made(coat).lines
    assert round(base.amount.kilograms, 5) == D("3.04657")
    assert round(hardener.amount.up_to_kilograms, 5) == D("3.31314")


def test_what_is_mixed_already_makes_the_next_ticket_smaller(coat: JobStep, finisher: User) -> None:
    mix(coat, by=finisher, litres=D("2"))
    assert made(coat).litres == D("0.792689")


def test_a_coat_of_two_batches_is_split_by_its_pot_life(coat: JobStep) -> None:
    JobStep.objects.filter(pk=coat.pk).update(planned_batches=2)
    coat.refresh_from_db()
    found = made(coat)
    assert (found.batches_left, found.litres) == (2, D("2.792689") / 2)


def test_an_open_can_gives_what_can_be_poured_out_of_it(stocked: FinishShop, coat: JobStep) -> None:
    Lot.objects.filter(number="B1").update(opened_on=today(-1))  # 2 L at a yield of 0.98 are 1.96 L of 10 in 11 parts
    assert made(coat).opened == D("2.156")
    assert not made(coat, "2.156").is_short
    assert [take.lot.number for take in made(coat, "2.156").lines[0].proposal.takes] == ["B1"]


def test_more_than_the_shelf_holds_is_told_with_what_would_do(
    coat: JobStep, as_: Callable[[User], Client], finisher: User
) -> None:
    Lot.objects.filter(number="H1").update(quarantine_reason="", is_quarantined=True)
    page = words(as_(finisher).get(page_of(coat)))
    assert "more is wanted than can be used" in page
    answer = as_(finisher).post(page_of(coat), filled())
    assert answer.status_code == 422
    assert not Batch.objects.exists()


def test_the_page_shows_what_a_finisher_needs(as_: Callable[[User], Client], finisher: User, coat: JobStep) -> None:
    JobStep.objects.filter(pk=coat.pk).update(induction_min=10)
    answer = as_(finisher).get(page_of(coat))
    page = words(answer)
    assert "Mix 2.793 L" in page
    assert "1. " not in page  # the list counts by itself
    for said in ("253.88 mL or 267 g", "Lot B1", "Strainer Strainer", "10 min", "2 h 00 min once mixed", "110 µm", "Gravity gun"):
        assert said in page, said
    assert "Hardener that can cause lasting allergy" in page
    assert f"http://testserver{page_of(coat)}" in page
    assert 'class="code" src="data:image/svg+xml' in answer.content.decode()


def test_another_amount_is_worked_out_or_refused(as_: Callable[[User], Client], finisher: User, coat: JobStep) -> None:
    browser = as_(finisher)
    assert "Mix 550 mL" in words(browser.get(page_of(coat), {"litres": "550 ml"}))
    assert "this needs a volume" in words(browser.get(page_of(coat), {"litres": "5 kg"}))


def test_mixing_starts_the_clock_that_all_see(as_: Callable[[User], Client], finisher: User, mate: User, coat: JobStep) -> None:
    answer = as_(finisher).post(page_of(coat), filled(), follow=True)
    batch = Batch.objects.get()
    assert (batch.litres, batch.pot_life_min, batch.by) == (D("1.1"), 120, finisher)
    assert f"{batch.number}, 1.1 L mixed at" in words(answer)
    until = f"good until {batch.usable_until:%H:%M}"
    for path in (reverse("spray_room"), page_of(coat), reverse("batch", args=[batch.pk])):
        assert until in words(as_(mate).get(path)).replace("Good", "good"), path
    Batch.objects.update(mixed_at=timezone.now() - timedelta(minutes=130))
    assert "pot life over" in words(as_(mate).get(reverse("spray_room")))


def test_the_same_form_mixes_once(as_: Callable[[User], Client], finisher: User, coat: JobStep) -> None:
    form = filled()
    for _ in range(2):
        assert as_(finisher).post(page_of(coat), form).status_code == 302
    assert Batch.objects.count() == 1


def test_a_scanned_lot_is_chosen(stocked: FinishShop, as_: Callable[[User], Client], finisher: User, coat: JobStep) -> None:
    as_(finisher).post(page_of(coat), filled(scan="(01)09506000134352(10)B2"))
    assert [move.lot.number for move in Batch.objects.get().posting.movements.order_by("pk")] == ["B2", "H1"]
    answer = as_(finisher).post(page_of(coat), filled(scan="nothing like it"))
    assert answer.status_code == 422
    assert "has the code “nothing like it”" in words(answer)


def test_a_step_without_a_mix_and_a_closed_job_have_no_ticket(as_: Callable[[User], Client], finisher: User, job: Job) -> None:
    answer = as_(finisher).get(page_of(step(job, "Sand")), follow=True)
    assert "Sand has no mix planned" in words(answer)
    set_job_status(job=job, to="cancelled", by=finisher, today=today())
    answer = as_(finisher).post(page_of(step(job, "First coat")), filled(), follow=True)
    assert "is cancelled" in words(answer)
    assert not Batch.objects.exists()


@pytest.mark.parametrize("name", ["ticket", "ticket_pdf"])
def test_only_those_who_log_work_open_it(as_: Callable[[User], Client], estimator: User, coat: JobStep, name: str) -> None:
    assert as_(estimator).get(reverse(name, args=[coat.pk])).status_code == 403


def test_the_rest_is_thrown_away_on_the_page_of_the_batch(
    as_: Callable[[User], Client], finisher: User, estimator: User, coat: JobStep
) -> None:
    batch = mix(coat, by=finisher, litres=D("1"))
    page = reverse("batch", args=[batch.pk])
    sent = {"key": str(uuid4()), "fate": "thrown", "cause": "spilled", "litres": "2 L", "note": ""}
    answer = as_(finisher).post(page, sent)
    assert answer.status_code == 422
    assert "holds 1 L now" in words(answer)
    assert as_(estimator).get(page).status_code == 200
    as_(estimator).post(page, {**sent, "litres": ""})
    assert not batch.rests.exists()
    as_(finisher).post(page, {**sent, "litres": "", "key": str(uuid4())})
    assert (batch.rests.get().litres, batch.rests.get().cause) == (D("1"), "spilled")
