"""Components' lots in, coats out, the rest thrown away or put back: each batch adds up, and every lot is found again."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from costing.choices import RestCause
from costing.models import Batch, BatchRest, Job
from costing.services.batches import put_back, throw_away
from costing.services.coat_log import take_back
from costing.services.work_errors import MoreThanMixedError, WorkError
from costing.tracing import batches_of_lots, coats_of_lots, trace
from finishing.models import User
from inventory.models import Booking, Lot
from inventory.services.ledger import reverse
from tests.costing.jobs.finish_shop import FinishShop, log, mix, spray, step, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]
D = Decimal


def fresh(batch: Batch) -> Batch:
    return Batch.objects.with_left().get(pk=batch.pk)


def test_mixing_takes_the_components_out_of_their_lots_for_the_bookings_of_the_job(
    stocked: FinishShop, job: Job, finisher: User
) -> None:
    batch = mix(step(job, "First coat"), by=finisher, litres=D("1.1"))
    seen = trace(batch)
    # 1.1 L at 10 : 1: 1 L of base at a yield of 0.98, 0.1 L of hardener at 1.05 kg/L
    assert [(part.lot.number, part.taken) for part in seen.lots_in] == [("B1", D("1.020408")), ("H1", D("0.105"))]
    assert Booking.objects.with_remaining().get(material=stocked.base, holder=job.holder).drawn == D("1.020408")
    assert seen.batch.left == D("1.1")
    job.refresh_from_db()
    assert job.status == "in_work"


def test_coats_and_rest_add_up_to_what_was_mixed(job: Job, finisher: User, mate: User) -> None:
    first = step(job, "First coat")
    batch = mix(first, by=finisher, litres=D("2"))
    spray(first, (batch, D("0.7")), by=finisher, finishes_step=False)
    spray(first, (batch, D("0.9")), by=mate)
    throw_away(key=uuid4(), by=mate, batch=batch, litres=None, cause=RestCause.LEFT_OVER, at=timezone.now(), today=today())
    seen = trace(batch)
    assert [(use.log.by, use.litres) for use in seen.coats_out] == [(finisher, D("0.7")), (mate, D("0.9"))]
    assert [(rest.litres, rest.fate) for rest in seen.rests] == [(D("0.4"), "thrown")]
    assert seen.batch.left == 0
    assert not Batch.objects.open().exists()


def test_a_lot_is_found_in_every_coat_whether_mixed_before_or_as_it_was_sprayed(
    stocked: FinishShop, job: Job, finisher: User
) -> None:
    first, second = step(job, "First coat"), step(job, "Second coat")
    batch = mix(first, by=finisher, litres=D("1"), lots={"base": stocked.lots["B1"]})
    from_pot = spray(first, (batch, D("0.6")), by=finisher)
    direct = log(second, by=finisher, mixed=D("0.5"), lots={"base": stocked.lots["B2"]})
    assert [(coat.log, coat.batch) for coat in coats_of_lots([stocked.lots["B1"]])] == [(from_pot, batch)]
    assert [(coat.log, coat.batch) for coat in coats_of_lots([stocked.lots["B2"]])] == [(direct, None)]
    both = coats_of_lots([stocked.lots["H1"]])
    assert {coat.log for coat in both} == {from_pot, direct}
    assert {coat.log.step.job for coat in both} == {job}
    assert [(pot, pot.left) for pot in batches_of_lots([stocked.lots["B1"]])] == [(batch, D("0.4"))]
    assert not coats_of_lots([stocked.lots["B0"]])


def test_walking_from_a_lot_asks_the_database_as_often_for_many_coats(stocked: FinishShop, job: Job, finisher: User) -> None:
    first = step(job, "First coat")
    batch = mix(first, by=finisher, litres=D("2"))
    lots = list(Lot.objects.filter(pk__in=batch.posting.movements.values("lot")))

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            coats_of_lots(lots)
        return len(queries)

    spray(first, (batch, D("0.1")), by=finisher)
    one = asked()
    for _ in range(4):
        spray(first, (batch, D("0.1")), by=finisher)
    assert asked() == one


def test_a_coat_that_is_taken_back_leaves_the_pot_as_it_was(job: Job, finisher: User) -> None:
    first = step(job, "First coat")
    batch = mix(first, by=finisher, litres=D("2"))
    made = spray(first, (batch, D("1.5")), by=finisher)
    take_back(log=made, by=finisher, reason="wrong job", at=timezone.now(), today=today())
    assert fresh(batch).left == 2
    assert not first.logs.standing().exists()
    [kept] = coats_of_lots(Lot.objects.filter(number="H1"))
    assert (kept.log, kept.is_standing) == (made, False)
    assert Lot.objects.get(number="L1").on_hand == 50
    with pytest.raises(WorkError, match="Say why"):
        take_back(log=spray(first, (batch, D("1")), by=finisher), by=finisher, reason=" ", at=timezone.now(), today=today())


def test_a_mixing_that_is_reversed_no_longer_counts(job: Job, owner: User, finisher: User) -> None:
    first = step(job, "First coat")
    batch = mix(first, by=finisher, litres=D("1"))
    reverse(key=uuid4(), by=owner, on=today(), posting=batch.posting, reason="wrong can")
    assert not trace(batch).is_standing
    with pytest.raises(WorkError, match=f"The mixing of {batch.number} was taken back"):
        spray(first, (batch, D("0.5")), by=finisher)


def test_the_rest_of_a_mix_of_two_parts_cannot_go_back_into_a_can(job: Job, finisher: User) -> None:
    batch = mix(step(job, "First coat"), by=finisher, litres=D("1"))
    with pytest.raises(WorkError, match="can’t go back into a can"):
        put_back(key=uuid4(), by=finisher, batch=batch, litres=None, at=timezone.now(), today=today())
    assert not BatchRest.objects.exists()


def test_the_rest_of_one_part_goes_back_into_its_lot_once(stocked: FinishShop, finisher: User) -> None:
    stocked.system.operations.get(name="First coat").components.get(material=stocked.hardener).delete()
    first = step(stocked.job(), "First coat")
    batch = mix(first, by=finisher, litres=D("1"), lots={"base": stocked.lots["B2"]})
    before = Lot.objects.get(number="B2").on_hand
    key = uuid4()
    for _ in range(2):
        put_back(key=key, by=finisher, batch=batch, litres=D("0.25"), at=timezone.now(), today=today())
    assert Lot.objects.get(number="B2").on_hand == before + D("0.25")
    assert fresh(batch).left == D("0.75")


def test_more_than_is_left_is_not_thrown_away(job: Job, finisher: User) -> None:
    first = step(job, "First coat")
    batch = mix(first, by=finisher, litres=D("1"), mixed_at=timezone.now() - timedelta(minutes=20))
    spray(first, (batch, D("0.8")), by=finisher)
    with pytest.raises(MoreThanMixedError, match="holds 200 mL now: 1 L was mixed, finisher took 800 mL"):
        throw_away(
            key=uuid4(), by=finisher, batch=batch, litres=D("0.3"), cause=RestCause.SPILLED, at=timezone.now(), today=today()
        )
    with pytest.raises(WorkError, match="was mixed later than that"):
        throw_away(
            key=uuid4(),
            by=finisher,
            batch=batch,
            litres=None,
            cause=RestCause.SPILLED,
            at=timezone.now() - timedelta(minutes=25),
            today=today(),
        )


@pytest.fixture
def names(job: Job) -> Callable[[], list[str]]:
    return lambda: [held.number for held in Batch.objects.open()]


def test_a_batch_mixed_twice_by_the_same_form_is_one(job: Job, finisher: User, names: Callable[[], list[str]]) -> None:
    key = uuid4()
    first = step(job, "First coat")
    assert mix(first, by=finisher, key=key, litres=D("1")) == mix(first, by=finisher, key=key, litres=D("1"))
    assert len(names()) == 1
    assert Lot.objects.get(number="H1").on_hand == 2 - D("0.095455")
