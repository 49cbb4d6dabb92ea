"""What an issue costs and what is left on the shelf is worth, driven through the real ledger.

Lots without an expiry date are drawn in the order in which they came in, so that the ledger's order is then first in, first
out; lots that a line names give specific identification.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import partial

import pytest

from finishing.models import User
from inventory.models import Lot, Material, Movement
from inventory.selectors import stock_lines
from inventory.services.verify import check_ledger
from tests.inventory.ledger.counter import Counter, moved
from tests.references.sources import Check, Known, Reference, check

pytestmark = [pytest.mark.django_db, pytest.mark.database]

OPENSTAX = "OpenStax, Principles of Accounting, vol. 1: Financial Accounting, section 10"
BEANCOUNT = "beancount 3.2.3, an independent engine of lots, booking method FIFO"


@dataclass(frozen=True, slots=True, kw_only=True)
class In:
    """Units that come in: how many, at what cost, on which day of July 2024, best before when."""

    units: int
    cost: str
    day: int = 1
    expires: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Out:
    """Units that go out; of which receipts, counted from 0, when somebody says."""

    units: str
    day: int = 31
    of: tuple[tuple[int, int], ...] = ()  # receipt, units


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """What came of it."""

    cost_of_issues: Decimal
    left: Decimal  # money
    last_issue: Decimal
    last_taken: list[tuple[str, Decimal]]  # lots of the last issue


def play(*events: In | Out) -> Shelf:
    """Post the events and read the values back from the ledger."""
    counter = Counter(by=User.objects.create(username="bookkeeper"))
    goods = Material.objects.create(code="GOODS", name="Goods", kind="other", stock_unit="pcs")
    lots: list[Lot] = []
    posting = None
    for event in events:
        on = date(2024, 7, event.day)
        if isinstance(event, In):
            number = f"lot {len(lots)}"
            lots.append(
                counter.receive(goods, Decimal(event.units), cost=event.cost, number=number, on=on, expires_on=event.expires)
            )
        elif event.of:
            for receipt, units in event.of:
                posting = counter.issue(goods, Decimal(units), lot=lots[receipt], on=on)
        else:
            posting = counter.issue(goods, event.units, on=on)
    assert posting is not None
    line = stock_lines(date(2024, 7, 31)).get(goods.pk)
    assert check_ledger().value == (line.value if line else 0)
    return Shelf(
        cost_of_issues=cost_of(Movement.objects.filter(posting__kind="issue")),
        left=line.value if line else Decimal(0),
        last_issue=cost_of(posting.movements.all()),
        last_taken=moved(posting),
    )


def cost_of(movements: Sequence[Movement]) -> Decimal:
    """What these movements took out, in money."""
    return sum((-move.value for move in movements), Decimal(0))


# 1 Jul 150 @ 21, 5 Jul sell 120, 10 Jul 225 @ 27, 15 Jul sell 180, 25 Jul 210 @ 33; sales 11,340.
SALES = Decimal(11340)
FIRST_IN = (
    In(units=150, cost="21", day=1),
    Out(units="120", day=5),
    In(units=225, cost="27", day=10),
    Out(units="180", day=15),
    In(units=210, cost="33", day=25),
)
SPECIFIC = (
    In(units=150, cost="21", day=1),
    Out(units="120", day=5, of=((0, 120),)),
    In(units=225, cost="27", day=10),
    Out(units="180", day=15, of=((0, 20), (1, 160))),
    In(units=210, cost="33", day=25),
)
EXERCISE = (
    In(units=420, cost="200", day=1),
    Out(units="150", day=5),
    In(units=250, cost="205", day=10),
    Out(units="275", day=15),
    In(units=200, cost="215", day=20),
    Out(units="260", day=25),
)
FEFO = (
    In(units=10, cost="40", day=1, expires=date(2024, 12, 31)),
    In(units=10, cost="50", day=2, expires=date(2024, 8, 31)),
    Out(units="12", day=3),
)


def periodic(*receipts: tuple[int, str], left: int) -> tuple[In | Out, ...]:
    """All receipts, then one issue that leaves so many units."""
    total = sum(units for units, _ in receipts)
    arrivals = [In(units=units, cost=cost, day=day) for day, (units, cost) in enumerate(receipts, start=1)]
    return (*arrivals, Out(units=str(total - left)))


def value(events: tuple[In | Out, ...], name: str) -> Decimal:
    """One figure of what came of the events."""
    found: Decimal = getattr(play(*events), name)
    return found


def margin(events: tuple[In | Out, ...], sales: Decimal) -> Decimal:
    """Sales less the cost of what was issued."""
    return sales - play(*events).cost_of_issues


def figure(
    name: str, quantity: str, expected: str, source: str, known: Known, compute: Callable[[], Decimal], tolerance: float = 0
) -> Check:
    """One line of the table below, exact unless said otherwise."""
    return check(name, quantity, Decimal(expected), tolerance, source, known, compute)


CHECKS: list[Check] = [
    figure(
        "lots-fifo-cost",
        "first in, first out: 300 of 585 units issued",
        "7200",
        f"{OPENSTAX}.3, perpetual FIFO: cost of goods sold 7,200",
        Known.READ,
        partial(value, FIRST_IN, "cost_of_issues"),
    ),
    figure(
        "lots-fifo-left",
        "first in, first out: 285 units left",
        "8955",
        f"{OPENSTAX}.2 and 10.3: ending inventory 8,955 in the text; some figure captions show 8,895",
        Known.READ,
        partial(value, FIRST_IN, "left"),
    ),
    figure(
        "lots-fifo-margin",
        "first in, first out: gross margin on sales of 11,340",
        "4140",
        f"{OPENSTAX}.2: gross margin 4,140",
        Known.READ,
        partial(margin, FIRST_IN, SALES),
    ),
    figure(
        "lots-specific-cost",
        "named lots: 120 of the first, then 20 of the first and 160 of the second",
        "7260",
        f"{OPENSTAX}.3, specific identification: cost of goods sold 7,260",
        Known.READ,
        partial(value, SPECIFIC, "cost_of_issues"),
    ),
    figure(
        "lots-specific-left",
        "named lots: 285 units left",
        "8895",
        f"{OPENSTAX}.3, specific identification: ending inventory 8,895",
        Known.READ,
        partial(value, SPECIFIC, "left"),
    ),
    figure(
        "lots-specific-margin",
        "named lots: gross margin on sales of 11,340",
        "4080",
        f"{OPENSTAX}.3, specific identification: gross margin 4,080",
        Known.READ,
        partial(margin, SPECIFIC, SALES),
    ),
    figure(
        "lots-fifo-split",
        "issue of 180 when 30 @ 21 and 225 @ 27 are there",
        "4680",
        f"{OPENSTAX}.3: 30 @ 21 + 150 @ 27 = 4,680 (a caption prints 360 for 30 × 21)",
        Known.READ,
        lambda: value(FIRST_IN[:4], "last_issue"),
    ),
    figure(
        "lots-exercise-cost",
        "420 @ 200, −150, 250 @ 205, −275, 200 @ 215, −260",
        "138475",
        f"{OPENSTAX}, exercise B on perpetual FIFO: data read, answer computed",
        Known.RELATION,
        partial(value, EXERCISE, "cost_of_issues"),
    ),
    figure(
        "lots-exercise-left",
        "the same, 185 units left",
        "39775",
        f"{OPENSTAX}, exercise B on perpetual FIFO: data read, answer computed",
        Known.RELATION,
        partial(value, EXERCISE, "left"),
    ),
    figure(
        "lots-exercise-margin",
        "the same, sales 290,585",
        "152110",
        f"{OPENSTAX}, exercise B on perpetual FIFO: data read, answer computed",
        Known.RELATION,
        partial(margin, EXERCISE, Decimal(290585)),
    ),
    figure(
        "lots-fifo-left-50",
        "150 @ 10, 160 @ 12, 130 @ 15; 50 left",
        "750",
        f"{OPENSTAX}, exercise on ending inventory: data read, answer computed",
        Known.RELATION,
        lambda: value(periodic((150, "10"), (160, "12"), (130, "15"), left=50), "left"),
    ),
    figure(
        "lots-fifo-left-900",
        "1050 @ 22, 1020 @ 23, 1300 @ 26, 1200 @ 27; 900 left",
        "24300",
        f"{OPENSTAX}, exercise on ending inventory: data read, answer computed",
        Known.RELATION,
        lambda: value(periodic((1050, "22"), (1020, "23"), (1300, "26"), (1200, "27"), left=900), "left"),
    ),
    figure(
        "lots-fefo-cost",
        "10 @ 40 good until 31 Dec, 10 @ 50 good until 31 Aug, issue of 12 first expired first out",
        "580",
        f"{BEANCOUNT}, with the expiry as the lot's date: 580 (by date of receipt it gives 500)",
        Known.RELATION,
        partial(value, FEFO, "cost_of_issues"),
    ),
    figure(
        "lots-fefo-left",
        "the same, 8 left of the lot that lasts longer",
        "320",
        f"{BEANCOUNT}, with the expiry as the lot's date: 8 @ 40 left",
        Known.RELATION,
        partial(value, FEFO, "left"),
    ),
    figure(
        "lots-fraction",
        "0.333 of a lot at 12.345",
        "4.110885",
        f"{BEANCOUNT}: 4.110885, not rounded",
        Known.RELATION,
        lambda: value((In(units=1, cost="12.345"), Out(units="0.333")), "cost_of_issues"),
    ),
]
REFERENCES: list[Reference] = [entry.reference for entry in CHECKS]


@pytest.mark.parametrize("entry", CHECKS, ids=[reference.id for reference in REFERENCES])
def test_the_ledger_values_lots_as_published(entry: Check) -> None:
    entry.run()


def test_the_issue_of_15_july_takes_30_of_the_first_lot_and_150_of_the_second() -> None:
    """OpenStax, section 10.3."""
    assert play(*FIRST_IN).last_taken == [("lot 0", -30), ("lot 1", -150)]


def test_first_expired_first_out_leaves_the_lot_that_lasts_longer() -> None:
    """beancount 3.2.3, FIFO with the expiry as the lot's date: 10 of the second lot, 2 of the first."""
    assert play(*FEFO).last_taken == [("lot 1", -10), ("lot 0", -2)]


def test_lots_of_the_same_day_go_in_the_order_of_the_books() -> None:
    """beancount 3.2.3: lots of one date are taken in the order of the file."""
    shelf = play(In(units=5, cost="2"), In(units=5, cost="1"), Out(units="6", day=2))
    assert shelf.last_taken == [("lot 0", -5), ("lot 1", -1)]
