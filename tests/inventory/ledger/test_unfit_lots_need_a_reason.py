"""Expired and quarantined lots are not issued, unless somebody names the lot and says why."""

from __future__ import annotations

import pytest

from inventory.errors import LotNotUsableError, NotEnoughStockError
from inventory.models import Lot, Material
from inventory.services.lots import open_lot, quarantine_lot, release_lot
from tests.inventory.ledger.counter import Counter, moved, on_hand, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]


def make_expired(counter: Counter, material: Material) -> Lot:
    """It expired yesterday, while it was here."""
    return counter.receive(material, "2", number="old", on=today(-30), expires_on=today(-1))


def make_quarantined(counter: Counter, material: Material) -> Lot:
    """Set aside by hand."""
    return quarantine_lot(lot=counter.receive(material, "2", number="frozen"), reason="stood in the frost", by=counter.by)


def make_open_too_long(counter: Counter, material: Material) -> Lot:
    """Its open life of 30 days ended yesterday."""
    lot = counter.receive(material, "2", number="opened", on=today(-60), expires_on=today(200))
    return open_lot(lot=lot, on=today(-31), by=counter.by)


UNFIT = pytest.mark.parametrize(
    ("make", "words"),
    [
        (make_expired, f"Lot old expired on {today(-1)}."),
        (make_quarantined, "Lot frozen is in quarantine (stood in the frost)."),
        (make_open_too_long, f"Lot opened was opened on {today(-31)} and was good until {today(-1)}."),
    ],
)


@UNFIT
def test_it_is_passed_over(counter: Counter, clear: Material, make: object, words: str) -> None:
    unfit = make(counter, clear)  # type: ignore[operator]
    good = counter.receive(clear, "1", number="good", expires_on=today(90))
    assert moved(counter.issue(clear, "1")) == [("good", -1)]
    with pytest.raises(NotEnoughStockError) as refused:
        counter.issue(clear, "1")
    assert (refused.value.usable, refused.value.unusable) == (0, 2)
    assert (on_hand(unfit), on_hand(good)) == (2, 0)


@UNFIT
def test_named_without_a_reason_it_is_refused(counter: Counter, clear: Material, make: object, words: str) -> None:
    unfit = make(counter, clear)  # type: ignore[operator]
    with pytest.raises(LotNotUsableError) as refused:
        counter.issue(clear, "1", lot=unfit)
    assert str(refused.value) == words
    assert (refused.value.field, refused.value.lot) == ("lot", unfit)
    assert on_hand(unfit) == 2


@pytest.mark.parametrize("reason", ["", "   "])
def test_a_blank_reason_is_none(counter: Counter, clear: Material, reason: str) -> None:
    with pytest.raises(LotNotUsableError):
        counter.issue(clear, "1", lot=make_expired(counter, clear), override_reason=reason)


@UNFIT
def test_named_with_a_reason_it_is_issued_and_the_reason_stays(
    counter: Counter, clear: Material, make: object, words: str
) -> None:
    unfit = make(counter, clear)  # type: ignore[operator]
    posting = counter.issue(clear, "1", lot=unfit, override_reason="tested on a panel, cures well")
    assert posting.movements.get().override_reason == "tested on a panel, cures well"
    assert on_hand(unfit) == 1


def test_a_reason_alone_does_not_open_the_shelf_of_unfit_lots(counter: Counter, clear: Material) -> None:
    make_expired(counter, clear)
    with pytest.raises(NotEnoughStockError):
        counter.issue(clear, "1", override_reason="whatever there is")


def test_a_reason_is_not_noted_on_a_lot_that_needed_none(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "1")
    posting = counter.issue(clear, "1", lot=lot, override_reason="just in case")
    assert posting.movements.get().override_reason == ""


def test_a_lot_that_expires_today_is_issued(counter: Counter, clear: Material) -> None:
    counter.receive(clear, "1", expires_on=today())
    assert moved(counter.issue(clear, "1")) == [("A1", -1)]


def test_yesterdays_use_of_a_lot_that_expired_yesterday_can_be_booked(counter: Counter, clear: Material) -> None:
    make_expired(counter, clear)
    assert moved(counter.issue(clear, "1", on=today(-1))) == [("old", -1)]


def test_a_freed_lot_is_used_again(counter: Counter, clear: Material) -> None:
    release_lot(lot=make_quarantined(counter, clear), by=counter.by)
    assert moved(counter.issue(clear, "1")) == [("frozen", -1)]
