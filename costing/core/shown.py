"""What goes on paper: rounded lines and the totals they add up to (costing model, introduction). Imports no Django."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from costing.core.checks import to_decimal
from costing.core.result import Estimate
from costing.core.system import CostGroup
from finishing.money import round_money


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownLine:
    """One cost group as it is printed."""

    group: CostGroup
    amount: Decimal  # rounded half up to the minor unit


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownCost:
    """The cost of an estimate as every page, PDF and spreadsheet prints it."""

    lines: tuple[ShownLine, ...]  # all groups in the model's order, those of 0 too
    true_cost: Decimal  # sum of the lines: the cost that prices start from
    cost_per_m2: Decimal | None  # the shown true cost over the area, rounded; None without area


def shown_lines(estimate: Estimate, minor_places: int = 2) -> ShownCost:
    """Each cost group rounded half up to the currency's minor unit, and their sum.

    The sum of the rounded lines is *the* true cost of documents: it is printed below the lines and
    `costing.core.pricing.price` starts from it, so that a reader can follow the price from the figures in hand. The exact
    `Estimate.true_cost` may differ by half a minor unit a line and is never printed beside it.
    """
    lines = tuple(ShownLine(group=group, amount=round_money(amount, minor_places)) for group, amount in estimate.groups.items())
    true_cost = sum((line.amount for line in lines), round_money(Decimal(0), minor_places))
    area = estimate.takeoff.area
    return ShownCost(
        lines=lines,
        true_cost=true_cost,
        cost_per_m2=round_money(true_cost / to_decimal(area), minor_places) if area else None,
    )
