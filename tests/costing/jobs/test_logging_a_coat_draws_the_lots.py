"""A logged coat issues its mix and supplies against the job's bookings, first expired first out."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.utils import timezone

from costing.choices import JobStatus
from costing.models import CoatLog, Job
from costing.services import coat_log as service
from costing.services.coat_log import Use
from costing.services.jobs import set_job_status
from costing.services.work_errors import JobClosedError, LoggedMeanwhileError, MixError, UseRefusedError, WorkError
from finishing.models import User
from inventory.errors import KeyUsedError, LotNotUsableError, NotEnoughStockError, StockError
from inventory.models import Booking, Movement, Posting
from inventory.services.ledger import reverse
from inventory.services.lots import quarantine_lot
from tests.costing.jobs.finish_shop import BASE, HARDENER, MIXED, FinishShop, log, step, today, uses

pytestmark = pytest.mark.django_db
D = Decimal


def drawn(posting: Posting | None) -> dict[str, Decimal]:
    """What a posting took from each lot."""
    assert posting is not None
    return {move.lot.number: -move.quantity for move in posting.movements.select_related("lot")}


def remaining(job: Job) -> dict[str, Decimal]:
    """What is still booked for a job, by the material's code."""
    found = Booking.objects.filter(holder=job.holder).with_remaining().select_related("material")
    return {booking.material.code: booking.remaining for booking in found}


def test_it_draws_each_component_by_its_parts_yield_and_density(job: Job, finisher: User) -> None:
    made = log(step(job, "First coat"), by=finisher)
    took = drawn(made.posting)
    # 2 L of the lot that ends first, the rest of the next; the expired lot B0 stays
    assert (took["B1"], took["B2"]) == (2, BASE - 2)
    assert took["H1"] == HARDENER
    assert "B0" not in took


def test_it_takes_the_supplies_of_the_step(job: Job, finisher: User) -> None:
    took = drawn(log(step(job, "First coat"), by=finisher).posting)
    assert (took["L1"], took["S1"]) == (5, 1)


def test_it_keeps_what_the_finisher_said(job: Job, finisher: User) -> None:
    when = timezone.now() - timedelta(hours=2)
    made = log(step(job, "First coat"), by=finisher, done_at=when, minutes=D("55.5"), wet_film=D(105), note="two runs", fills=6)
    kept = CoatLog.objects.get(pk=made.pk)
    assert (kept.by, kept.done_at, kept.minutes, kept.wet_film, kept.note) == (finisher, when, D("55.5"), 105, "two runs")
    assert (kept.mixed, kept.fills, kept.finishes_step) == (MIXED, 6, True)
    assert kept.posting is not None
    assert kept.posting.reference == f"{job.number} First coat"


def test_bookings_shrink_by_what_was_drawn(job: Job, finisher: User) -> None:
    log(step(job, "First coat"), by=finisher)
    assert remaining(job) == {"base": BASE, "hardener": HARDENER, "liner": 5, "strainer": 1, "disc": 8}
    log(step(job, "Second coat"), by=finisher)
    assert remaining(job) == {"base": 0, "hardener": 0, "liner": 0, "strainer": 0, "disc": 8}


def test_the_first_log_puts_the_job_in_work(job: Job, finisher: User) -> None:
    log(step(job, "Sand"), by=finisher)
    job.refresh_from_db()
    assert job.status == JobStatus.IN_WORK


def test_a_step_without_material_is_logged_too(job: Job, finisher: User) -> None:
    made = log(step(job, "Check"), by=finisher, minutes=D(12))
    assert (made.posting, made.mixed, made.minutes) == (None, None, 12)


def test_a_coat_may_be_logged_in_parts(job: Job, finisher: User) -> None:
    coat = step(job, "First coat")
    components, _ = uses(coat)
    log(coat, by=finisher, mixed=D(1), supplies=[], finishes_step=False)
    log(coat, by=finisher, mixed=D("0.1"), components=components, supplies=[])
    assert [made.mixed for made in coat.logs.order_by("pk")] == [1, D("0.1")]


def test_a_measured_component_counts_as_it_was_poured(job: Job, finisher: User) -> None:
    coat = step(job, "First coat")
    (base, hardener), _ = uses(coat)
    poured = [Use(line=base.line, amount=D("2.5")), Use(line=hardener.line, amount=D("0.26"))]
    took = drawn(log(coat, by=finisher, mixed=D("2.76"), components=poured, supplies=[]).posting)
    assert took["H1"] == D("0.273000")  # 0.26 L at 1.05 kg/L
    assert took["B1"] + took["B2"] == D("2.551020")  # 2.5 L at a yield of 0.98


def test_a_named_lot_is_taken_instead_of_the_first_to_end(stocked: FinishShop, job: Job, finisher: User) -> None:
    made = log(step(job, "First coat"), by=finisher, lots={"base": stocked.lots["B2"]})
    assert "B1" not in drawn(made.posting)
    assert drawn(made.posting)["B2"] == BASE


def test_each_movement_carries_its_booking_and_the_lots_cost(stocked: FinishShop, job: Job, finisher: User) -> None:
    log(step(job, "First coat"), by=finisher)
    moves = Movement.objects.filter(posting__kind="issue", lot__material=stocked.base).order_by("pk")
    assert [(move.lot.number, move.unit_cost, move.booking and move.booking.holder) for move in moves] == [
        ("B1", 25, job.holder),
        ("B2", 26, job.holder),
    ]


# ---------------------------------------------------------------- refusals


def test_more_than_can_be_used_is_refused_at_the_component(stocked: FinishShop, job: Job, finisher: User) -> None:
    with pytest.raises(UseRefusedError, match=r"Only 12 L of Base can be used; 30\.612245 L") as refused:
        log(step(job, "First coat"), by=finisher, mixed=D(33))
    assert refused.value.line.material == stocked.base
    assert isinstance(refused.value.error, NotEnoughStockError)
    assert not CoatLog.objects.exists()


def test_an_expired_lot_is_refused_at_the_component(stocked: FinishShop, job: Job, finisher: User) -> None:
    with pytest.raises(UseRefusedError, match="Lot B0 expired on") as refused:
        log(step(job, "First coat"), by=finisher, mixed=D("0.5"), lots={"base": stocked.lots["B0"]})
    assert (refused.value.line.material, refused.value.field) == (stocked.base, "lot")
    assert isinstance(refused.value.error, LotNotUsableError)


def test_an_expired_lot_needs_the_right_to_override(stocked: FinishShop, job: Job, finisher: User) -> None:
    with pytest.raises(WorkError, match="Only the office or the owner may use an expired or quarantined lot") as refused:
        log(
            step(job, "First coat"),
            by=finisher,
            mixed=D("0.5"),
            lots={"base": stocked.lots["B0"]},
            override_reason="tested on a scrap door",
        )
    assert refused.value.field == "override_reason"
    assert not Posting.objects.filter(kind="issue").exists()


def test_with_the_right_and_a_reason_an_expired_lot_is_used(stocked: FinishShop, job: Job, owner: User) -> None:
    made = log(
        step(job, "First coat"),
        by=owner,
        mixed=D("0.5"),
        lots={"base": stocked.lots["B0"]},
        override_reason="tested on a scrap door",
    )
    assert made.posting is not None
    reasons = {move.lot.number: move.override_reason for move in made.posting.movements.all()}
    assert (reasons["B0"], reasons["H1"]) == ("tested on a scrap door", "")


def test_a_quarantined_lot_is_passed_over(stocked: FinishShop, job: Job, finisher: User, owner: User) -> None:
    quarantine_lot(lot=stocked.lots["B1"], reason="lumps", by=owner)
    assert drawn(log(step(job, "First coat"), by=finisher).posting)["B2"] == BASE


@pytest.mark.parametrize("mixed", [None, D(0)])
def test_a_coat_needs_something_mixed(job: Job, finisher: User, mixed: Decimal | None) -> None:
    with pytest.raises(MixError, match="Say how much was mixed, more than 0") as refused:
        log(step(job, "First coat"), by=finisher, mixed=mixed)
    assert refused.value.field == "mixed"


def test_components_that_do_not_make_the_mix_are_refused(job: Job, finisher: User) -> None:
    coat = step(job, "First coat")
    (base, hardener), _ = uses(coat)
    with pytest.raises(MixError, match=r"The components come to 2\.254 L, the mix to 2\.793 L"):
        log(coat, by=finisher, components=[Use(line=base.line, amount=D(2)), hardener], supplies=[])


def test_a_closed_job_takes_no_log(job: Job, finisher: User, owner: User) -> None:
    set_job_status(job=job, to=JobStatus.CANCELLED, by=owner, today=today())
    with pytest.raises(JobClosedError, match=f"{job.number} is cancelled since .* Nothing more can be logged"):
        log(step(job, "Sand"), by=finisher)


@pytest.mark.parametrize(
    ("moment", "words"), [(timedelta(days=1), "This is in the future"), (-timedelta(days=40), "more than 31 days ago")]
)
def test_a_time_that_makes_no_sense_is_refused(job: Job, finisher: User, moment: timedelta, words: str) -> None:
    with pytest.raises(WorkError, match=words) as refused:
        log(step(job, "Check"), by=finisher, done_at=timezone.now() + moment)
    assert refused.value.field == "done_at"


def test_a_material_kept_in_kg_without_density_is_told(stocked: FinishShop, job: Job, finisher: User) -> None:
    type(stocked.hardener).objects.filter(pk=stocked.hardener.pk).update(density=None)
    with pytest.raises(MixError, match="Hardener is kept in kg and its density is not known"):
        log(step(job, "First coat"), by=finisher)


def test_a_line_of_another_step_is_a_slip(job: Job, finisher: User) -> None:
    components, _ = uses(step(job, "Second coat"))
    with pytest.raises(ValueError, match="is not planned for First coat"):
        log(step(job, "First coat"), by=finisher, components=components, supplies=[])


def test_a_refusal_halfway_leaves_nothing_behind(job: Job, finisher: User, monkeypatch: pytest.MonkeyPatch) -> None:
    def break_down(self: CoatLog, *args: object, **more: object) -> None:
        raise RuntimeError("the power went")

    monkeypatch.setattr(service.CoatLog, "save", break_down)
    with pytest.raises(RuntimeError):
        log(step(job, "First coat"), by=finisher)
    assert not Posting.objects.filter(kind="issue").exists()
    assert remaining(job)["base"] == D("5.181242")


# ---------------------------------------------------------------- twice, stale, reversed


def test_the_same_form_sent_twice_draws_once(job: Job, finisher: User) -> None:
    coat, key, when = step(job, "First coat"), uuid4(), timezone.now()
    first = log(coat, by=finisher, key=key, done_at=when, seen_logs=0)
    assert log(coat, by=finisher, key=key, done_at=when, seen_logs=0) == first
    assert (CoatLog.objects.count(), Posting.objects.filter(kind="issue").count()) == (1, 1)


def test_the_key_of_another_persons_form_is_refused(job: Job, finisher: User, mate: User) -> None:
    coat, key = step(job, "First coat"), uuid4()
    log(coat, by=finisher, key=key)
    with pytest.raises(KeyUsedError, match="has logged something else already"):
        log(coat, by=mate, key=key)


def test_a_key_that_the_ledger_knows_is_refused(stocked: FinishShop, job: Job, owner: User) -> None:
    used = Posting.objects.filter(by=owner).latest("pk").key
    with pytest.raises(StockError, match="has been used for something else"):
        log(step(job, "Sand"), by=owner, key=used)


def test_a_form_that_did_not_see_anothers_log_is_told_who_logged_it(job: Job, finisher: User, mate: User) -> None:
    coat = step(job, "First coat")
    log(coat, by=mate)
    with pytest.raises(LoggedMeanwhileError, match=r"mate has logged this step since the page was shown, 2\.793 L") as refused:
        log(coat, by=finisher, seen_logs=0)
    assert refused.value.number == 1
    assert log(coat, by=finisher, mixed=D(1), seen_logs=1).pk


def test_a_reversed_log_no_longer_counts(job: Job, finisher: User, owner: User) -> None:
    coat = step(job, "First coat")
    made = log(coat, by=finisher)
    assert made.posting is not None
    reverse(key=uuid4(), by=owner, on=today(), posting=made.posting, reason="wrong job")
    assert not coat.logs.standing().exists()
    assert [entry.is_reversed for entry in coat.logs.with_reversed()] == [True]
    assert remaining(job)["base"] == D("5.181242")
    assert log(coat, by=finisher, seen_logs=0).pk
