"""What generated tests draw from: quantities and costs as the ledger keeps them, days, and lots."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from hypothesis import strategies as st

from inventory.core.lots import LotView

STEPS = 1_000_000  # of the ledger in one stock unit
DAY_ONE = date(2030, 1, 1)


def quantities(*, least: int = 1, most: int = 50 * STEPS) -> st.SearchStrategy[Decimal]:
    """Exact quantities, given by their number of steps; round ones and single steps come often."""
    round_ones = st.sampled_from([Decimal(1), Decimal("0.5"), Decimal("0.1"), Decimal("0.3"), Decimal("0.000001"), Decimal(5)])
    inside = round_ones.filter(lambda value: least <= value * STEPS <= most)
    return st.one_of(inside, st.integers(least, most).map(lambda steps: Decimal(steps).scaleb(-6)))


def costs() -> st.SearchStrategy[Decimal]:
    """Money per stock unit, from 0."""
    return st.integers(0, 500 * STEPS).map(lambda steps: Decimal(steps).scaleb(-6))


def days(*, first: date = DAY_ONE, spread: int = 60) -> st.SearchStrategy[date]:
    """Days of a stretch of time."""
    return st.integers(0, spread).map(lambda number: first + timedelta(days=number))


@st.composite
def lot_views(draw: st.DrawFn, lot_id: int) -> LotView:
    """A lot: full or empty, opened or not, with or without an expiry date or an open life, in quarantine or not."""
    return LotView(
        lot_id=lot_id,
        on_hand=draw(st.one_of(st.just(Decimal(0)), quantities())),
        received_on=draw(days()),
        expires_on=draw(st.none() | days(spread=120)),
        opened_on=draw(st.none() | days()),
        open_life_days=draw(st.none() | st.integers(0, 60)),
        quarantined=draw(st.integers(0, 4).map(lambda number: number == 0)),
    )


def shelves() -> st.SearchStrategy[list[LotView]]:
    """Up to eight lots of one material, numbered apart and in no order."""
    return st.lists(st.integers(1, 99), unique=True, max_size=8).flatmap(
        lambda numbers: st.tuples(*(lot_views(number) for number in numbers)).map(list)
    )
