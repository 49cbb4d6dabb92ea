"""Rounding half up, price steps, and splitting a sum without losing a cent."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.money import round_money, round_up_to_step, split_by_weight


@pytest.mark.parametrize(
    ("amount", "rounded"),
    [("2.675", "2.68"), ("0.125", "0.13"), ("-2.5", "-2.50"), ("91.595", "91.60"), ("-0.005", "-0.01"), ("1", "1.00")],
)
def test_halves_go_away_from_zero_as_spreadsheets_do(amount: str, rounded: str) -> None:
    assert round_money(Decimal(amount)) == Decimal(rounded)


@pytest.mark.parametrize(
    ("amount", "step", "rounded"),
    [("1201.20", "5", "1205"), ("1205", "5", "1205"), ("1201.20", "0", "1201.20"), ("10.01", "0.05", "10.05")],
)
def test_a_price_is_rounded_up_to_its_step(amount: str, step: str, rounded: str) -> None:
    assert round_up_to_step(Decimal(amount), Decimal(step)) == Decimal(rounded)


def test_a_negative_step_is_refused() -> None:
    with pytest.raises(ValueError, match="below 0"):
        round_up_to_step(Decimal(1), Decimal(-1))


@given(
    st.decimals(min_value=0, max_value=1_000_000, places=2),
    st.lists(st.decimals(min_value=0, max_value=1000, places=3), min_size=1, max_size=12).filter(lambda w: sum(w) > 0),
)
def test_a_split_adds_up_and_no_part_is_a_cent_off(amount: Decimal, weights: list[Decimal]) -> None:
    parts = split_by_weight(amount, weights)
    assert sum(parts) == round_money(amount)
    for part, weight in zip(parts, weights, strict=True):
        assert abs(part - amount * weight / sum(weights)) < Decimal("0.01")


@pytest.mark.parametrize("weights", [[], [Decimal(0)], [Decimal(2), Decimal(-1)]])
def test_a_split_without_weights_is_refused(weights: list[Decimal]) -> None:
    with pytest.raises(ValueError, match="weights"):
        split_by_weight(Decimal(1), weights)
