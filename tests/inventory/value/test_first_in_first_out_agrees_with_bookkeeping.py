"""First in, first out: the same receipts and issues, booked in a double-entry ledger and in ours, are worth the same every day.

Lots without an expiry date are drawn in the order in which they came in, which is first in, first out.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

import pytest
from beancount import loader
from beancount.core import convert, inventory
from beancount.core.data import Transaction

from finishing.models import User
from inventory.models import Material
from inventory.services.verify import check_ledger
from inventory.value import stock_value
from tests.inventory.ledger.counter import Counter

pytestmark = [pytest.mark.django_db, pytest.mark.database]

D = Decimal
FIRST = date(2024, 7, 1)

OPENING = '{on} open Assets:Stock GOODS "FIFO"\n{on} open Equity:Other\n'
RECEIPT = '{on} * "in"\n  Assets:Stock  {units} GOODS {{{cost} USD}}\n  Equity:Other\n'
ISSUE = '{on} * "out"\n  Assets:Stock  -{units} GOODS {{}}\n  Equity:Other\n'


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """Units that come in at a cost, or go out where there is none."""

    on: date
    units: Decimal
    cost: Decimal | None = None


def july(day: int, units: str, cost: str | None = None) -> Event:
    return Event(on=date(2024, 7, day), units=D(units), cost=None if cost is None else D(cost))


# OpenStax, Principles of Accounting, vol. 1: Financial Accounting, sections 10.2 and 10.3, perpetual FIFO.
TEXTBOOK = (july(1, "150", "21"), july(5, "120"), july(10, "225", "27"), july(15, "180"), july(25, "210", "33"))


def in_books(events: Sequence[Event]) -> dict[date, Decimal]:
    """By day with an event: what the stock is worth at cost, as beancount 3.2.3 books the events first in, first out."""
    text = OPENING.format(on=FIRST) + "".join(
        (ISSUE if event.cost is None else RECEIPT).format(on=event.on, units=event.units, cost=event.cost) for event in events
    )
    entries, errors, _ = loader.load_string(text)
    assert not errors
    stock, worth = inventory.Inventory(), {}
    for entry in entries:
        if isinstance(entry, Transaction):
            for posting in entry.postings:
                if posting.account == "Assets:Stock":
                    stock.add_position(posting)
            worth[entry.date] = stock.reduce(convert.get_cost).get_currency_units("USD").number or D(0)
    return worth


def in_stock(events: Sequence[Event]) -> dict[date, Decimal]:
    """The same, booked by our ledger and read back for each day after all was booked."""
    counter = Counter(by=User.objects.create(username="bookkeeper"))
    goods = Material.objects.create(code="GOODS", name="Goods", kind="other", stock_unit="pcs")
    for number, event in enumerate(events):
        if event.cost is None:
            counter.issue(goods, event.units, on=event.on)
        else:
            counter.receive(goods, event.units, cost=event.cost, number=f"lot {number}", on=event.on)
    return {event.on: stock_value(event.on).total for event in events}


def test_the_textbook_s_month_is_worth_what_it_prints() -> None:
    """Published: 8,955 left after 25 July, and on 15 July 30 units at 21 and 150 at 27 go, which leaves 75 at 27."""
    found = in_stock(TEXTBOOK)
    assert found[date(2024, 7, 25)] == 8955 == check_ledger().value
    assert found[date(2024, 7, 15)] == 75 * 27
    assert found == in_books(TEXTBOOK)
    purchases = sum(event.units * event.cost for event in TEXTBOOK if event.cost is not None)
    assert purchases - found[date(2024, 7, 25)] == 7200  # published: cost of goods sold


@pytest.mark.parametrize("seed", range(5))
def test_any_receipts_and_issues_are_worth_the_same_every_day(seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311 - the same bookings in every run
    events, left, on = [], D(0), FIRST
    for _ in range(40):
        on += timedelta(days=chance.randrange(1, 4))
        units = D(chance.randrange(1, 400_000)).scaleb(-chance.choice([0, 2, 4]))
        if left and chance.random() < 0.55:
            units = min(units, left) if chance.random() < 0.9 else left
            events.append(Event(on=on, units=units))
            left -= units
        else:
            events.append(Event(on=on, units=units, cost=D(chance.randrange(1, 90_000)).scaleb(-3)))
            left += units
    found, books = in_stock(events), in_books(events)
    assert len(books) == 40
    assert found == books
