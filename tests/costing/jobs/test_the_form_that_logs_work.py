"""Logging work on its page: proposals, lots, refusals at their fields, doubled and stale forms."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from costing.choices import JobStatus
from costing.models import CoatLog, Job, JobStep, JobStepMaterial
from costing.services.jobs import set_job_status
from finishing.models import Shop, User
from inventory.models import Posting
from tests.costing.jobs.finish_shop import BASE, FinishShop, log, step, today

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def coat(job: Job) -> JobStep:
    """The first coat of the job."""
    return step(job, "First coat")


def line(of: JobStep, code: str) -> JobStepMaterial:
    return of.materials.get(material__code=code)


def filled(of: JobStep, **more: Any) -> dict[str, Any]:
    """The form as a finisher would send it, without touching the material."""
    form: dict[str, Any] = {
        "key": str(uuid4()),
        "seen": "0",
        "minutes": "1 h",
        "done_at": timezone.localtime().strftime("%Y-%m-%dT%H:%M"),
        "finishes_step": "on",
        "note": "",
    }
    if of.is_coat:
        form |= {"mixed": "2.793", "fills": "5", "readings": ""}
    return form | more


def page_of(of: JobStep) -> str:
    return reverse("log_coat", args=[of.pk])


def drawn() -> dict[str, Decimal]:
    posting = Posting.objects.filter(kind="issue").latest("pk")
    return {move.lot.number: -move.quantity for move in posting.movements.select_related("lot")}


# ---------------------------------------------------------------- proposals


def test_it_proposes_the_planned_mix_its_parts_and_the_lots(coat: JobStep, finisher: User, as_: Callable[[User], Client]) -> None:
    page = as_(finisher).get(page_of(coat)).text
    assert 'name="mixed" value="2.793"' in page
    assert 'name="fills" value="5"' in page
    text = " ".join(page.split())
    assert "<strong>2.539 L</strong> in the mix, from stock: 2 L of lot B1" in text
    assert "then 0.591 L of lot B2" in text
    assert "<strong>253.91 mL</strong> in the mix, from stock: 0.267 kg of lot H1" in text
    assert "<strong>5 pcs</strong>, from stock: 5 pcs of lot L1" in text
    assert "10 : 1" in text


def test_another_amount_of_mix_proposes_other_parts_and_saves_nothing(
    coat: JobStep, finisher: User, as_: Callable[[User], Client]
) -> None:
    answer = as_(finisher).post(page_of(coat), filled(coat, mixed="1.1", fills="3", preview="1"))
    text = " ".join(answer.text.split())
    assert answer.status_code == 200
    assert "<strong>1 L</strong> in the mix, from stock: 1.02 L of lot B1" in text
    assert "<strong>100 mL</strong> in the mix, from stock: 0.105 kg of lot H1" in text
    assert "<strong>3 pcs</strong>, from stock: 3 pcs of lot L1" in text
    assert not CoatLog.objects.exists()


def test_a_proposal_says_what_is_missing(coat: JobStep, finisher: User, as_: Callable[[User], Client]) -> None:
    page = as_(finisher).post(page_of(coat), filled(coat, mixed="33", preview="1")).text
    assert "18.612 L more is wanted than can be used." in page  # 30 / 0.98 less the 12 L that are usable


def test_the_rest_of_a_coat_that_was_begun_is_proposed(coat: JobStep, finisher: User, as_: Callable[[User], Client]) -> None:
    log(coat, by=finisher, mixed=D(2), fills=4, supplies=[], finishes_step=False)
    page = as_(finisher).get(page_of(coat)).text
    assert 'name="mixed" value="0.793"' in page
    assert 'name="fills" value="1"' in page


def test_a_step_without_a_coat_asks_for_no_mix(job: Job, finisher: User, as_: Callable[[User], Client]) -> None:
    page = as_(finisher).get(page_of(step(job, "Sand"))).text
    assert 'name="mixed"' not in page
    assert 'name="readings"' not in page
    assert "8 pcs of lot D1" in page


def test_lots_that_cannot_be_used_are_offered_only_with_the_right(
    coat: JobStep, finisher: User, owner: User, as_: Callable[[User], Client]
) -> None:
    page = as_(finisher).get(page_of(coat)).text
    assert "B1 · 2 L · until" in page
    assert "B0 · 1 L" not in page
    assert "override_reason" not in page
    page = as_(owner).get(page_of(coat)).text
    assert "B0 · 1 L · expired" in page
    assert 'name="override_reason"' in page


# ---------------------------------------------------------------- sending


def test_it_logs_what_was_proposed(coat: JobStep, finisher: User, as_: Callable[[User], Client]) -> None:
    answer = as_(finisher).post(page_of(coat), filled(coat), follow=True)
    assert answer.redirect_chain == [(reverse("spray_room"), 302)]
    assert "Logged: First coat" in answer.text
    made = CoatLog.objects.get()
    assert (made.by, made.mixed, made.fills, made.minutes, made.finishes_step) == (finisher, D("2.793"), 5, 60, True)
    assert drawn()["B1"] == 2
    assert drawn()["B1"] + drawn()["B2"] == D("2.590909")  # 2.793 × 10/11 / 0.98
    assert (drawn()["L1"], drawn()["S1"]) == (5, 1)


def test_supplies_follow_the_fills_that_were_typed(coat: JobStep, finisher: User, as_: Callable[[User], Client]) -> None:
    as_(finisher).post(page_of(coat), filled(coat, fills="7"))
    assert drawn()["L1"] == 7


def test_a_typed_supply_counts_and_nought_means_none(coat: JobStep, finisher: User, as_: Callable[[User], Client]) -> None:
    typed = {f"amount_{line(coat, 'liner').pk}": "6", f"amount_{line(coat, 'strainer').pk}": "0"}
    as_(finisher).post(page_of(coat), filled(coat, **typed))
    assert drawn()["L1"] == 6
    assert "S1" not in drawn()


def test_a_chosen_lot_is_taken(stocked: FinishShop, coat: JobStep, finisher: User, as_: Callable[[User], Client]) -> None:
    chosen = {f"lot_{line(coat, 'base').pk}": str(stocked.lots["B2"].pk)}
    as_(finisher).post(page_of(coat), filled(coat, **chosen))
    assert "B1" not in drawn()


def test_units_are_read_as_they_are_typed(coat: JobStep, finisher: User, as_: Callable[[User], Client]) -> None:
    as_(finisher).post(page_of(coat), filled(coat, mixed="1 qt", readings="4 mil"))
    made = CoatLog.objects.get()
    assert made.mixed == D("0.946353")
    assert made.wet_film == D("101.60")


def test_a_shop_that_sees_gallons_logs_the_same(coat: JobStep, finisher: User, as_: Callable[[User], Client]) -> None:
    Shop.objects.update(unit_system="us")
    browser = as_(finisher)
    shown = browser.get(page_of(coat)).context["form"]["mixed"].value()
    assert shown == "0.738"  # 2.792689 L / 3.785411784 L is 0.73775
    browser.post(page_of(coat), filled(coat, mixed=shown, readings="4"))
    made = CoatLog.objects.get()
    assert made.mixed == D("2.793634")
    assert made.wet_film == D("101.60")


def test_a_part_of_a_step_leaves_it_open(coat: JobStep, finisher: User, as_: Callable[[User], Client]) -> None:
    form = filled(coat)
    del form["finishes_step"]
    as_(finisher).post(page_of(coat), form)
    assert CoatLog.objects.get().finishes_step is False


# ---------------------------------------------------------------- refusals


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"mixed": ""}, "Fill this in."),
        ({"mixed": "0"}, "This must be above 0 L."),
        ({"mixed": "-2"}, "This must be above 0 L."),
        ({"mixed": "lots"}, "can&#x27;t be read as a volume"),
        ({"mixed": "NaN"}, "can&#x27;t be read as a volume"),
        ({"mixed": "3 kg"}, "“kg” is a mass; this needs a volume."),
        ({"mixed": "5000"}, "This must be 1000 L or less."),
        ({"fills": "many"}, "Write a whole number, for example 24."),
        ({"fills": "-1"}, "This must be 0 or more."),
        ({"fills": "501"}, "This must be 500 or less."),
        ({"minutes": ""}, "Fill this in."),
        ({"minutes": "2 d"}, "This must be 1440 min or less."),
        ({"readings": "3in"}, "“3in” is no wet film that a gauge reads. “in” is a length; this needs a film thickness."),
        ({"readings": "100 9999"}, "“9999” is no wet film that a gauge reads. This must be 2000 µm or less."),
        ({"temperature": "70"}, "70 °C can’t be the air of the booth. Check the thermometer and the unit."),
        ({"temperature": "warm"}, "“warm” can’t be read as a temperature. Write for example 21 C or 70 F."),
        ({"humidity": "140"}, "This must be 100 or less."),
        ({"done_at": "yesterday"}, "Write a day and a time, for example 2026-05-01 14:30."),
        ({"done_at": "2999-01-01T10:00"}, "This is in the future."),
        ({"done_at": "2020-01-01T10:00"}, "This is more than 31 days ago."),
        ({"note": "x" * 301}, "Keep this to 300 characters"),
        ({"key": "nonsense"}, "This form is out of date. Reload the page and send it again; nothing was saved."),
        ({"seen": "nonsense"}, "Write a whole number, for example 24."),
    ],
)
def test_bad_input_is_told_and_nothing_is_saved(
    coat: JobStep, finisher: User, as_: Callable[[User], Client], wrong: dict[str, str], words: str
) -> None:
    answer = as_(finisher).post(page_of(coat), filled(coat, **{"note": "kept", **wrong}))
    assert answer.status_code == 422
    assert words in answer.text
    assert wrong.get("note", "kept") in answer.text  # what was typed stays
    assert not CoatLog.objects.exists()
    assert not Posting.objects.filter(kind="issue").exists()


def test_more_than_can_be_used_stands_at_its_component(coat: JobStep, finisher: User, as_: Callable[[User], Client]) -> None:
    answer = as_(finisher).post(page_of(coat), filled(coat, mixed="33"))
    form = answer.context["form"]
    assert list(form.errors) == [f"amount_{line(coat, 'base').pk}"]
    assert "Only 12 L of Base can be used" in form.errors.as_text()
    assert 'name="mixed" value="33"' in answer.text


def test_a_lot_that_expired_meanwhile_stands_at_its_field(
    stocked: FinishShop, coat: JobStep, finisher: User, as_: Callable[[User], Client]
) -> None:
    name = f"lot_{line(coat, 'base').pk}"
    answer = as_(finisher).post(page_of(coat), filled(coat, **{name: str(stocked.lots["B0"].pk)}))
    assert answer.context["form"].errors[name] == ["This lot is used up, expired or in quarantine. Choose another one."]


def test_an_expired_lot_without_a_reason_stands_at_its_field(
    stocked: FinishShop, coat: JobStep, owner: User, as_: Callable[[User], Client]
) -> None:
    name = f"lot_{line(coat, 'base').pk}"
    form = filled(coat, mixed="0.5", **{name: str(stocked.lots["B0"].pk)})
    answer = as_(owner).post(page_of(coat), form)
    assert "Lot B0 expired on" in answer.context["form"].errors[name][0]
    answer = as_(owner).post(page_of(coat), form | {"override_reason": "tested on a scrap door"})
    assert answer.status_code == 302
    assert drawn()["B0"] == D("0.463822")  # 0.5 × 10/11 / 0.98


def test_a_wrong_ratio_stands_at_the_mix(coat: JobStep, finisher: User, as_: Callable[[User], Client]) -> None:
    answer = as_(finisher).post(page_of(coat), filled(coat, **{f"amount_{line(coat, 'base').pk}": "2"}))
    assert "The components come to 2.254 L, the mix to 2.793 L." in answer.context["form"].errors["mixed"][0]


# ---------------------------------------------------------------- doubled, stale, closed


def test_the_form_sent_twice_draws_once(coat: JobStep, finisher: User, as_: Callable[[User], Client]) -> None:
    form, browser = filled(coat, mixed="12"), as_(finisher)
    first, second = (browser.post(page_of(coat), form) for _ in range(2))
    assert first["Location"] == second["Location"] == reverse("spray_room")
    assert (CoatLog.objects.count(), Posting.objects.filter(kind="issue").count()) == (1, 1)


def test_a_finished_step_says_so_before_it_is_logged_again(
    coat: JobStep, finisher: User, mate: User, as_: Callable[[User], Client]
) -> None:
    log(coat, by=mate)
    page = as_(finisher).get(page_of(coat)).text
    assert "This step is logged as finished already." in page
    assert "by mate, 2.793 L mixed" in page
    assert "By its parts, once the mix is known." in page


def test_a_stale_form_is_told_and_may_be_sent_again(
    coat: JobStep, finisher: User, mate: User, as_: Callable[[User], Client]
) -> None:
    form, browser = filled(coat, mixed="1"), as_(finisher)
    log(coat, by=mate)
    answer = browser.post(page_of(coat), form)
    assert answer.status_code == 422
    assert "mate has logged this step since the page was shown, 2.793 L mixed." in answer.text
    assert 'name="seen" value="1"' in answer.text
    assert CoatLog.objects.count() == 1
    assert browser.post(page_of(coat), form | {"seen": "1"}).status_code == 302
    assert CoatLog.objects.count() == 2


def test_a_closed_job_sends_you_to_its_page(
    job: Job, coat: JobStep, finisher: User, owner: User, as_: Callable[[User], Client]
) -> None:
    set_job_status(job=job, to=JobStatus.CANCELLED, by=owner, today=today())
    answer = as_(finisher).get(page_of(coat), follow=True)
    assert answer.redirect_chain == [(job.get_absolute_url(), 302)]
    assert f"{job.number} is cancelled since" in answer.text


def test_a_form_for_a_job_closed_meanwhile_keeps_what_was_typed(
    job: Job, coat: JobStep, finisher: User, owner: User, as_: Callable[[User], Client]
) -> None:
    browser = as_(finisher)
    set_job_status(job=job, to=JobStatus.CANCELLED, by=owner, today=today())
    answer = browser.post(page_of(coat), filled(coat, note="two runs"))
    assert answer.status_code == 422
    assert "Nothing more can be logged on it." in answer.text
    assert 'value="two runs"' in answer.text
    assert not CoatLog.objects.exists()


def test_the_cautions_of_its_materials_stand_beside_it(coat: JobStep, finisher: User, as_: Callable[[User], Client]) -> None:
    page = as_(finisher).get(page_of(coat)).text
    assert "Spray with supplied air" in page
    assert "29 CFR 1910.134" in page
    assert "Follow the product’s safety data sheet, local codes and licensed practice first." in page


def test_the_expected_draw_is_that_of_the_plan(coat: JobStep) -> None:
    assert line(coat, "base").planned == BASE
