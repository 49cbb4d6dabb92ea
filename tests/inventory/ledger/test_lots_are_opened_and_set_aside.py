"""Opening, setting aside, freeing: a lot's state changes with a record of who, when and why."""

from __future__ import annotations

import pytest

from inventory.choices import LotEventKind
from inventory.errors import DayError, LotStateError, TextError
from inventory.models import LotEvent, Material
from inventory.services.lots import open_lot, quarantine_lot, release_lot
from tests.inventory.ledger.counter import Counter, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]


def test_an_opened_lot_is_good_for_its_open_life(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5", on=today(-10), expires_on=today(300))
    opened = open_lot(lot=lot, on=today(-2), by=counter.by)
    lot.refresh_from_db()
    assert opened == lot
    assert (lot.opened_on, lot.usable_until) == (today(-2), today(28))
    event = LotEvent.objects.get()
    assert (event.lot, event.kind, event.by, event.on) == (lot, LotEventKind.OPENED, counter.by, today(-2))


def test_opening_does_not_prolong_the_shelf_life(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5", expires_on=today(3))
    assert open_lot(lot=lot, on=today(), by=counter.by).usable_until == today(3)


def test_without_an_open_life_opening_changes_nothing(counter: Counter, thinner: Material) -> None:
    assert open_lot(lot=counter.receive(thinner, "5"), on=today(), by=counter.by).usable_until is None


def test_it_is_opened_once(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5", on=today(-10))
    open_lot(lot=lot, on=today(-2), by=counter.by)
    with pytest.raises(LotStateError, match=f"Lot A1 was opened on {today(-2)} already"):
        open_lot(lot=lot, on=today(), by=counter.by)
    lot.refresh_from_db()
    assert lot.opened_on == today(-2)
    assert LotEvent.objects.count() == 1


@pytest.mark.parametrize(("days", "words"), [(1, "still to come"), (-11, "too early")])
def test_a_day_that_can_not_be_is_refused(counter: Counter, clear: Material, days: int, words: str) -> None:
    lot = counter.receive(clear, "5", on=today(-10))
    with pytest.raises(DayError, match=words):
        open_lot(lot=lot, on=today(days), by=counter.by)


def test_a_lot_is_set_aside_with_a_reason_and_freed_again(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    quarantine_lot(lot=lot, reason=" lumps ", by=counter.by)
    lot.refresh_from_db()
    assert (lot.is_quarantined, lot.quarantine_reason, lot.is_usable(today())) == (True, "lumps", False)
    release_lot(lot=lot, by=counter.by)
    lot.refresh_from_db()
    assert (lot.is_quarantined, lot.quarantine_reason, lot.is_usable(today())) == (False, "", True)
    assert [(event.kind, event.by, event.on, event.reason) for event in LotEvent.objects.order_by("pk")] == [
        (LotEventKind.QUARANTINED, counter.by, today(), "lumps"),
        (LotEventKind.RELEASED, counter.by, today(), ""),
    ]


def test_setting_aside_needs_a_reason(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    with pytest.raises(TextError, match="Say why the lot is set aside") as refused:
        quarantine_lot(lot=lot, reason=" ", by=counter.by)
    assert refused.value.field == "reason"


def test_a_state_that_is_there_already_is_told(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    with pytest.raises(LotStateError, match="is not in quarantine"):
        release_lot(lot=lot, by=counter.by)
    quarantine_lot(lot=lot, reason="lumps", by=counter.by)
    with pytest.raises(LotStateError, match="is in quarantine already"):
        quarantine_lot(lot=lot, reason="other lumps", by=counter.by)
    lot.refresh_from_db()
    assert lot.quarantine_reason == "lumps"


def test_stock_that_moved_meanwhile_is_not_put_back(counter: Counter, clear: Material) -> None:
    """The lot in hand is stale: only the fields at stake are saved."""
    stale = counter.receive(clear, "5")
    counter.issue(clear, "2")
    quarantine_lot(lot=stale, reason="lumps", by=counter.by)
    stale.refresh_from_db()
    assert stale.on_hand == 3
