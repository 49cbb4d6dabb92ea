"""``expiry_allowances``: the share of a material's value that went out of date over the last 12 months."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from inventory.choices import WriteOffCause
from inventory.models import Material
from inventory.selectors import expiry_allowances
from tests.inventory.ledger.counter import Counter, today

pytestmark = [pytest.mark.django_db, pytest.mark.database]


def test_out_of_date_write_offs_by_value_make_the_allowance(counter: Counter, clear: Material, thinner: Material) -> None:
    """x = 40 / (20 + 36 + 40): two litres at 10 and three at 12 used, two at 20 gone out of date."""
    first = counter.receive(clear, "5", cost="10", on=today(-300))
    second = counter.receive(clear, "5", cost="12", on=today(-300))
    third = counter.receive(clear, "5", cost="20", on=today(-300))
    counter.receive(thinner, "5", on=today(-300))
    counter.issue(clear, "3", lot=first, on=today(-200))
    counter.give_back(first, "1", on=today(-199))
    counter.issue(clear, "3", lot=second, on=today(-100))
    counter.issue(thinner, "1", on=today(-100))
    counter.write_off(third, "2", cause=WriteOffCause.EXPIRED, on=today(-50))
    counter.write_off(third, "1", cause=WriteOffCause.SPILLED, on=today(-50))
    counter.reverse(counter.write_off(third, "1", cause=WriteOffCause.EXPIRED, on=today(-50)), on=today())
    counter.reverse(counter.issue(clear, "1", lot=second, on=today(-50)), on=today())
    assert expiry_allowances(today()) == {clear.pk: Decimal(40) / Decimal(96)}


def test_what_is_older_than_a_year_or_still_to_come_does_not_count(counter: Counter, clear: Material) -> None:
    lot = counter.receive(clear, "50", on=today(-500))
    counter.issue(clear, "3", on=today(-400))
    wrong = counter.write_off(lot, "7", cause=WriteOffCause.EXPIRED, on=today(-400))
    counter.issue(clear, "3", on=today(-100))
    counter.write_off(lot, "1", cause=WriteOffCause.EXPIRED, on=today(-10))
    counter.write_off(lot, "9", cause=WriteOffCause.EXPIRED, on=today())
    counter.reverse(wrong, on=today(-5))
    assert expiry_allowances(today(-1)) == {clear.pk: Decimal("0.25")}


def test_without_issues_or_without_losses_there_is_no_allowance(counter: Counter, clear: Material, thinner: Material) -> None:
    counter.write_off(counter.receive(clear, "5"), "5", cause=WriteOffCause.EXPIRED)
    counter.receive(thinner, "5")
    counter.issue(thinner, "5")
    assert expiry_allowances(today()) == {}


@pytest.mark.parametrize("day", [date(2028, 2, 29), date(2028, 3, 1)])
def test_a_leap_day_has_a_year_before_it(day: date) -> None:
    assert expiry_allowances(day) == {}
