"""When to order and how much (replenishment model, sections 4 and 5, in its normal form). Pure: no Django, no clock.

Quantities are in the material's stock unit, times in days, money in the shop's currency. Physical rates are floats;
packs, prices and what is ordered are ``Decimal``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from inventory.core.normal import quantile
from inventory.core.packs import PackChoice, PackOffer, cheapest_packs

DAYS_A_WEEK = 7
WEEKS_A_YEAR = 365 / 7
NOISE = 1e-9
USUAL_SPREAD = 0.5  # of the weekly use, where nobody has measured it: common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """Background demand per week: its mean and standard deviation, and where they come from."""

    mean: float  # stock units a week
    deviation: float  # stock units a week
    weeks: int = 0  # weeks of history behind it; 0: the rate that the shop entered

    def __post_init__(self) -> None:
        if not (math.isfinite(self.mean) and math.isfinite(self.deviation)) or self.mean < 0 or self.deviation < 0:
            raise ValueError("demand and its spread are numbers of 0 or more")


@dataclass(frozen=True, slots=True, kw_only=True)
class StockLot:
    """What a lot holds and the last day on which it may be used."""

    on_hand: Decimal
    usable_until: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """Booked by a job for a day."""

    quantity: Decimal
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """How the usual supplier delivers."""

    lead_days: float
    lead_deviation: float  # days
    delivery_charge: Decimal = Decimal(0)  # this material's share of what a delivery costs

    def __post_init__(self) -> None:
        if not (0 <= self.lead_days <= 3650 and 0 <= self.lead_deviation <= 3650):
            raise ValueError("a lead time is 0 days or more")


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """The shop's own choices for buying."""

    service_level: float = 0.95  # share of order cycles without a stock-out
    review_days: float = 7
    holding_rate: float = 0.2  # of the price, a year: common practice, no source
    freshness: float = 0.8  # share of the shelf life in which a purchase should be used up


@dataclass(frozen=True, slots=True, kw_only=True)
class ReorderPoint:
    """The stock below which to order, and what it is made of."""

    protection_days: float  # lead time + review interval
    expected: float  # λ τ
    safety: float  # z √(τ σ² + λ² σ_τ²)
    z: float

    @property
    def quantity(self) -> float:
        """Expected demand over the protection time plus safety stock."""
        return self.expected + self.safety


def reorder_point(demand: Demand, supply: Supply, policy: Policy) -> ReorderPoint:
    """The normal form λ τ + z √(τ σ² + λ² σ_τ²) (replenishment model, section 4).

    τ is the protection time in weeks, σ_τ the spread of the lead time in weeks. Worked number: 10 a week, spread 3, lead
    time 4 weeks, no review, 95 % of cycles: 49.869.

    >>> point = reorder_point(
    ...     Demand(mean=10, deviation=3), Supply(lead_days=28, lead_deviation=0), Policy(service_level=0.95, review_days=0)
    ... )
    >>> round(point.quantity, 3)
    49.869
    """
    days = supply.lead_days + policy.review_days
    weeks = days / DAYS_A_WEEK
    spread_weeks = supply.lead_deviation / DAYS_A_WEEK
    z = quantile(policy.service_level)
    deviation = math.sqrt(weeks * demand.deviation**2 + demand.mean**2 * spread_weeks**2)
    return ReorderPoint(protection_days=days, expected=demand.mean * weeks, safety=max(z, 0.0) * deviation, z=z)


def economic_quantity(*, order_cost: float, yearly_demand: float, yearly_holding: float) -> float:
    """The economic order quantity √(2 K λ / h); 0 when an order, or holding, costs nothing (section 5).

    >>> round(economic_quantity(order_cost=8, yearly_demand=1300, yearly_holding=0.225), 4)
    304.0468
    """
    if order_cost <= 0 or yearly_demand <= 0 or yearly_holding <= 0:
        return 0.0
    return math.sqrt(2 * order_cost * yearly_demand / yearly_holding)


@dataclass(frozen=True, slots=True, kw_only=True)
class Projection:
    """Stock followed day by day with the expected demand, first expired first out."""

    short_on: date | None  # the first day on which more is wanted than there is
    expires_unused: Decimal  # until the end of the protection time
    usable_now: Decimal


def daily_demand(needs: Sequence[Need], *, weekly: float, today: date, days: int) -> list[float]:
    """Demand of each day: in a week it is the larger of booked and background (replenishment model, section 2).

    Bookings fall on their day, overdue ones on today; what the background rate wants beyond them is spread over the week.

    >>> daily_demand([Need(quantity=Decimal(4), on=date(2030, 1, 2))], weekly=7, today=date(2030, 1, 1), days=3)
    [0.42857142857142855, 4.428571428571429, 0.42857142857142855]
    """
    booked = [0.0] * (math.ceil(days / DAYS_A_WEEK) * DAYS_A_WEEK)
    for need in needs:
        offset = max((need.on - today).days, 0)
        if offset < len(booked):
            booked[offset] += float(need.quantity)
    demand = []
    for start in range(0, len(booked), DAYS_A_WEEK):
        week = booked[start : start + DAYS_A_WEEK]
        rest = max(0.0, weekly - sum(week)) / DAYS_A_WEEK
        demand += [amount + rest for amount in week]
    return demand[:days]


def project(
    lots: Sequence[StockLot], needs: Sequence[Need], *, weekly: float, today: date, days: int, protect_days: float
) -> Projection:
    """Follow usable stock over ``days``, first expired first out (replenishment model, section 3)."""
    usable = [lot for lot in lots if lot.usable_until is None or lot.usable_until >= today]
    usable.sort(key=lambda lot: lot.usable_until or date.max)
    left = [float(lot.on_hand) for lot in usable]
    short_on: date | None = None
    unused = 0.0
    for offset, wanted in enumerate(daily_demand(needs, weekly=weekly, today=today, days=days)):
        day = today + timedelta(days=offset)
        for index, lot in enumerate(usable):
            if lot.usable_until is not None and lot.usable_until < day:
                unused += left[index] if offset <= protect_days else 0.0
                left[index] = 0.0
            taken = min(left[index], wanted)
            left[index] -= taken
            wanted -= taken
        if wanted > NOISE and short_on is None:
            short_on = day
    return Projection(
        short_on=short_on,
        expires_unused=Decimal(str(round(unused, 6))),
        usable_now=sum((lot.on_hand for lot in usable), Decimal(0)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What to do about one material, with every number that led to it (replenishment model, section 6)."""

    today: date
    usable: Decimal
    expires_unused: Decimal  # before the end of the protection time
    booked: Decimal  # by jobs, within the protection time
    available: Decimal  # usable - expires unused - booked
    demand: Demand
    supply: Supply
    policy: Policy
    point: ReorderPoint
    short_on: date | None
    must_order: bool
    order_by: date | None  # the day it runs short less the lead time; never before today
    economic: float
    review_demand: float
    order_up_to: float
    cap: float | None  # the most that can be used while it is fresh, less what is usable; None without a shelf life
    wanted: Decimal  # quantity to cover
    choice: PackChoice | None  # packs to buy; None when nothing is to be ordered or nobody sells it
    above_cap: bool  # even so more than can be used while it is fresh


def advise(
    *,
    lots: Sequence[StockLot],
    needs: Sequence[Need],
    demand: Demand,
    supply: Supply,
    policy: Policy,
    packs: Sequence[PackOffer],
    usual_price: Decimal,
    shelf_days: int | None,
    today: date,
    horizon: int = 90,
) -> Advice:
    """Whether to order a material today, and in which packs.

    ``usual_price`` is the price per stock unit, ``shelf_days`` the shelf life at delivery.
    """
    point = reorder_point(demand, supply, policy)
    seen = project(lots, needs, weekly=demand.mean, today=today, days=horizon, protect_days=point.protection_days)
    until = today + timedelta(days=math.floor(point.protection_days))
    booked = sum((need.quantity for need in needs if need.on <= until), Decimal(0))
    available = seen.usable_now - seen.expires_unused - booked
    short_inside = seen.short_on is not None and seen.short_on <= until
    must_order = float(available) < point.quantity - NOISE or short_inside
    economic = economic_quantity(
        order_cost=float(supply.delivery_charge),
        yearly_demand=demand.mean * WEEKS_A_YEAR,
        yearly_holding=policy.holding_rate * float(usual_price),
    )
    review_demand = demand.mean * policy.review_days / DAYS_A_WEEK
    up_to = point.quantity + max(economic, review_demand)
    cap = _fresh_cap(demand, policy, shelf_days, seen.usable_now)
    need = max(0.0, up_to - float(available))
    booked_short = max(0.0, float(booked) - float(seen.usable_now - seen.expires_unused))
    if cap is not None:
        need = min(need, max(cap, booked_short))
    wanted = Decimal(str(round(need, 6)))
    choice = cheapest_packs(packs, need=wanted, cap=_as_decimal(cap)) if must_order and wanted > 0 and packs else None
    order_by = max(today, seen.short_on - timedelta(days=math.ceil(supply.lead_days))) if seen.short_on else None
    return Advice(
        today=today,
        usable=seen.usable_now,
        expires_unused=seen.expires_unused,
        booked=booked,
        available=available,
        demand=demand,
        supply=supply,
        policy=policy,
        point=point,
        short_on=seen.short_on,
        must_order=must_order and wanted > 0,
        order_by=today if must_order and order_by is None and wanted > 0 else order_by,
        economic=economic,
        review_demand=review_demand,
        order_up_to=up_to,
        cap=cap,
        wanted=wanted,
        choice=choice,
        above_cap=choice is not None and cap is not None and float(choice.quantity) > cap + NOISE,
    )


def _fresh_cap(demand: Demand, policy: Policy, shelf_days: int | None, usable: Decimal) -> float | None:
    """Expected demand over the usable shelf life × the freshness share, less usable stock (section 5)."""
    if shelf_days is None or demand.mean <= 0:
        return None
    return max(0.0, demand.mean * shelf_days / DAYS_A_WEEK * policy.freshness - float(usable))


def _as_decimal(value: float | None) -> Decimal | None:
    return None if value is None else Decimal(str(round(value, 6)))
