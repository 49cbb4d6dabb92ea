"""Issuing: first expired first out over the material's usable lots, or from the lot that a line names."""

from __future__ import annotations

from decimal import Decimal
from uuid import uuid4

import pytest

from inventory.choices import PostingKind
from inventory.errors import DayError, NotEnoughStockError, StockError, TextError, WrongMaterialError
from inventory.models import Material, Posting
from inventory.services import ledger
from inventory.services.bookings import book
from inventory.services.ledger import IssueLine
from tests.inventory.ledger.counter import Counter, moved, on_hand, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]


def test_it_takes_what_expires_first_and_goes_on_with_the_next(counter: Counter, clear: Material) -> None:
    late = counter.receive(clear, "5", number="late", expires_on=today(90), cost="10")
    soon = counter.receive(clear, "2", number="soon", expires_on=today(9), cost="12")
    posting = counter.issue(clear, "2.5", reason="doors")
    assert moved(posting) == [("soon", -2), ("late", Decimal("-0.5"))]
    assert (on_hand(soon), on_hand(late)) == (0, Decimal("4.5"))
    assert (posting.kind, posting.by, posting.reference, posting.reason) == (PostingKind.ISSUE, counter.by, "job", "doors")


def test_each_movement_carries_the_cost_of_its_lot(counter: Counter, clear: Material) -> None:
    counter.receive(clear, "5", cost="10.123456", expires_on=today(90))
    counter.receive(clear, "2", cost="12", expires_on=today(9))
    posting = counter.issue(clear, "3")
    assert sum(-move.value for move in posting.movements.all()) == Decimal("34.123456")


def test_the_last_drop_can_be_taken(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "0.3")
    for _ in range(3):
        counter.issue(clear, "0.1")
    assert on_hand(lot) == 0


def test_more_than_is_usable_is_refused_and_nothing_moves(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "2")
    set_aside = counter.receive(clear, "4", expires_on=today(-1), accept_expired_reason="test panels")
    with pytest.raises(NotEnoughStockError) as refused:
        counter.issue(clear, "2.000001")
    error = refused.value
    assert (error.material, error.wanted, error.usable, error.unusable) == (clear, Decimal("2.000001"), 2, 4)
    assert str(error) == ("Only 2 L of Clear coat can be used; 2.000001 L is wanted. Another 4 L is expired or in quarantine.")
    assert (error.field, error.line) == ("quantity", 0)
    assert (on_hand(lot), on_hand(set_aside)) == (2, 4)
    assert not Posting.objects.filter(kind=PostingKind.ISSUE).exists()


def test_a_material_that_never_came_in_is_refused_in_words(counter: Counter, clear: Material) -> None:
    with pytest.raises(NotEnoughStockError, match=r"^No Clear coat can be used; 1 L is wanted\.$"):
        counter.issue(clear, "1")


def test_a_line_may_name_its_lot(counter: Counter, clear: Material) -> None:
    soon = counter.receive(clear, "2", number="soon", expires_on=today(9))
    late = counter.receive(clear, "5", number="late", expires_on=today(90))
    assert moved(counter.issue(clear, "3", lot=late)) == [("late", -3)]
    assert on_hand(soon) == 2


def test_a_named_lot_is_not_helped_out_by_others(counter: Counter, clear: Material) -> None:
    counter.receive(clear, "5")
    small = counter.receive(clear, "1", number="small")
    with pytest.raises(NotEnoughStockError, match=r"^Lot small holds 1 L; 1\.5 L is wanted\.$") as refused:
        counter.issue(clear, "1.5", lot=small)
    assert refused.value.lot == small


def test_a_lot_of_another_material_is_refused(counter: Counter, clear: Material, thinner: Material) -> None:
    lot = counter.receive(thinner, "5")
    with pytest.raises(WrongMaterialError, match="This lot does not hold Clear coat") as refused:
        counter.issue(clear, "1", lot=lot)
    assert refused.value.field == "lot"


def test_a_booking_of_another_material_is_refused(counter: Counter, clear: Material, thinner: Material) -> None:
    counter.receive(clear, "5")
    booking = book(material=thinner, quantity=Decimal(1), needed_on=today(), holder="J-1")
    with pytest.raises(WrongMaterialError, match="The booking of J-1 is not for Clear coat") as refused:
        counter.issue(clear, "1", booking=booking)
    assert refused.value.field == "booking"


def several(counter: Counter, *lines: IssueLine) -> Posting:
    """One posting of several lines."""
    return ledger.issue(key=uuid4(), by=counter.by, on=today(), lines=lines, reference="mix")


def test_several_lines_are_all_posted_or_none(counter: Counter, clear: Material, thinner: Material) -> None:
    lot = counter.receive(clear, "5")
    counter.receive(thinner, "1")
    with pytest.raises(NotEnoughStockError) as refused:
        several(counter, IssueLine(material=clear, quantity=Decimal(1)), IssueLine(material=thinner, quantity=Decimal(2)))
    assert refused.value.line == 1
    assert on_hand(lot) == 5
    assert not Posting.objects.filter(kind=PostingKind.ISSUE).exists()


def test_two_lines_of_one_material_share_what_there_is(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "3")
    two = IssueLine(material=clear, quantity=Decimal(2))
    with pytest.raises(NotEnoughStockError) as refused:
        several(counter, two, two)
    assert (refused.value.usable, refused.value.line) == (1, 1)
    posting = several(counter, two, IssueLine(material=clear, quantity=Decimal(1)))
    assert [quantity for _, quantity in moved(posting)] == [-2, -1]
    assert on_hand(lot) == 0


def test_a_line_that_may_take_any_lot_leaves_the_named_one_to_the_line_that_needs_it(counter: Counter, clear: Material) -> None:
    named = counter.receive(clear, "1", number="named", expires_on=today(5))
    counter.receive(clear, "1", number="other", expires_on=today(50))
    one = Decimal(1)
    posting = several(counter, IssueLine(material=clear, quantity=one), IssueLine(material=clear, quantity=one, lot=named))
    assert sorted(moved(posting)) == [("named", -1), ("other", -1)]


def test_nothing_is_issued_on_a_day_to_come(counter: Counter, clear: Material) -> None:
    counter.receive(clear, "1")
    with pytest.raises(DayError, match="still to come") as refused:
        counter.issue(clear, "1", on=today(1))
    assert refused.value.field == "on"


def test_a_lot_is_not_drawn_from_before_it_came_in(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "1", on=today(-2))
    with pytest.raises(NotEnoughStockError):
        counter.issue(clear, "1", on=today(-3))
    with pytest.raises(DayError, match="too early: lot A1 came in on"):
        counter.issue(clear, "1", lot=lot, on=today(-3))
    counter.issue(clear, "1", on=today(-2))


def test_an_issue_of_nothing_is_refused(counter: Counter) -> None:
    with pytest.raises(StockError, match="no line"):
        several(counter)


def test_a_text_that_does_not_fit_is_refused_at_its_field(counter: Counter, clear: Material) -> None:
    counter.receive(clear, "1")
    with pytest.raises(TextError, match="Keep this to 300 characters; it has 301") as refused:
        counter.issue(clear, "1", reason="x" * 301)
    assert refused.value.field == "reason"
