"""Whether to order a material today, how much of it, and in which packs (replenishment model, sections 3 to 6).

Pure: no Django, no clock. Quantities are in the material's stock unit, times in days, money in the shop's currency. Physical
rates are floats; packs, prices and what is ordered are ``Decimal``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from inventory.core.demand import Forecast, ForecastMethod
from inventory.core.draws import Draws
from inventory.core.facts import Facts, Policy, Supply
from inventory.core.findings import Examined, Finding, examine
from inventory.core.packs import Costs, PackChoice, PackCount, PackOffer, choose_packs, priced, single_packs
from inventory.core.points import DAYS_A_WEEK, Level, ReorderPoint, learnt_level, reorder_points, same
from inventory.core.projection import NOISE, Arrival, Projection, project
from inventory.core.quantity import economic_quantity

WEEKS_A_YEAR = 365 / 7
COVER_HORIZON = 730  # days; what lasts longer is said to last longer
ZERO = Decimal(0)
NO_USE = Forecast(rate=0.0, deviation=0.0, method=ForecastMethod.ENTERED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cover:
    """What buying so much today would do."""

    quantity: Decimal
    arrives_on: date
    lasts_until: date | None  # the last day before it runs short; None: longer than two years
    days: int | None  # from today until then
    short_before: date | None  # the day it runs short before this can be here
    spoils: Decimal  # expected to go out of date unused, of what is bought
    projection: Projection  # with the purchase, over the horizon


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What to do about one material, with every number that led to it (replenishment model, section 6)."""

    facts: Facts
    findings: tuple[Finding, ...]
    offers: tuple[PackOffer, ...]  # packs that can be bought
    demand: Forecast
    point: ReorderPoint
    projection: Projection  # the path of usable stock, day by day
    until: date  # end of the protection time
    usable: Decimal  # in the building, today
    on_order: Decimal  # usable on arrival
    in_time: Decimal  # of it, what is promised within the protection time
    expires_unused: Decimal  # before the end of the protection time
    booked: Decimal  # by jobs, within the protection time
    lacking: float  # the most that is missing on a day that a purchase of today can reach
    must_order: bool
    order_by: date | None  # the day it runs short less the lead time; never before today
    economic: float
    order_up_to: float
    cap: float | None  # the most that can be used while it is fresh, less what is there; None when it keeps
    held_by_cap: bool  # below its reorder point, and yet no more can be used while fresh
    wanted: Decimal  # quantity to cover
    choices: tuple[PackChoice, ...]  # the best of each supplier, the best of all first; empty when nothing is to be bought
    costs: Costs

    @property
    def knows_nothing(self) -> bool:
        """No use in the log, no rate entered, no booking: nothing can be said."""
        return self.demand is NO_USE and not self.facts.needs

    @property
    def today(self) -> date:
        """The day of the advice."""
        return self.facts.today

    @property
    def supply(self) -> Supply:
        """How the usual supplier delivers."""
        return self.facts.supply

    @property
    def policy(self) -> Policy:
        """The shop's own choices."""
        return self.facts.policy

    @property
    def short_on(self) -> date | None:
        """The first day on which more is wanted than there is."""
        return self.projection.short_on

    @property
    def available(self) -> Decimal:
        """What the reorder point is held against: usable and in time, less what expires and what is booked."""
        return self.usable + self.in_time - self.expires_unused - self.booked

    @property
    def choice(self) -> PackChoice | None:
        """Packs to buy; ``None`` when nothing is to be ordered or nobody sells it."""
        return self.choices[0] if self.choices else None

    @property
    def above_cap(self) -> bool:
        """Even so more than can be used while it is fresh."""
        return self.choice is not None and self.cap is not None and float(self.choice.quantity) > self.cap + NOISE

    @property
    def beyond_fresh(self) -> bool:
        """The reorder point asks for more than can be used while it is fresh."""
        return self.cap is not None and self.must_order and float(self.wanted) > self.cap + NOISE

    @property
    def considered(self) -> tuple[PackChoice, ...]:
        """What covering the need with one kind of pack alone would cost, beside what was chosen."""
        return single_packs(self.offers, need=self.wanted, cap=_as_decimal(self.cap), costs=self.costs)

    def priced(self, counts: Mapping[int, int]) -> PackChoice | None:
        """So many of each pack, by key, with all that they cost; ``None`` for none. Packs of one supplier."""
        lines = tuple(PackCount(pack=offer, count=counts[offer.key]) for offer in self.offers if counts.get(offer.key, 0) > 0)
        if len({line.pack.supplier for line in lines}) > 1:
            raise ValueError("a purchase is of one supplier")
        return priced(lines, self.costs) if lines else None

    def if_bought(self, quantity: Decimal) -> Cover:
        """What buying so much today would do; 0 asks what is so without a purchase."""
        facts = self.facts
        arrives = facts.today + timedelta(days=math.ceil(facts.supply.days))
        arrivals = list(facts.arrivals)
        if quantity > 0:
            arrivals.append(Arrival(quantity=quantity, on=arrives, usable_until=_last_day(facts, arrives)))
        found = project(
            facts.lots, facts.needs, weekly=self.demand.rate, today=facts.today, days=COVER_HORIZON, arrivals=arrivals
        )
        short = next((day.on for day in found.path if day.on >= arrives and day.usable < -NOISE), None)
        days = None if short is None else (short - facts.today).days
        return Cover(
            quantity=quantity,
            arrives_on=arrives,
            lasts_until=None if short is None or days == 0 else short - timedelta(days=1),
            days=days,
            short_before=found.short_on if found.short_on is not None and found.short_on < arrives else None,
            spoils=self.costs.spoilage(quantity),
            projection=found.until(len(self.projection.path)),
        )


def advise_all(known: Sequence[Facts], *, draws: Draws | None = None, level: Level | None = None) -> tuple[Advice, ...]:
    """Advice on each material. The draws of all are made at once, and materials lend one another their weeks.

    ``level`` turns a service target into the quantile at which a drawn reorder point is read; without it, it is learnt from the
    log of these materials. Without ``draws`` the normal form speaks for all.
    """
    examined = [examine(facts) for facts in known]
    forecasts = [one.forecast or NO_USE for one in examined]
    if level is None:
        lots = [_economic(one, demand) for one, demand in zip(examined, forecasts, strict=True)]
        level = learnt_level(examined, lots, draws) if draws is not None else same
    points = reorder_points(examined, forecasts, draws, level=level)
    return tuple(_advise(one, demand, point) for one, demand, point in zip(examined, forecasts, points, strict=True))


def advise_again(advice: Advice, facts: Facts) -> Advice:
    """The advice for other lots, arrivals, needs or horizon of the same material: its use and its reorder point stay."""
    return _advise(examine(facts), advice.demand, advice.point)


def advise(facts: Facts, *, draws: Draws | None = None) -> Advice:
    """Advice on one material alone."""
    return advise_all([facts], draws=draws)[0]


def _advise(one: Examined, demand: Forecast, point: ReorderPoint) -> Advice:
    facts, policy = one.facts, one.facts.policy
    today, until = facts.today, facts.today + timedelta(days=math.floor(point.protection_days))
    days = max(policy.horizon, math.floor(point.protection_days) + 1)
    seen = project(facts.lots, facts.needs, weekly=demand.rate, today=today, days=days, arrivals=facts.arrivals)
    in_time, late = _coming(facts, until)
    expires = seen.expires_unused(until=until)
    booked = sum((need.quantity for need in facts.needs if need.on <= until), ZERO)
    available = float(seen.usable_now + in_time - expires - booked)
    lacking = _lacking(seen, first=today + timedelta(days=math.ceil(facts.supply.days)), until=until)
    economic = _economic(one, demand)
    up_to = point.quantity + economic
    below = available < point.quantity - NOISE or lacking > NOISE
    need = max(0.0, up_to - available - float(late), point.quantity - available, lacking) if below else 0.0
    there = seen.usable_now + in_time + late - expires
    cap = _fresh_cap(facts, demand, float(there))
    held = False
    if cap is not None and below:
        owed = float(booked - seen.usable_now - in_time + expires)
        most = max(cap, owed, _useful_point(facts, point) - available)
        held = most <= NOISE < need
        need = min(need, max(most, 0.0))
    wanted = Decimal(str(round(need, 6)))
    costs = _costs(facts, demand, there)
    can_choose = wanted > 0 and one.can_be_bought
    return Advice(
        facts=facts,
        findings=one.findings,
        offers=one.offers,
        demand=demand,
        point=point,
        projection=seen,
        until=until,
        usable=seen.usable_now,
        on_order=in_time + late,
        in_time=in_time,
        expires_unused=expires,
        booked=booked,
        lacking=lacking,
        must_order=wanted > 0,
        order_by=_order_by(facts, seen.short_on, must_order=wanted > 0),
        economic=economic,
        order_up_to=up_to,
        cap=cap,
        held_by_cap=held,
        wanted=wanted,
        choices=choose_packs(one.offers, need=wanted, cap=_as_decimal(cap), costs=costs) if can_choose else (),
        costs=costs,
    )


def _coming(facts: Facts, until: date) -> tuple[Decimal, Decimal]:
    """What is on order and usable when it comes: within the protection time, and after it."""
    in_time = late = ZERO
    for arrival in facts.arrivals:
        comes = max(arrival.on, facts.today)
        if arrival.usable_until is not None and arrival.usable_until < comes:
            continue
        if comes <= until:
            in_time += arrival.quantity
        else:
            late += arrival.quantity
    return in_time, late


def _lacking(seen: Projection, *, first: date, until: date) -> float:
    """The most that is missing on a day from ``first`` on: what is short before that, no purchase of today can help."""
    return max((-day.usable for day in seen.path if first <= day.on < until), default=0.0)


def _economic(one: Examined, demand: Forecast) -> float:
    """What is ordered beyond the reorder point: the economic quantity at the usual pack's price.

    Use over the review interval is not added: the protection time holds that interval already.
    """
    facts = one.facts
    usual = next((offer for offer in one.offers if offer.key == facts.usual_pack), one.offers[0] if one.offers else None)
    return economic_quantity(
        order_cost=float(facts.supply.delivery_charge),
        yearly_demand=demand.rate * WEEKS_A_YEAR,
        yearly_holding=facts.policy.holding_rate * float(usual.price / usual.content) if usual else 0.0,
    )


def _fresh_cap(facts: Facts, demand: Forecast, there: float) -> float | None:
    """Expected demand over the usable shelf life at delivery × the freshness share, less what is there (section 5).

    What jobs have booked for that time is certain, so it counts whole where it is more. Stock that goes out of date before
    then does not stand in the way. What is out of date when it comes has no cap: it can't be bought at all.
    """
    fresh = facts.fresh_days
    if fresh is None or fresh <= 0:
        return None
    last = facts.today + timedelta(days=min(math.ceil(facts.supply.days) + math.floor(fresh), 36_500))
    booked = float(sum((need.quantity for need in facts.needs if need.on <= last), ZERO))
    return max(0.0, max(demand.rate * fresh / DAYS_A_WEEK * facts.policy.freshness, booked) - there)


def _useful_point(facts: Facts, point: ReorderPoint) -> float:
    """The reorder point goes before freshness, as far as what it holds can be used at all.

    Where things spoil within the protection time, stock for the rest of that time helps nobody.
    """
    fresh = facts.fresh_days
    if fresh is None or fresh >= point.protection_days:
        return point.quantity
    return point.quantity * max(fresh, 0.0) / point.protection_days


def _costs(facts: Facts, demand: Forecast, there: Decimal) -> Costs:
    """What a purchase costs beside its price. Where all use is booked, the bookings make the rate."""
    fresh = facts.fresh_days
    horizon = facts.today + timedelta(days=facts.policy.horizon)
    booked = float(sum((need.quantity for need in facts.needs if need.on < horizon), ZERO))
    return Costs(
        delivery=facts.supply.charges,
        holding_rate=facts.policy.holding_rate,
        weekly=max(demand.rate, booked * DAYS_A_WEEK / facts.policy.horizon),
        deviation=demand.deviation,
        usable=float(there),
        fresh_weeks=None if fresh is None else fresh / DAYS_A_WEEK,
    )


def _order_by(facts: Facts, short_on: date | None, *, must_order: bool) -> date | None:
    if short_on is not None:
        return max(facts.today, short_on - timedelta(days=math.ceil(facts.supply.days)))
    return facts.today if must_order else None


def _last_day(facts: Facts, arrives: date) -> date | None:
    """The last day of use of what comes on a day."""
    fresh = facts.fresh_days
    return None if fresh is None else arrives + timedelta(days=min(math.floor(fresh), 36_500))


def _as_decimal(value: float | None) -> Decimal | None:
    return None if value is None else Decimal(str(round(value, 6)))
