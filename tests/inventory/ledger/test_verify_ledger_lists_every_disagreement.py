"""``verify_ledger``: adds everything up again, names what disagrees, and ends with 1 then."""

# ruff: noqa: S608 - the statements are written here, from table names of our own

from __future__ import annotations

from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Lot, Material, Movement, Posting
from inventory.services.bookings import book
from inventory.services.verify import check_ledger
from inventory.triggers import remove_guards
from tests import ledger_plugin
from tests.inventory.ledger.broken import sql, without_balance_check, without_guards
from tests.inventory.ledger.counter import Counter, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]


@pytest.fixture
def lot(counter: Counter, clear: Material, thinner: Material) -> Lot:
    """A ledger with one posting of every kind: lot 1 holds 6.5 litres at 10, lot 2 one litre at 3."""
    lot = counter.receive(clear, "10", on=today(-5))
    counter.receive(thinner, "1", cost="3", number="T1")
    booking = book(material=clear, quantity=Decimal(4), needed_on=today(), holder="J-1")
    counter.issue(clear, "4", booking=booking)
    counter.give_back(lot, "1", booking=booking)
    counter.write_off(lot, "0.5")
    counter.reverse(counter.issue(clear, "2"))
    return lot


def found() -> str:
    """All disagreements in one text."""
    return "\n".join(check_ledger().disagreements)


def test_a_sound_ledger_is_counted_and_valued(lot: Lot) -> None:
    report = check_ledger()
    assert (report.lots, report.postings, report.movements, report.bookings) == (2, 7, 7, 1)
    assert report.value == Decimal("68")
    assert report.disagreements == ()


def test_the_command_prints_the_counts_and_no_disagreement(lot: Lot) -> None:
    out = StringIO()
    call_command("verify_ledger", stdout=out)
    assert out.getvalue() == ("Checked 2 lots, 7 postings, 7 movements, 1 bookings; stock is worth $68.00.\nNo disagreement.\n")


def test_an_empty_ledger_agrees() -> None:
    assert check_ledger().disagreements == ()


@pytest.mark.usefixtures("may_disagree")
def test_the_command_lists_and_ends_with_1(lot: Lot) -> None:
    out = StringIO()
    with without_guards():
        sql("UPDATE inventory_lot SET on_hand = on_hand + 1000000")
    with pytest.raises(CommandError, match="4 disagreements") as ended:
        call_command("verify_ledger", stdout=out)
    assert ended.value.returncode == 1
    assert f"Lot {lot.pk} (A1) says 7.5, its movements say 6.5." in out.getvalue()
    assert "No disagreement" not in out.getvalue()


OF_KIND = "posting_id = (SELECT max(id) FROM inventory_posting WHERE kind = '{}')"
BREAKS = {
    "a balance": ("UPDATE inventory_lot SET on_hand = on_hand - 1", "says 6.499999, its movements say 6.5"),
    "a value": ("UPDATE inventory_lot SET unit_cost = unit_cost * 2", "is worth 130, its movements 65"),
    "a cost": (f"UPDATE inventory_movement SET unit_cost = 5 WHERE {OF_KIND.format('issue')}", "does not carry the unit cost"),
    "nothing moved": (
        f"UPDATE inventory_movement SET quantity = quantity * -1 WHERE {OF_KIND.format('return')}",
        "goes the wrong",
    ),
    "stock from nowhere": (
        f"UPDATE inventory_movement SET quantity = 5 WHERE {OF_KIND.format('write_off')}",
        "goes the wrong way",
    ),
    "too early": ("UPDATE inventory_posting SET \"on\" = '2001-01-01' WHERE kind = 'issue'", "is older than its lot"),
    "a reversal of no kind": ("UPDATE inventory_posting SET kind = 'return' WHERE kind = 'reversal'", "is no counter-movement"),
    "a reversal of nothing": ("UPDATE inventory_movement SET reverses_id = NULL", "is a counter-movement of nothing"),
    "an uneven reversal": (
        f"UPDATE inventory_movement SET quantity = 1999999 WHERE {OF_KIND.format('reversal')}",
        "does not mirror movement",
    ),
    "a reversal on another lot": (
        f"UPDATE inventory_movement SET lot_id = (SELECT max(id) FROM inventory_lot) WHERE {OF_KIND.format('reversal')}",
        "does not mirror movement",
    ),
    "a reversal for a booking": (
        f"UPDATE inventory_movement SET booking_id = (SELECT id FROM inventory_booking) WHERE {OF_KIND.format('reversal')}",
        "does not mirror movement",
    ),
    "a reversal of a reversal": (
        f"UPDATE inventory_movement SET reverses_id = id WHERE {OF_KIND.format('reversal')}",
        "reverses a counter-movement",
    ),
    "a reversal before the fact": (
        "UPDATE inventory_posting SET \"on\" = '2001-01-01' WHERE kind = 'reversal'",
        ", which it reverses",
    ),
    "a lost movement": (f"DELETE FROM inventory_movement WHERE {OF_KIND.format('write_off')}", "has no movement"),
    "returned too much": (
        f"DELETE FROM inventory_movement WHERE booking_id IS NOT NULL AND NOT {OF_KIND.format('return')}",
        "1 more came back to lot",
    ),
    "returned too much for the booking": (
        "UPDATE inventory_movement SET booking_id = NULL WHERE quantity < 0",
        "for booking",
    ),
    "another material's booking": (
        "UPDATE inventory_booking SET material_id = (SELECT max(id) FROM inventory_material)",
        "is booked to a booking of another material",
    ),
}


@pytest.mark.usefixtures("may_disagree")
@pytest.mark.parametrize("what", BREAKS)
def test_what_somebody_did_behind_the_ledgers_back_is_found(lot: Lot, what: str) -> None:
    statement, words = BREAKS[what]
    with without_guards():
        sql(statement)
    assert words in found()


@pytest.mark.usefixtures("may_disagree")
def test_a_posting_reversed_in_part_is_found(counter: Counter, clear: Material) -> None:
    counter.receive(clear, "1", expires_on=today(1))
    counter.receive(clear, "1", expires_on=today(2))
    counter_posting = counter.reverse(counter.issue(clear, "2"))
    with without_guards():
        Movement.objects.filter(posting=counter_posting).latest("pk").delete()
    assert "is reversed in part, or by several postings" in found()


@pytest.mark.usefixtures("may_disagree")
def test_a_posting_reversed_by_several_is_found(counter: Counter, clear: Material) -> None:
    counter.receive(clear, "1", expires_on=today(1))
    counter.receive(clear, "1", expires_on=today(2))
    counter_posting = counter.reverse(counter.issue(clear, "2"))
    with without_guards():
        other = Posting.objects.create(key="0" * 32, kind="reversal", by=counter.by, on=today())
        last = Movement.objects.filter(posting=counter_posting).latest("pk")
        Movement.objects.filter(pk=last.pk).update(posting=other)
    assert "is reversed in part, or by several postings" in found()


@pytest.mark.usefixtures("may_disagree")
def test_a_lot_below_nothing_is_found(lot: Lot) -> None:
    with without_guards(), without_balance_check():
        sql("UPDATE inventory_lot SET on_hand = -1")
        assert "holds less than nothing: -0.000001" in found()


@pytest.mark.usefixtures("may_disagree")
def test_a_missing_guard_is_found(lot: Lot) -> None:
    if connection.vendor == "postgresql":
        sql("SET CONSTRAINTS ALL IMMEDIATE")
    remove_guards(connection)
    assert "Guard inventory_movement_no_delete is missing in the database." in found()


def test_the_number_of_queries_does_not_grow(counter: Counter, clear: Material, lot: Lot) -> None:
    with CaptureQueriesContext(
        connection,
    ) as few:
        check_ledger()
    for _ in range(5):
        counter.receive(clear, "3")
        counter.reverse(counter.issue(clear, "4"))
    with CaptureQueriesContext(connection) as many:
        check_ledger()
    assert len(many) == len(few) < 30


@pytest.mark.usefixtures("may_disagree")
def test_the_check_after_every_test_would_fail_a_test(lot: Lot, monkeypatch: pytest.MonkeyPatch) -> None:
    with without_guards():
        sql("UPDATE inventory_lot SET on_hand = on_hand + 1")
    ledger_plugin.check_after_test()  # this test is excused
    monkeypatch.setattr(ledger_plugin, "_excused", set())
    with pytest.raises(pytest.fail.Exception, match="The ledger disagrees with itself"):
        ledger_plugin.check_after_test()
    monkeypatch.undo()
