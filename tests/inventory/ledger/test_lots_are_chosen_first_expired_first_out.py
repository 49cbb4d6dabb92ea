"""The choice of lots, as arithmetic: properties over any shelf."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.lots import LotView, ShortageError, choose_lots, expiry, first_expired_first, last_day_of_use
from tests.strategies import DAY_ONE, days, quantities, shelves

LATER = DAY_ONE + timedelta(days=30)


def lot(number: int, on_hand: str, expires: int | None = None, received: int = 0, **more: object) -> LotView:
    """A lot that came in and expires so many days after the first day."""
    return LotView(
        lot_id=number,
        on_hand=Decimal(on_hand),
        received_on=DAY_ONE + timedelta(days=received),
        expires_on=None if expires is None else DAY_ONE + timedelta(days=expires),
        **more,  # type: ignore[arg-type]
    )


def taken(lots: list[LotView], quantity: str, on: date = LATER) -> list[tuple[int, Decimal]]:
    """Lot numbers and quantities."""
    return [(take.lot_id, take.quantity) for take in choose_lots(lots, quantity=Decimal(quantity), on=on)]


def test_the_one_that_expires_first_goes_first() -> None:
    assert taken([lot(1, "5", expires=90), lot(2, "5", expires=60)], "7") == [(2, 5), (1, 2)]


def test_without_an_expiry_it_comes_last() -> None:
    assert taken([lot(1, "5"), lot(2, "5", expires=9999)], "6") == [(2, 5), (1, 1)]


def test_of_the_same_expiry_the_older_delivery_goes_first_then_the_lower_number() -> None:
    lots = [lot(3, "1", expires=60, received=2), lot(2, "1", expires=60, received=5), lot(1, "1", expires=60, received=5)]
    assert [number for number, _ in taken(lots, "3")] == [3, 1, 2]


def test_an_opened_container_counts_by_its_open_life() -> None:
    opened = lot(1, "5", expires=300, opened_on=LATER - timedelta(days=5), open_life_days=10)
    assert taken([lot(2, "5", expires=60), opened], "6") == [(1, 5), (2, 1)]


@pytest.mark.parametrize(("ends", "is_usable"), [(30, True), (29, False)])
def test_the_last_day_itself_is_a_day_of_use(ends: int, is_usable: bool) -> None:
    assert lot(1, "5", expires=ends).usable(LATER) is is_usable
    assert lot(1, "5", opened_on=DAY_ONE, open_life_days=ends).usable(LATER) is is_usable


def test_a_lot_is_not_there_before_it_came_in() -> None:
    assert not lot(1, "5", received=31).usable(LATER)


def test_a_shortage_says_what_is_usable() -> None:
    lots = [lot(1, "5", expires=20), lot(2, "1"), lot(3, "9", quarantined=True), lot(4, "7", received=31)]
    with pytest.raises(ShortageError) as short:
        choose_lots(lots, quantity=Decimal(2), on=LATER)
    assert (short.value.wanted, short.value.usable) == (2, 1)


@pytest.mark.parametrize("quantity", ["0", "-1", "NaN", "Infinity"])
def test_only_a_real_quantity_can_be_drawn(quantity: str) -> None:
    with pytest.raises(ValueError, match="can’t draw"):
        choose_lots([lot(1, "5")], quantity=Decimal(quantity), on=LATER)


@pytest.mark.parametrize("on_hand", ["-1", "NaN"])
def test_a_lot_can_not_hold_less_than_nothing(on_hand: str) -> None:
    with pytest.raises(ValueError, match="can’t hold"):
        lot(1, on_hand)


def test_a_life_beyond_the_calendar_ends_with_it() -> None:
    assert last_day_of_use(expires_on=None, opened_on=DAY_ONE, open_life_days=2**31) == date.max
    assert expiry(made_on=DAY_ONE, shelf_life_days=2**31) == date.max


@given(shelf=shelves(), quantity=quantities(), on=days(spread=120))
def test_any_shelf_gives_the_whole_quantity_from_usable_lots_in_order_or_says_what_it_has(
    shelf: list[LotView], quantity: Decimal, on: date
) -> None:
    by_number = {view.lot_id: view for view in shelf}
    usable = sum((view.on_hand for view in shelf if view.usable(on)), Decimal(0))
    if usable < quantity:
        with pytest.raises(ShortageError) as short:
            choose_lots(shelf, quantity=quantity, on=on)
        assert short.value.usable == usable
        return
    takes = choose_lots(shelf, quantity=quantity, on=on)
    assert sum(take.quantity for take in takes) == quantity
    assert all(0 < take.quantity <= by_number[take.lot_id].on_hand for take in takes)
    assert all(by_number[take.lot_id].usable(on) for take in takes)
    # Every lot but the last is emptied, and no usable lot that was left alone expires before one that was taken.
    assert all(take.quantity == by_number[take.lot_id].on_hand for take in takes[:-1])
    chosen = {take.lot_id for take in takes}
    last = max(by_number[number].usable_until or date.max for number in chosen)
    left_alone = [view for view in shelf if view.lot_id not in chosen and view.usable(on) and view.on_hand]
    assert all((view.usable_until or date.max) >= last for view in left_alone)


@given(shelf=shelves(), data=st.data())
def test_the_order_in_which_lots_are_listed_does_not_matter(shelf: list[LotView], data: st.DataObject) -> None:
    assert first_expired_first(data.draw(st.permutations(shelf))) == first_expired_first(shelf)
