"""Margin or markup, minimum charge, price step, tax, in this order; and what is printed (costing model, section 5)."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from costing.core.facts import LabourClass
from costing.core.pricing import (
    PriceBasis,
    PriceTerms,
    margin_of_markup,
    markup_of_margin,
    price,
    price_by_margin,
)
from costing.core.shown import shown_lines
from costing.core.system import CostGroup, Operation, OperationKind, System, TimeLine
from tests.costing.core.workshop import RATES, reckon, system_of


def terms(rate="0.4", basis=PriceBasis.MARGIN, **more):
    return PriceTerms(basis=basis, rate=Decimal(rate), **{name: Decimal(value) for name, value in more.items()})


def test_a_margin_is_a_share_of_the_price_and_a_markup_of_the_cost():
    assert price(Decimal(60), terms("0.4")).net == Decimal("100.00")
    assert price(Decimal(60), terms("0.4", PriceBasis.MARKUP)).net == Decimal("84.00")


def test_the_order_is_minimum_then_step_then_tax():
    # 60/0.6 = 100, raised to the minimum charge 121, up to the step of 25: 125, tax 19 %: 23.75
    step = price(Decimal(60), terms(minimum_charge="121", price_step="25", tax_rate="0.19"))
    assert (step.calculated, step.after_minimum, step.net) == (Decimal(100), Decimal(121), Decimal(125))
    assert (step.tax, step.total) == (Decimal("23.75"), Decimal("148.75"))


def test_a_step_rounds_up_even_when_little_is_missing():
    assert price(Decimal("60.01"), terms(price_step="5")).net == Decimal(105)


def test_a_price_on_the_step_stays():
    assert price(Decimal(60), terms(price_step="5")).net == Decimal(100)


def test_without_a_step_the_price_is_rounded_half_up():
    assert price(Decimal("0.125"), terms("0")).net == Decimal("0.13")
    assert price(Decimal("0.5"), terms("0"), places=0).net == Decimal(1)


def test_tax_is_rounded_half_up_and_the_total_is_the_sum_of_what_is_shown():
    step = price(Decimal("10.50"), terms("0", tax_rate="0.05"))  # 0.525
    assert (step.tax, step.total) == (Decimal("0.53"), Decimal("11.03"))


def test_what_a_price_leaves():
    step = price(Decimal(60), terms())
    assert step.contribution == 40
    assert step.margin == Decimal("0.4")
    assert price(Decimal(0), terms()).margin is None


def test_margin_and_markup_turn_into_each_other():
    assert margin_of_markup(Decimal("0.25")) == Decimal("0.2")
    assert markup_of_margin(Decimal("0.2")) == Decimal("0.25")


@pytest.mark.parametrize("function", [markup_of_margin, lambda margin: price_by_margin(Decimal(1), margin)])
def test_a_margin_of_the_whole_price_is_refused(function):
    with pytest.raises(ValueError, match="Margin is 100 %: give less than 100 %"):
        function(Decimal(1))


# Shown lines


def tight_rates():
    """Every operation below costs 0.005 of labour and half of that in overhead: the case where rounding shows."""
    labour = {"sprayer": LabourClass(key="sprayer", name="Sprayer", wage=Decimal("0.30"))}
    return replace(RATES, labour=labour, overhead_rate=Decimal(1), rework_allowance=Decimal(1))


ONE_MINUTE = Operation(name="A", kind=OperationKind.PREPARE, labour_class="sprayer", time_lines=(TimeLine(minutes=1),))


def test_a_shown_total_is_the_sum_of_the_rounded_lines():
    # Labour 0.005, rework 0.005, overhead 0.005: exactly 0.015, printed 0.01 three times and 0.03 below.
    result = reckon(system_of(ONE_MINUTE), rates=tight_rates())
    shown = shown_lines(result)
    assert result.true_cost == Decimal("0.015")
    assert {line.group: line.amount for line in shown.lines if line.amount} == {
        CostGroup.LABOUR: Decimal("0.01"),
        CostGroup.REWORK: Decimal("0.01"),
        CostGroup.OVERHEAD: Decimal("0.01"),
    }
    assert shown.true_cost == Decimal("0.03") == sum(line.amount for line in shown.lines)


def test_every_group_has_a_line_in_the_order_of_the_model():
    assert [line.group for line in shown_lines(reckon()).lines] == list(CostGroup)


def test_a_price_can_be_checked_from_the_printed_figures():
    shown = shown_lines(reckon(system_of(ONE_MINUTE), rates=tight_rates()))
    step = price(shown.true_cost, terms("0.25"))
    assert step.net == Decimal("0.04")  # 0.03 / 0.75; the exact 0.015 / 0.75 would be 0.02


def test_the_cost_per_m2_on_paper_follows_from_the_total_on_paper():
    shown = shown_lines(reckon())
    assert shown.true_cost == Decimal("190.41")
    assert shown.cost_per_m2 == Decimal("19.04")
    assert shown_lines(reckon(), minor_places=0).true_cost == sum(
        Decimal(amount) for amount in (26, 26, 16, 10, 13, 3, 4, 3, 28, 20, 4, 15, 22)
    )


def test_halves_of_a_cent_from_minutes_are_not_lost_in_floating_point():
    # 20 min at 45.135 an hour are 15.045 exactly; 20/60 first would give 15.04499… and print 15.04.
    labour = {"sprayer": LabourClass(key="sprayer", name="Sprayer", wage=Decimal("45.135"))}
    operation = replace(ONE_MINUTE, time_lines=(TimeLine(minutes=0.1), TimeLine(minutes=0.2), TimeLine(minutes=19.7)))
    shown = shown_lines(reckon(System(name="S", operations=(operation,)), rates=replace(RATES, labour=labour)))
    assert next(line.amount for line in shown.lines if line.group is CostGroup.LABOUR) == Decimal("15.05")
