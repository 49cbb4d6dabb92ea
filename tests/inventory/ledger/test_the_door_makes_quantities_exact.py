"""The ledger's door: quantities become whole steps, nonsense is refused in words."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from finishing.fields import STEP
from inventory.errors import QuantityError, amount
from inventory.models import Material
from inventory.services.checks import LARGEST, exact_cost, exact_quantity
from tests.inventory.ledger.counter import Counter, moved, on_hand


@pytest.mark.parametrize(
    ("given", "kept"),
    [("1", "1"), ("0.0000005", "0.000001"), ("1.0000014", "1.000001"), ("2.9999999", "3"), ("1000000000", "1000000000")],
)
def test_a_quantity_is_kept_in_whole_steps_rounded_half_up(given: str, kept: str) -> None:
    assert exact_quantity(Decimal(given)) == Decimal(kept)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        (Decimal(0), "A quantity is above 0"),
        (Decimal("-0"), "A quantity is above 0"),
        (Decimal("-1"), "A quantity is above 0"),
        (Decimal("-0.0000001"), "A quantity is above 0"),
        (Decimal("0.0000004"), "less than the ledger can keep"),
        (Decimal("NaN"), "must be an exact number; “NaN” is not one"),
        (Decimal("sNaN"), "must be an exact number"),
        (Decimal("Infinity"), "must be an exact number"),
        (Decimal("1000000000.1"), "more than 1000000000 can’t be right"),
        (Decimal("1e400"), "more than 1000000000 can’t be right"),
        (1.5, "must be an exact number"),
        ("1", "must be an exact number"),
        (True, "must be an exact number"),
        (None, "must be an exact number"),
    ],
)
def test_what_is_no_quantity_is_refused(given: Decimal, words: str) -> None:
    with pytest.raises(QuantityError, match=words) as refused:
        exact_quantity(given)
    assert refused.value.field == "quantity"


def test_a_whole_number_is_exact() -> None:
    assert exact_quantity(3) == Decimal(3)  # type: ignore[arg-type]


def test_something_free_of_charge_has_a_cost_of_nothing() -> None:
    assert exact_cost(Decimal(0)) == 0
    with pytest.raises(QuantityError, match="A cost can’t be below 0"):
        exact_cost(Decimal("-0.01"))


@given(st.decimals(min_value=STEP, max_value=LARGEST, places=9))
def test_a_kept_quantity_lies_within_half_a_step_of_what_was_given(value: Decimal) -> None:
    kept = exact_quantity(value)
    assert abs(kept - value) <= STEP / 2
    assert kept % STEP == 0


@pytest.mark.parametrize(("value", "text"), [("2.500000", "2.5"), ("40", "40"), ("0.000001", "0.000001"), ("1E+2", "100")])
def test_amounts_are_written_plainly(value: str, text: str) -> None:
    assert amount(Decimal(value)) == text


@pytest.mark.database
@pytest.mark.django_db
def test_what_is_posted_is_what_is_kept(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "1.00000049")
    assert on_hand(lot) == 1
    assert moved(counter.issue(clear, Decimal(1) / 3)) == [("A1", Decimal("-0.333333"))]
    assert on_hand(lot) == Decimal("0.666667")
