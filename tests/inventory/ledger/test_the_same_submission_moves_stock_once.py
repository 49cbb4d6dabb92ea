"""A double tap, a retry after a lost connection, a form sent again from the history: stock moves once."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4

import pytest

from finishing.models import User
from inventory.choices import WriteOffCause
from inventory.errors import KeyUsedError, NotEnoughStockError
from inventory.models import Location, Lot, Material, Movement, Posting
from inventory.services import ledger
from inventory.services.ledger import IssueLine, ReceiptLine
from tests.inventory.ledger.counter import Counter, on_hand, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]

Verb = Callable[..., Posting]


@pytest.fixture
def lot(counter: Counter, clear: Material) -> Lot:
    """Ten litres, of which four are out."""
    lot = counter.receive(clear, "10")
    counter.issue(clear, "4")
    return lot


def submissions(lot: Lot) -> dict[str, tuple[Verb, dict[str, Any]]]:
    """One of each kind, without key and person."""
    line = ReceiptLine(material=lot.material, quantity=Decimal(3), unit_cost=Decimal(9), lot_number="B2")
    issued = Posting.objects.filter(kind="issue").earliest("pk")
    return {
        "receipt": (ledger.receive, {"on": today(), "supplier": None, "reference": "DN", "lines": [line]}),
        "issue": (
            ledger.issue,
            {"on": today(), "reference": "", "lines": [IssueLine(material=lot.material, quantity=Decimal(1))]},
        ),
        "return": (ledger.return_stock, {"on": today(), "lot": lot, "quantity": Decimal(1), "reference": ""}),
        "write_off": (
            ledger.write_off,
            {"on": today(), "lot": lot, "quantity": Decimal(1), "cause": WriteOffCause.LOST, "reason": ""},
        ),
        "reversal": (ledger.reverse, {"on": today(), "posting": issued, "reason": "wrong"}),
    }


@pytest.mark.parametrize("kind", ["receipt", "issue", "return", "write_off", "reversal"])
def test_a_second_arrival_gets_the_first_answer(finisher: User, lot: Lot, kind: str) -> None:
    verb, submitted = submissions(lot)[kind]
    key = uuid4()
    first = verb(key=key, by=finisher, **submitted)
    moves, balance, lots = Movement.objects.count(), on_hand(lot), Lot.objects.count()
    assert verb(key=key, by=finisher, **submitted) == first
    assert first.kind == kind
    assert (Movement.objects.count(), on_hand(lot), Lot.objects.count()) == (moves, balance, lots)


@pytest.mark.parametrize("kind", ["receipt", "issue", "return", "write_off", "reversal"])
def test_a_key_belongs_to_one_person(finisher: User, mate: User, lot: Lot, kind: str) -> None:
    verb, submitted = submissions(lot)[kind]
    key = uuid4()
    verb(key=key, by=finisher, **submitted)
    with pytest.raises(KeyUsedError, match="Somebody else has sent this form") as refused:
        verb(key=key, by=mate, **submitted)
    assert refused.value.field == "key"


def test_a_key_belongs_to_one_action(finisher: User, lot: Lot) -> None:
    key = uuid4()
    issue, submitted = submissions(lot)["issue"]
    issue(key=key, by=finisher, **submitted)
    give_back, other = submissions(lot)["return"]
    with pytest.raises(KeyUsedError, match="has been used for something else"):
        give_back(key=key, by=finisher, **other)


CHANGED: dict[str, dict[str, Any]] = {
    "receipt": {"reference": "DN 2"},
    "issue": {"reference": "another job"},
    "return": {"quantity": Decimal(2)},
    "write_off": {"cause": WriteOffCause.SPILLED},
    "reversal": {"reason": "other words"},
}


@pytest.mark.parametrize("kind", CHANGED)
def test_a_form_that_was_changed_after_it_was_booked_is_not_taken_for_the_first(finisher: User, lot: Lot, kind: str) -> None:
    """Back, another figure, send: silence would let the person believe that it was booked."""
    verb, submitted = submissions(lot)[kind]
    key = uuid4()
    first = verb(key=key, by=finisher, **submitted)
    moves = Movement.objects.count()
    with pytest.raises(KeyUsedError, match="booked already, with other figures") as refused:
        verb(key=key, by=finisher, **{**submitted, **CHANGED[kind]})
    assert str(first) in str(refused.value)
    assert Movement.objects.count() == moves


@pytest.mark.parametrize(
    "change", [{"quantity": Decimal(2)}, {"unit_cost": Decimal(8)}, {"lot_number": "B3"}, {"location": "shelf"}]
)
def test_every_figure_of_a_line_counts(finisher: User, lot: Lot, change: dict[str, Any]) -> None:
    if "location" in change:
        change = {"location": Location.objects.create(name=change["location"])}
    verb, submitted = submissions(lot)["receipt"]
    key = uuid4()
    verb(key=key, by=finisher, **submitted)
    with pytest.raises(KeyUsedError):
        verb(key=key, by=finisher, **{**submitted, "lines": [dataclasses.replace(submitted["lines"][0], **change)]})


def test_the_same_figure_written_otherwise_is_the_same(finisher: User, lot: Lot) -> None:
    verb, submitted = submissions(lot)["return"]
    key = uuid4()
    first = verb(key=key, by=finisher, **submitted)
    assert verb(key=key, by=finisher, **{**submitted, "quantity": Decimal("1.000"), "reference": " "}) == first


def test_a_refused_submission_does_not_use_up_its_key(finisher: User, counter: Counter, lot: Lot) -> None:
    key = uuid4()

    def take_eight() -> Posting:
        line = IssueLine(material=lot.material, quantity=Decimal(8))
        return ledger.issue(key=key, by=finisher, on=today(), reference="", lines=[line])

    with pytest.raises(NotEnoughStockError):
        take_eight()
    assert not Posting.objects.filter(key=key).exists()
    counter.receive(lot.material, "2")
    assert take_eight().key == key


def test_a_repeated_issue_is_answered_even_when_the_shelf_is_empty_by_now(finisher: User, counter: Counter, lot: Lot) -> None:
    verb, submitted = submissions(lot)["issue"]
    key = UUID(int=7)
    first = verb(key=key, by=finisher, **submitted)
    counter.issue(lot.material, "5")
    assert verb(key=key, by=finisher, **submitted) == first
