"""Writing off: with a cause, from any lot, and no more than is in it."""

from __future__ import annotations

import pytest

from inventory.choices import PostingKind, WriteOffCause
from inventory.errors import DayError, NotEnoughStockError, QuantityError, TextError
from inventory.models import Material
from inventory.services.lots import quarantine_lot
from tests.inventory.ledger.counter import Counter, on_hand, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]


def test_it_leaves_the_books_with_its_cause(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    posting = counter.write_off(lot, "2", cause=WriteOffCause.SPILLED, reason="knocked over")
    posting.refresh_from_db()
    assert (posting.kind, posting.cause, posting.reason) == (PostingKind.WRITE_OFF, WriteOffCause.SPILLED, "knocked over")
    assert posting.movements.get().quantity == -2
    assert on_hand(lot) == 3


def test_an_expired_lot_in_quarantine_is_written_off_without_further_ado(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5", on=today(-9), expires_on=today(-1))
    quarantine_lot(lot=lot, reason="lumps", by=counter.by)
    counter.write_off(lot, "5", cause=WriteOffCause.EXPIRED)
    assert on_hand(lot) == 0


def test_no_more_than_is_in_it(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    with pytest.raises(NotEnoughStockError, match=r"^Lot A1 holds 5 L; 5\.1 L is wanted\.$"):
        counter.write_off(lot, "5.1")


@pytest.mark.parametrize("cause", [WriteOffCause.NONE, "whim"])
def test_a_cause_is_needed(counter: Counter, clear: Material, cause: WriteOffCause) -> None:
    lot = counter.receive(clear, "5")
    with pytest.raises(TextError, match="Say why it is written off") as refused:
        counter.write_off(lot, "1", cause=cause)
    assert refused.value.field == "cause"


def test_another_cause_needs_words(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    with pytest.raises(TextError, match="Say in a few words") as refused:
        counter.write_off(lot, "1", cause=WriteOffCause.OTHER, reason=" ")
    assert refused.value.field == "reason"
    counter.write_off(lot, "1", cause=WriteOffCause.OTHER, reason="given to the neighbour")


@pytest.mark.parametrize(("days", "words"), [(1, "still to come"), (-4, "too early")])
def test_a_day_that_can_not_be_is_refused(counter: Counter, clear: Material, days: int, words: str) -> None:
    lot = counter.receive(clear, "5", on=today(-3))
    with pytest.raises(DayError, match=words):
        counter.write_off(lot, "1", on=today(days))


def test_a_quantity_below_nothing_is_refused(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    with pytest.raises(QuantityError):
        counter.write_off(lot, "-1")
    assert on_hand(lot) == 5
