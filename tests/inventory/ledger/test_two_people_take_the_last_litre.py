"""Races: real threads, each with its own connection, against the real database."""

from __future__ import annotations

from collections import Counter as Tally
from collections.abc import Callable, Sequence
from decimal import Decimal
from threading import Barrier, Thread
from uuid import UUID, uuid4

import pytest
from django.db import connection

from finishing.models import User
from inventory.errors import AlreadyReversedError, NotEnoughStockError, ReturnTooLargeError, StockError
from inventory.models import Lot, Material, Movement, Posting
from inventory.services import ledger
from inventory.services.bookings import book
from inventory.services.ledger import IssueLine
from inventory.services.verify import check_ledger
from tests.inventory.ledger.counter import Counter, on_hand, today

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.database]

Outcome = Posting | BaseException
PATIENCE = 60  # seconds until a thread counts as stuck


def at_once(acts: Sequence[Callable[[], Posting]]) -> list[Outcome]:
    """Run all acts at the same moment, each in a thread; give what each returned or raised."""
    start = Barrier(len(acts))
    outcomes: list[Outcome | None] = [None] * len(acts)

    def run(place: int) -> None:
        try:
            connection.ensure_connection()
            start.wait(PATIENCE)
            outcomes[place] = acts[place]()
        except BaseException as error:  # noqa: BLE001 - whatever a thread raises is what the test looks at
            outcomes[place] = error
        finally:
            connection.close()

    threads = [Thread(target=run, args=(place,), daemon=True) for place in range(len(acts))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(PATIENCE)
    assert not any(thread.is_alive() for thread in threads), "a posting is stuck"
    return [outcome for outcome in outcomes if outcome is not None]


def tally(outcomes: Sequence[Outcome]) -> dict[str, int]:
    """How many of each kind of outcome; anything unforeseen shows by its class and words."""
    expected = (Posting, StockError)
    return dict(Tally(type(outcome).__name__ if isinstance(outcome, expected) else repr(outcome) for outcome in outcomes))


@pytest.mark.parametrize("attempt", range(5))
def test_one_gets_the_last_litre_and_the_other_a_clear_refusal(
    finisher: User, mate: User, counter: Counter, clear: Material, attempt: int
) -> None:
    lot = counter.receive(clear, "1")
    outcomes = at_once([lambda by=by: Counter(by=by).issue(clear, "1") for by in (finisher, mate)])  # type: ignore[misc]
    assert tally(outcomes) == {"Posting": 1, "NotEnoughStockError": 1}
    refusal = next(outcome for outcome in outcomes if isinstance(outcome, NotEnoughStockError))
    assert str(refusal) == "No Clear coat can be used; 1 L is wanted."
    assert on_hand(lot) == 0


def test_eight_who_want_a_litre_of_five(counter: Counter, clear: Material) -> None:
    lots = [counter.receive(clear, "2.5", expires_on=today(days)) for days in (10, 20)]
    outcomes = at_once([lambda: counter.issue(clear, "1")] * 8)
    assert tally(outcomes) == {"Posting": 5, "NotEnoughStockError": 3}
    assert [on_hand(lot) for lot in lots] == [0, 0]
    assert check_ledger().disagreements == ()


def test_eight_who_name_the_same_lot(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    counter.receive(clear, "50")
    outcomes = at_once([lambda: counter.issue(clear, "1", lot=lot)] * 8)
    assert tally(outcomes) == {"Posting": 5, "NotEnoughStockError": 3}


def test_a_double_tap_posts_once(counter: Counter, finisher: User, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    key = uuid4()

    def tap() -> Posting:
        line = IssueLine(material=clear, quantity=Decimal(1))
        return ledger.issue(key=key, by=finisher, on=today(), lines=[line], reference="job")

    outcomes = at_once([tap] * 6)
    assert tally(outcomes) == {"Posting": 6}
    assert len({outcome.pk for outcome in outcomes if isinstance(outcome, Posting)}) == 1
    assert on_hand(lot) == 4


def test_a_posting_is_reversed_once_by_however_many(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "5")
    posting = counter.issue(clear, "2")
    outcomes = at_once([lambda: counter.reverse(posting)] * 4)
    assert tally(outcomes) == {"Posting": 1, AlreadyReversedError.__name__: 3}
    assert on_hand(lot) == 5


def test_no_more_comes_back_than_is_out(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "9")
    counter.issue(clear, "3")
    outcomes = at_once([lambda: counter.give_back(lot, "1")] * 6)
    assert tally(outcomes) == {"Posting": 3, ReturnTooLargeError.__name__: 3}
    assert on_hand(lot) == 9


def test_an_issue_and_a_return_of_it_do_not_both_undo_it(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "9")
    posting = counter.issue(clear, "3")
    outcomes = at_once([lambda: counter.reverse(posting), lambda: counter.give_back(lot, "3")])
    assert sum(isinstance(outcome, Posting) for outcome in outcomes) == 1
    assert sum(isinstance(outcome, StockError) for outcome in outcomes) == 1
    assert on_hand(lot) == 9


def test_lines_in_opposite_order_do_not_wait_for_each_other_for_ever(
    counter: Counter, finisher: User, clear: Material, thinner: Material
) -> None:
    lots = [counter.receive(material, "100") for material in (thinner, clear, thinner, clear)]

    def mix(*order: Material) -> Posting:
        lines = [IssueLine(material=material, quantity=Decimal(1)) for material in order]
        return ledger.issue(key=uuid4(), by=finisher, on=today(), lines=lines, reference="mix")

    outcomes = at_once([lambda: mix(clear, thinner), lambda: mix(thinner, clear)] * 4)
    assert tally(outcomes) == {"Posting": 8}
    assert sum(on_hand(lot) for lot in lots) == 400 - 16


def test_all_kinds_at_once_leave_a_ledger_that_agrees(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "6", expires_on=today(30))
    issued = counter.issue(clear, "3")
    booking = book(material=clear, quantity=Decimal(9), needed_on=today(), holder="J-1")
    acts: list[Callable[[], Posting]] = [
        lambda: counter.issue(clear, "2", booking=booking),
        lambda: counter.issue(clear, "2", lot=lot),
        lambda: counter.give_back(lot, "2"),
        lambda: counter.write_off(lot, "2"),
        lambda: counter.reverse(issued),
        lambda: Posting.objects.get(movements__lot=counter.receive(clear, "1")),
    ]
    outcomes = at_once(acts * 2)
    assert len(outcomes) == 12
    assert all(isinstance(outcome, Posting | StockError) for outcome in outcomes), tally(outcomes)
    assert check_ledger().disagreements == ()
    assert sum(lot.on_hand for lot in Lot.objects.all()) == Movement.objects.total()


def test_the_same_key_for_two_actions_at_once_moves_one(counter: Counter, finisher: User, clear: Material) -> None:
    lot = counter.receive(clear, "9")
    key = UUID(int=1)
    line = IssueLine(material=clear, quantity=Decimal(1))
    outcomes = at_once(
        [
            lambda: ledger.issue(key=key, by=finisher, on=today(), lines=[line], reference="a"),
            lambda: ledger.issue(key=key, by=finisher, on=today(), lines=[line], reference="b"),
        ]
    )
    assert tally(outcomes) == {"Posting": 1, "KeyUsedError": 1}
    assert on_hand(lot) == 8
