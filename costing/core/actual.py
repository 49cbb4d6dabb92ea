"""What a job has cost so far by the groups of the model, and its variances (costing model, sections 5 and 10).

Imports no Django. Litres, stock units, minutes and money. Sign of a difference: actual less standard, above 0 is dearer.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from costing.core.estimate import cost_groups
from costing.core.facts import Rates
from costing.core.system import CostGroup

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class CoatSplit:
    """Where the mix of a coat went, L. The parts add up to what was mixed and did not come back."""

    film: Decimal
    overspray: Decimal
    residue: Decimal  # cups, vessels, thrown away, and what is still in the pot

    @property
    def total(self) -> Decimal:
        """All of it."""
        return self.film + self.overspray + self.residue


def split_coat(
    *,
    mixed: Decimal,
    back: Decimal,
    thrown: Decimal,
    left: Decimal,
    fills: int,
    batches: int,
    residue_per_fill: Decimal,
    residue_per_batch: Decimal,
    film: Decimal | None,
    planned_share: Decimal,
) -> CoatSplit:
    """Split what was mixed for a coat. ``film`` is the area times the mean wet film, L; None while the coat is not finished.

    Then ``planned_share``, the planned film over what was planned to be sprayed, splits what was sprayed so far. More film than
    was sprayed can't be: the readings or the area are off then, and all that was sprayed counts as film.

    >>> split_coat(mixed=Decimal(3), back=Decimal(0), thrown=Decimal("0.2"), left=Decimal(0), fills=5, batches=1,
    ...            residue_per_fill=Decimal("0.03"), residue_per_batch=Decimal("0.05"), film=Decimal("1.69"),
    ...            planned_share=Decimal("0.65"))
    CoatSplit(film=Decimal('1.69'), overspray=Decimal('0.91'), residue=Decimal('0.40'))
    """
    used = max(mixed - back, ZERO)
    residue = min(fills * residue_per_fill + batches * residue_per_batch + thrown + left, used)
    sprayed = used - residue
    on_work = sprayed * planned_share if film is None else min(film, sprayed)
    return CoatSplit(film=on_work, overspray=sprayed - on_work, residue=residue)


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialSpent:
    """What a job drew of one material, net of what came back, and what it paid for that."""

    key: str
    name: str
    quantity: Decimal  # stock units
    cost: Decimal  # money, at the cost of the very lots
    weights: Mapping[CostGroup, Decimal]  # how its money spreads over the groups; need not add up to 1
    expiry_allowance: Decimal = ZERO


@dataclass(frozen=True, slots=True, kw_only=True)
class LabourSpent:
    """Work of one labour class that was planned for, and what it cost."""

    key: str
    name: str
    minutes: Decimal
    cost: Decimal


def actual_groups(
    *,
    materials: Sequence[MaterialSpent],
    labour: Sequence[LabourSpent],
    rework_labour: Decimal,
    booth_minutes: Decimal,
    disposal_litres: Decimal,
    rates: Rates,
) -> dict[CostGroup, Decimal]:
    """The true cost so far by group. Rework is what it really cost, in place of the allowance.

    Expiry and overhead stay what they are in an estimate, rates on what was really spent; both are costs of the shop that no job
    is billed for by itself.
    """
    direct: dict[CostGroup, Decimal] = {}
    rework = rework_labour
    for spent in materials:
        shares = _spread(spent)
        rework += shares.pop(CostGroup.REWORK, ZERO)
        for group, money in shares.items():
            direct[group] = direct.get(group, ZERO) + money
        coating = sum((shares.get(group, ZERO) for group in _COATING), ZERO)
        factor = spent.expiry_allowance / (1 - spent.expiry_allowance)
        direct[CostGroup.EXPIRY] = direct.get(CostGroup.EXPIRY, ZERO) + coating * factor
    groups = cost_groups(
        direct=direct,
        labour=sum((spent.cost for spent in labour), ZERO),
        booth_minutes=booth_minutes,
        disposal_litres=disposal_litres,
        rates=rates,
    )
    groups[CostGroup.REWORK] = rework
    groups[CostGroup.OVERHEAD] += rates.overhead_rate * rework_labour
    return groups


_COATING = (CostGroup.FILM, CostGroup.OVERSPRAY, CostGroup.RESIDUE, CostGroup.HEEL)


def _spread(spent: MaterialSpent) -> dict[CostGroup, Decimal]:
    """The money of a material over the groups; what nothing is known of counts as residue."""
    whole = sum(spent.weights.values(), ZERO)
    if whole <= 0:
        return {CostGroup.RESIDUE: spent.cost}
    return {group: spent.cost * weight / whole for group, weight in spent.weights.items()}


# ------------------------------------------------------------ variances


@dataclass(frozen=True, slots=True, kw_only=True)
class Variance:
    """Why a material or a labour class cost more or less than planned.

    ``price`` is the price or rate variance, ``quantity`` the quantity or efficiency variance; together they are the whole
    difference.
    """

    name: str
    unit: str  # stock unit, or h
    standard_quantity: Decimal
    actual_quantity: Decimal
    standard_price: Decimal  # money per unit
    actual_price: Decimal

    @property
    def price(self) -> Decimal:
        """(actual price − standard price) × actual quantity."""
        return (self.actual_price - self.standard_price) * self.actual_quantity

    @property
    def quantity(self) -> Decimal:
        """(actual quantity − standard quantity) × standard price."""
        return (self.actual_quantity - self.standard_quantity) * self.standard_price

    @property
    def total(self) -> Decimal:
        """Actual less standard cost."""
        return self.price + self.quantity

    @property
    def standard_cost(self) -> Decimal:
        """What was planned for it."""
        return self.standard_quantity * self.standard_price

    @property
    def actual_cost(self) -> Decimal:
        """What it cost."""
        return self.actual_quantity * self.actual_price


def variance(
    *,
    name: str,
    unit: str,
    standard_quantity: Decimal,
    standard_price: Decimal,
    actual_quantity: Decimal,
    actual_cost: Decimal,
) -> Variance:
    """The variances of one material or labour class (costing model, section 10).

    What was planned and not used at all has no actual price: the standard one stands in, so that its price variance is 0.

    >>> found = variance(name="wax", unit="lb", standard_quantity=Decimal("0.25"), standard_price=Decimal(7),
    ...                  actual_quantity=Decimal("0.50"), actual_cost=Decimal("4.50"))
    >>> found.price, found.quantity, found.total
    (Decimal('1.00'), Decimal('1.75'), Decimal('2.75'))
    """
    price = actual_cost / actual_quantity if actual_quantity else standard_price
    return Variance(
        name=name,
        unit=unit,
        standard_quantity=standard_quantity,
        actual_quantity=actual_quantity,
        standard_price=standard_price,
        actual_price=price,
    )


def total_of(variances: Iterable[Variance]) -> Decimal:
    """The whole difference that these explain."""
    return sum((each.total for each in variances), ZERO)
