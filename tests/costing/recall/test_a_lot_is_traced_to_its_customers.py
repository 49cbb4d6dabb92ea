"""From a lot, or a supplier's lot number, to every job and coat and the customers to call; netted truthfully."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from costing.models import Job
from costing.recall import Recall, lots_of, recall
from costing.recall_words import coat_words, doubts
from costing.services.batches import mix_batch
from costing.services.coat_checks import BatchTake
from finishing import show
from finishing.models import User
from inventory.choices import WriteOffCause
from inventory.models import Location, Lot, Supplier
from inventory.recall import lots_meant, lots_numbered, same_batch
from inventory.services import ledger
from inventory.services.bookings import book
from inventory.services.transfers import move
from tests.costing.jobs.finish_shop import BASE, HARDENER, MIXED, FinishShop, log, step, today, uses

pytestmark = [pytest.mark.django_db, pytest.mark.database]

D = Decimal


def traced(number: str) -> Recall:
    return recall(lots_numbered(number))


def called(found: Recall) -> list[tuple[str, list[Decimal]]]:
    return [(one.customer.name, [part.stayed for part in one.parts]) for one in found.customers]


def issue(shop: FinishShop, lot: Lot, quantity: str, *, reference: str, on: date | None = None):  # type: ignore[no-untyped-def]
    line = ledger.IssueLine(material=lot.material, quantity=D(quantity), lot=lot)
    return ledger.issue(key=uuid4(), by=shop.by, on=on or today(), lines=[line], reference=reference)


def bring_back(shop: FinishShop, lot: Lot, quantity: str, job: Job | None = None):  # type: ignore[no-untyped-def]
    booking = None if job is None else step(job, "First coat").materials.get(material=lot.material).booking
    return ledger.return_stock(
        key=uuid4(), by=shop.by, on=today(), lot=lot, quantity=D(quantity), reference="came back", booking=booking
    )


def test_everybody_whose_work_holds_some_of_the_lot_is_called(
    stocked: FinishShop, kitchen: Job, hotel: Job, finisher: User
) -> None:
    first = log(step(kitchen, "First coat"), by=finisher)
    second = log(step(kitchen, "Second coat"), by=finisher)
    third = log(step(hotel, "First coat"), by=finisher)
    found = traced("h1")  # the hardener's only lot; capital or small
    assert [(trace.flow.quantity, trace.job, trace.log.pk) for trace in found.traces] == [
        (HARDENER, kitchen, first.pk),
        (HARDENER, kitchen, second.pk),
        (HARDENER, hotel, third.pk),
    ]
    assert called(found) == [("Hotel of Nowhere", [HARDENER]), ("Invented Kitchens", [2 * HARDENER])]
    assert found.customers[1].customer.phone == "555 0101"
    (kitchens,) = found.customers[1].parts
    assert kitchens.coats == ("First coat", "Second coat")
    assert found.traces[0].log.mixed == D("2.792689")
    (balance,) = found.balances
    assert (balance.received, balance.issued, balance.on_hand) == (2, 3 * HARDENER, 2 - 3 * HARDENER)
    assert balance.adds_up
    assert doubts(found) == []


def test_a_lot_that_only_one_job_met_calls_only_its_customer(
    stocked: FinishShop, kitchen: Job, hotel: Job, finisher: User
) -> None:
    log(step(kitchen, "First coat"), by=finisher)  # all 2 L of B1, the rest from B2
    log(step(hotel, "First coat"), by=finisher)
    assert called(traced("B1")) == [("Invented Kitchens", [D(2)])]
    assert called(traced("B2")) == [("Hotel of Nowhere", [BASE]), ("Invented Kitchens", [BASE - 2])]
    assert called(traced("B0")) == []


def test_a_reversed_coat_is_listed_and_calls_nobody(stocked: FinishShop, kitchen: Job, hotel: Job, finisher: User) -> None:
    wrong = log(step(kitchen, "First coat"), by=finisher)
    log(step(hotel, "First coat"), by=finisher, lots={"base": stocked.lots["B2"]})
    ledger.reverse(key=uuid4(), by=stocked.by, on=today(), posting=wrong.posting, reason="wrong job")
    found = traced("H1")
    assert called(found) == [("Hotel of Nowhere", [HARDENER])]
    listed = {trace.job: (trace.flow.reversed_on, trace.flow.counts) for trace in found.traces}
    assert listed == {kitchen: (today(), 0), hotel: (None, HARDENER)}
    assert [(part.job, part.stayed) for part in found.parts] == [(hotel, HARDENER), (kitchen, 0)]
    assert found.balances[0].issued == HARDENER
    assert found.balances[0].adds_up


def test_what_came_back_from_a_job_is_not_in_its_work(stocked: FinishShop, kitchen: Job, finisher: User) -> None:
    log(step(kitchen, "First coat"), by=finisher)
    lot = stocked.lots["H1"]
    undone = bring_back(stocked, lot, "0.1", kitchen)
    bring_back(stocked, lot, "0.05", kitchen)
    ledger.reverse(key=uuid4(), by=stocked.by, on=today(), posting=undone, reason="typed wrong")
    (part,) = traced("H1").parts
    assert (part.taken, part.back, part.stayed) == (HARDENER, D("0.05"), HARDENER - D("0.05"))
    bring_back(stocked, lot, str(HARDENER - D("0.05")), kitchen)
    assert called(traced("H1")) == []


def test_what_the_books_tie_to_no_job_is_told(stocked: FinishShop, kitchen: Job, finisher: User) -> None:
    lot = stocked.lots["H1"]
    issue(stocked, lot, "0.4", reference="sample board for the fair")
    promised = book(material=lot.material, quantity=D(1), needed_on=today(3), holder="Walk-in repair")
    line = ledger.IssueLine(material=lot.material, quantity=D("0.1"), lot=lot, booking=promised)
    ledger.issue(key=uuid4(), by=stocked.by, on=today(), lines=[line], reference="at the counter")
    found = traced("H1")
    assert [(trace.flow.reference, trace.flow.holder) for trace in found.elsewhere] == [
        ("sample board for the fair", ""),
        ("at the counter", "Walk-in repair"),
    ]
    assert called(found) == []
    assert any("without a job" in words for words in doubts(found))
    log(step(kitchen, "First coat"), by=finisher)
    bring_back(stocked, lot, "0.45")
    bring_back(stocked, lot, "0.1")
    assert any("without a word" in words for words in doubts(traced("H1")))


def test_an_issue_for_a_job_that_nobody_logged_still_finds_the_job(stocked: FinishShop, kitchen: Job) -> None:
    lot = stocked.lots["H1"]
    booking = step(kitchen, "First coat").materials.get(material=lot.material).booking
    line = ledger.IssueLine(material=lot.material, quantity=D("0.2"), lot=lot, booking=booking)
    ledger.issue(key=uuid4(), by=stocked.by, on=today(), lines=[line], reference="to the booth")
    (trace,) = traced("H1").traces
    assert (trace.job, trace.log) == (kitchen, None)
    assert called(traced("H1")) == [("Invented Kitchens", [D("0.2")])]


def test_one_number_stands_on_lots_of_several_receipts_and_suppliers(
    stocked: FinishShop, kitchen: Job, finisher: User, supplier: Supplier
) -> None:
    line = ledger.ReceiptLine(material=stocked.hardener, quantity=D(1), unit_cost=D(50), lot_number="h1")
    more = ledger.receive(key=uuid4(), by=stocked.by, on=today(), supplier=supplier, reference="again", lines=[line])
    theirs = more.movements.get().lot
    log(step(kitchen, "First coat"), by=finisher, lots={"hardener": theirs})
    found = traced(" H1 ")
    assert {lot.pk for lot in found.lots} == {stocked.lots["H1"].pk, theirs.pk}
    assert [trace.lot for trace in found.traces] == [theirs]
    assert any("several suppliers" in words for words in doubts(found))
    assert lots_meant("(01)00000000000017(10)H1", today=today()) == list(found.lots)  # scanned from a label
    assert same_batch(theirs) == [theirs]


def test_a_part_that_was_moved_is_recalled_with_the_lot(stocked: FinishShop, kitchen: Job, finisher: User) -> None:
    lot, booth = stocked.lots["H1"], Location.objects.create(name="Booth")
    part = move(key=uuid4(), by=stocked.by, on=today(), lot=lot, quantity=D("0.5"), to_location=booth).lot
    log(step(kitchen, "First coat"), by=finisher, lots={"hardener": part})
    for one in (lot, part):
        found = recall(same_batch(Lot.objects.get(pk=one.pk)))
        assert {got.pk for got in found.lots} == {lot.pk, part.pk}
        assert called(found) == [("Invented Kitchens", [HARDENER])]
        assert (found.balances[0].received, found.balances[0].adds_up) == (2, True)


def test_write_offs_and_counts_balance_the_books(stocked: FinishShop, finisher: User) -> None:
    lot = stocked.lots["H1"]
    gone = ledger.write_off(
        key=uuid4(), by=finisher, on=today(), lot=lot, quantity=D("0.3"), cause=WriteOffCause.SPILLED, reason=""
    )
    off = ledger.CountDifference(lot=lot, quantity=D("0.02"))
    ledger.count_difference(key=uuid4(), by=finisher, on=today(), differences=[off], reference="count")
    (balance,) = traced("H1").balances
    assert (balance.written_off, balance.counted, balance.on_hand, balance.adds_up) == (D("0.3"), D("0.02"), D("1.72"), True)
    ledger.reverse(key=uuid4(), by=finisher, on=today(), posting=gone, reason="found again")
    (balance,) = traced("H1").balances
    assert (balance.written_off, balance.on_hand, balance.adds_up) == (0, D("2.02"), True)


def test_a_job_tells_all_its_lots(stocked: FinishShop, kitchen: Job, hotel: Job, finisher: User) -> None:
    log(step(kitchen, "Sand"), by=finisher)
    coat = log(step(kitchen, "First coat"), by=finisher)
    log(step(hotel, "First coat"), by=finisher, lots={"base": stocked.lots["B2"]})
    bring_back(stocked, stocked.lots["B2"], "0.5", kitchen)
    parts = {part.traces[0].lot.number: part for part in lots_of(kitchen)}
    assert set(parts) == {"B1", "B2", "H1", "L1", "S1", "D1"}
    assert (parts["B2"].taken, parts["B2"].back) == (BASE - 2, D("0.5"))
    assert parts["H1"].traces[0].log.pk == coat.pk
    assert parts["D1"].coats == ("Sand",)
    assert {part.traces[0].lot.number for part in lots_of(hotel)} == {"B2", "H1", "L1", "S1"}


def test_a_batch_stands_between_its_lots_and_its_coats(stocked: FinishShop, kitchen: Job, finisher: User) -> None:
    first, second = step(kitchen, "First coat"), step(kitchen, "Second coat")
    batch = mix_batch(
        key=uuid4(),
        by=finisher,
        step=first,
        mixed_at=timezone.now(),
        litres=MIXED,
        components=uses(first)[0],
        override_reason="",
        today=today(),
    )
    (trace,) = traced("H1").traces
    assert (trace.job, trace.log.batch, trace.log.mixed, trace.log.coats) == (kitchen, batch.number, MIXED, ())
    assert "no coat yet" in coat_words(trace)
    for coat, litres in ((first, D(2)), (second, D("0.5"))):
        takes = [BatchTake(batch=batch, litres=litres)]
        log(coat, by=finisher, mixed=None, components=[], from_batches=takes, early_reason="a test piece")
    (part,) = traced("H1").parts
    assert part.coats == ("First coat", "Second coat")
    assert part.stayed == HARDENER
    told, left = coat_words(part.traces[0]), show.pour(MIXED - D("2.5"))
    assert f"Batch {batch.number} of 2.793 L, on First coat, Second coat, {left} still in the pot" in told
    (doubt,) = doubts(traced("H1"))
    assert doubt.startswith(f"Still in the pot: batch {batch.number} {left}. It counts as stayed until")
    assert {one.coats for one in lots_of(kitchen) if one.material == stocked.hardener} == {part.coats}


def test_recall_and_its_way_back_agree(stocked: FinishShop, kitchen: Job, hotel: Job, finisher: User) -> None:
    for job in (kitchen, hotel):
        log(step(job, "First coat"), by=finisher)
    log(step(kitchen, "Second coat"), by=finisher)
    there = {
        (part.job.pk, part.traces[0].lot.pk): part.stayed for lot in Lot.objects.all() for part in recall(same_batch(lot)).parts
    }
    back = {(job.pk, part.traces[0].lot.pk): part.stayed for job in (kitchen, hotel) for part in lots_of(job)}
    assert there == back
    assert len(back) > 8


def test_the_number_of_queries_stays_the_same(stocked: FinishShop, kitchen: Job, hotel: Job, finisher: User) -> None:
    def queries() -> tuple[int, int]:
        with CaptureQueriesContext(connection) as there:
            traced("H1")
        with CaptureQueriesContext(connection) as back:
            lots_of(kitchen)
        return len(there), len(back)

    log(step(kitchen, "First coat"), by=finisher)
    before = queries()
    log(step(kitchen, "Second coat"), by=finisher)
    for name in ("First coat", "Second coat"):
        log(step(hotel, name), by=finisher)
    bring_back(stocked, stocked.lots["H1"], "0.05", kitchen)
    issue(stocked, stocked.lots["H1"], "0.1", reference="sample")
    assert queries() == before == (10, 6)
