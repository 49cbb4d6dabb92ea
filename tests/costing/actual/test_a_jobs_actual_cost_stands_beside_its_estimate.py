"""Actual cost by group, at the cost of the very lots and the rates of the day, and the variances that explain it."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from costing.actuals import Actual, actual_of
from costing.choices import DefectCause, DefectKind, RestCause
from costing.core.system import CostGroup
from costing.defect_costs import by_kind, defect_costs
from costing.models import Defect, Job, LabourClass
from costing.services.batches import throw_away
from costing.services.coat_checks import BoothNotes
from costing.services.coat_log import take_back
from costing.services.defects import note_defect
from costing.services.jobs import set_job_status
from costing.services.work_errors import WorkError
from costing.variance_words import sentences, whole_story
from finishing.models import User
from inventory.models import Booking, Movement
from tests.costing.jobs.finish_shop import FinishShop, log, mix, spray, step, today, uses

pytestmark = pytest.mark.django_db
D = Decimal
MATERIAL_GROUPS = (
    CostGroup.FILM,
    CostGroup.OVERSPRAY,
    CostGroup.RESIDUE,
    CostGroup.HEEL,
    CostGroup.CLEANER,
    CostGroup.ABRASIVES,
    CostGroup.DISPOSABLES,
)


def group(actual: Actual, wanted: CostGroup) -> Decimal:
    return next(line.actual for line in actual.lines if line.group == wanted)


def paid(job: Job) -> Decimal:
    """What the ledger says the job's material cost."""
    bookings = Booking.objects.filter(holder=job.holder)
    return sum((-move.value for move in Movement.objects.filter(booking__in=bookings)), D(0))


def do_everything(job: Job, by: User, **coat: Any) -> None:
    for each in job.steps.order_by("position"):
        log(each, by=by, minutes=each.planned_minutes, **(coat if each.is_coat else {}))


def test_a_job_done_as_planned_costs_what_was_estimated_but_for_prices(stocked: FinishShop, job: Job, finisher: User) -> None:
    do_everything(job, finisher)
    actual = actual_of(job)
    by_group = {line.group: line for line in actual.lines}
    assert by_group[CostGroup.LABOUR].difference == pytest.approx(D(0), abs=D("0.02"))
    assert by_group[CostGroup.BOOTH].difference == pytest.approx(D(0), abs=D("0.02"))
    # film of one coat: 1.685248 L of 2.792689 mixed; B1 (2 L) at 25 comes first, the rest is B2 at 26
    money = {each.name: each for each in actual.materials}
    base = money["Base"]
    assert base.quantity == pytest.approx(D(0), abs=D("0.0001"))
    assert base.actual_cost == pytest.approx(2 * D(25) + (base.actual_quantity - 2) * 26)
    assert base.price == pytest.approx(base.actual_cost - base.actual_quantity * 30)
    share = D("1.68524796") / D("2.792689169")
    hardener = money["Hardener"].actual_cost
    assert group(actual, CostGroup.FILM) == pytest.approx((base.actual_cost * D("0.98") + hardener) * share, rel=D("1e-6"))
    assert group(actual, CostGroup.HEEL) == pytest.approx(base.actual_cost * D("0.02"), rel=D("1e-6"))
    assert group(actual, CostGroup.REWORK) == 0


def test_material_groups_add_up_to_what_the_ledger_paid(job: Job, finisher: User) -> None:
    first = step(job, "First coat")
    log(step(job, "Sand"), by=finisher)
    batch = mix(first, by=finisher, litres=D("3"))
    spray(first, (batch, D("2.4")), by=finisher, booth=BoothNotes(readings=(D(95), D(105))))
    throw_away(
        key=uuid4(), by=finisher, batch=batch, litres=D("0.5"), cause=RestCause.LEFT_OVER, at=timezone.now(), today=today()
    )
    actual = actual_of(job)
    assert sum(group(actual, each) for each in MATERIAL_GROUPS) == pytest.approx(paid(job))
    split = actual.splits[first.pk]
    assert split.film == pytest.approx(D("1.68524796") * D(100) / D(110), rel=D("1e-5"))  # the mean reading is 100 of 110 µm
    assert split.residue == 5 * D("0.03") + D("0.05") + D("0.5") + D("0.1")  # 0.1 L is still in the pot
    assert split.total == 3


def test_variances_explain_the_whole_difference_of_direct_cost(job: Job, owner: User, finisher: User) -> None:
    do_everything(job, finisher, mixed=D("3.5"))
    wage = LabourClass.objects.get()
    wage.wage = D(24)
    wage.save()
    log(step(job, "Check"), by=finisher, minutes=D(30), done_at=timezone.now() + timedelta(seconds=1))
    actual = actual_of(job)
    labour = next(each for each in actual.labour)
    planned = sum((need.quantity * price for need, price in _needs(actual)), D(0)) + sum(
        (each.cost for each in actual.snapshot.labour), D(0)
    )
    spent = paid(job) + labour.actual_cost
    assert sum((each.total for each in actual.variances), D(0)) == pytest.approx(spent - planned)
    assert labour.price == pytest.approx(D(30) / 60 * 4)  # only the half hour after the rise is dearer
    assert labour.quantity == pytest.approx(D(30) / 60 * 20, abs=D("0.01"))


def _needs(actual: Actual) -> list[tuple[Any, Decimal]]:
    prices = {fact.id: fact.price for fact in actual.snapshot.materials}
    return [(need, prices[need.material_id]) for need in actual.snapshot.needs]


def test_the_words_say_where_the_money_went(job: Job, finisher: User) -> None:
    do_everything(job, finisher, mixed=D("3.5"))
    words = sentences(actual_of(job))
    assert any(re.match(r"Base: 1\.3\d+ L more used than planned \(25 %\); that cost \$39", each) for each in words), words
    assert any(re.match(r"Base: \$25\.\d\d per L paid, \$30\.00 estimated; being cheaper saved", each) for each in words), words
    assert "than estimated" in whole_story(actual_of(job))


def test_work_that_is_taken_back_costs_nothing(job: Job, finisher: User) -> None:
    made = log(step(job, "Sand"), by=finisher)
    take_back(log=made, by=finisher, reason="wrong job", at=timezone.now(), today=today())
    actual = actual_of(job)
    assert actual.actual == 0
    assert paid(job) == 0


def defect_on(of: Any, by: User, **more: Any) -> Defect:
    given = {"kind": DefectKind.RUNS, "cause": DefectCause.FILM, "area": D(2), "found_at": timezone.now(), **more}
    return note_defect(key=uuid4(), by=by, step=of, today=today(), **given)


def test_rework_is_a_group_of_its_own_and_the_cost_of_its_defect(job: Job, finisher: User) -> None:
    first = step(job, "First coat")
    log(first, by=finisher)
    before = actual_of(job)
    defect = defect_on(first, finisher)
    components, _ = uses(first)
    log(first, by=finisher, mixed=D("0.55"), supplies=[], fills=1, minutes=D(45), reworks=defect, components=components)
    actual = actual_of(job)
    [cost] = defect_costs(Defect.objects.all())
    assert cost.labour == D(45) / 60 * 20
    assert cost.material == paid(job) - sum(group(before, each) for each in MATERIAL_GROUPS)
    assert group(actual, CostGroup.REWORK) == pytest.approx(cost.cost)
    for same in (CostGroup.LABOUR, *MATERIAL_GROUPS):
        assert group(actual, same) == pytest.approx(group(before, same)), same
    [kind] = by_kind([cost])
    assert (kind.kind, kind.count, kind.cost) == ("Runs and sags", 1, cost.cost)


def test_rework_out_of_a_batch_costs_its_share_of_the_batch(job: Job, finisher: User) -> None:
    first = step(job, "First coat")
    batch = mix(first, by=finisher, litres=D("2"))
    value = paid(job)
    defect = defect_on(first, finisher)
    spray(first, (batch, D("1.5")), by=finisher, supplies=[])
    spray(first, (batch, D("0.5")), by=finisher, supplies=[], minutes=D(0), reworks=defect)
    [cost] = defect_costs(Defect.objects.all())
    assert cost.material == value / 4
    assert group(actual_of(job), CostGroup.REWORK) == pytest.approx(value / 4)


def test_defects_that_make_no_sense_are_told(job: Job, finisher: User) -> None:
    with pytest.raises(WorkError, match="Sand is no coat"):
        defect_on(step(job, "Sand"), finisher)
    with pytest.raises(WorkError, match="more than the whole coat"):
        defect_on(step(job, "First coat"), finisher, area=D(500))
    with pytest.raises(WorkError, match="more than 31 days ago"):
        defect_on(step(job, "First coat"), finisher, found_at=timezone.now() - timedelta(days=60))


def test_the_number_of_queries_does_not_grow_with_the_log(job: Job, finisher: User) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            actual_of(job)
        return len(queries)

    first = step(job, "First coat")
    batch = mix(first, by=finisher, litres=D("2"))
    spray(first, (batch, D("0.1")), by=finisher)
    few = asked()
    for _ in range(4):
        spray(first, (batch, D("0.1")), by=finisher)
        log(step(job, "Sand"), by=finisher)
    assert asked() == few


# ---------------------------------------------------------------- pages


def text(answer: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode()))


def test_the_page_tells_the_story_of_a_finished_job(as_: Callable[[User], Client], owner: User, finisher: User, job: Job) -> None:
    page = reverse("job_cost", args=[job.pk])
    assert "So far, beside the estimate" in text(as_(owner).get(page))
    do_everything(job, finisher, mixed=D("3.5"))
    set_job_status(job=job, to="done", by=owner, today=today())
    said = text(as_(owner).get(page))
    for words in ("Where the money went", "more used than planned", "Film on the work", "True cost", "Direct cost"):
        assert words in said, words
    assert as_(finisher).get(page).status_code == 403


def test_a_defect_is_noted_on_its_page_and_mended_on_the_log_page(
    as_: Callable[[User], Client], owner: User, finisher: User, job: Job
) -> None:
    first = step(job, "First coat")
    log(first, by=finisher)
    browser = as_(finisher)
    page = reverse("defect_new", args=[first.pk])
    now = timezone.localtime().strftime("%Y-%m-%dT%H:%M")
    form = {"key": str(uuid4()), "kind": "dust", "cause": "dirt", "found_at": now, "area": "900", "note": ""}
    assert "more than the whole coat" in text(browser.post(page, form))
    browser.post(page, {**form, "area": "1.5"})
    defect = Defect.objects.get()
    assert (defect.kind, defect.cause, defect.area) == ("dust", "dirt", D("1.5"))
    logging = reverse("log_coat", args=[first.pk])
    assert "Dust on First coat" in text(browser.get(logging))
    sent = {"key": str(uuid4()), "seen": "1", "mixed": "0.3", "fills": "1", "minutes": "15", "done_at": now, "note": ""}
    browser.post(logging, {**sent, "reworks": str(defect.pk), "finishes_step": "on"})
    assert defect.reworks.get().minutes == 15
    said = text(as_(owner).get(reverse("defects")))
    assert "Dust" in said
    assert "Dirty work, air or booth" in said
    assert as_(finisher).get(reverse("defects")).status_code == 403
