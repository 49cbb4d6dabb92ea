"""What the reorder list has to know about a material. Pure: no Django, no clock, no numpy.

Quantities are in the material's stock unit, times in days, money in the shop's currency. Nothing here is refused for being odd:
``inventory.core.findings`` tells what is odd, and what has to be mended before the material can be bought.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from statistics import fmean, stdev

from inventory.core.packs import PriceBreak
from inventory.core.projection import Arrival, Need, StockLot

ASSUMED_LEAD_DAYS = 7.0  # where nobody has entered one: common practice, no source
LEAST_RECEIPTS = 3  # before what a supplier was seen to take is trusted over what was stated (replenishment model, section 4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """How the usual supplier delivers."""

    lead_days: float | None  # as stated; None: nobody has entered it
    lead_deviation: float = 0.0  # days, as stated
    observed: tuple[float, ...] = ()  # days from order to receipt, each delivery
    age_days: float = 0.0  # how old the material usually is when it comes
    charges: Mapping[int, Decimal] = field(default_factory=dict)  # by supplier: this material's share of what a delivery costs
    usual: int | None = None  # the usual supplier

    def __post_init__(self) -> None:
        stated = 0.0 if self.lead_days is None else self.lead_days
        if not (0 <= stated <= 3650 and 0 <= self.lead_deviation <= 3650):
            raise ValueError("a lead time is 0 days or more")
        if any(not 0 <= days <= 3650 for days in self.observed):
            raise ValueError("an observed lead time is 0 days or more")
        if not math.isfinite(self.age_days) or self.age_days < 0:
            raise ValueError("an age at delivery is 0 days or more")

    @property
    def is_observed(self) -> bool:
        """Whether the deliveries themselves tell the lead time: from three on."""
        return len(self.observed) >= LEAST_RECEIPTS

    @property
    def days(self) -> float:
        """The lead time: mean of the observed ones, or as stated, or as assumed."""
        if self.is_observed:
            return fmean(self.observed)
        return ASSUMED_LEAD_DAYS if self.lead_days is None else self.lead_days

    @property
    def deviation(self) -> float:
        """Its spread in days; of the observed ones the sample standard deviation."""
        return stdev(self.observed) if self.is_observed else self.lead_deviation

    @property
    def drawn_days(self) -> tuple[float, ...]:
        """Equally likely lead times: the observed ones, or three with the stated mean and spread, none below 0."""
        if self.is_observed:
            return tuple(sorted(self.observed))
        away = self.deviation * math.sqrt(1.5)
        return (self.days,) if away <= 0 else (max(self.days - away, 0.0), self.days, self.days + away)

    @property
    def delivery_charge(self) -> Decimal:
        """This material's share of what a delivery of the usual supplier costs."""
        return self.charges.get(self.usual, Decimal(0)) if self.usual is not None else Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """The shop's own choices for buying."""

    service_level: float = 0.95  # share of order cycles without a stock-out
    review_days: float = 7
    holding_rate: float = 0.2  # of the price, a year: common practice, no source
    freshness: float = 0.8  # share of the shelf life in which a purchase should be used up
    horizon: int = 90  # days of projection

    def __post_init__(self) -> None:
        if not 0 <= self.review_days <= 3650:
            raise ValueError("a review interval is 0 days or more")
        if not (self.holding_rate >= 0 and 0 < self.freshness <= 1 and self.horizon >= 1):
            raise ValueError("holding costs 0 or more, a freshness share is above 0 and at most 1, a horizon is a day or more")


@dataclass(frozen=True, slots=True, kw_only=True)
class PackFacts:
    """A pack as somebody entered it, sense or nonsense. ``key`` is the caller's own."""

    key: int
    supplier: int
    content: Decimal
    price: Decimal | None  # None, or 0: nobody has entered one
    minimum: int = 1
    breaks: tuple[PriceBreak, ...] = ()
    says: Decimal | None = None  # content that its description names, in the stock unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """A material on a day."""

    key: int = 0
    unit: str = ""  # in which it is kept: materials in one unit tell one another how large a usual week of use is
    today: date
    supply: Supply
    policy: Policy = Policy()
    weeks: tuple[float, ...] = ()  # net use in complete weeks, oldest first
    first_week: date | None = None  # Monday of the oldest
    came_back: tuple[date, ...] = ()  # Mondays of weeks in which more came back than went out, where the caller settled them
    entered: float | None = None  # use a week as the shop entered it
    entered_deviation: float | None = None
    lots: tuple[StockLot, ...] = ()
    arrivals: tuple[Arrival, ...] = ()
    needs: tuple[Need, ...] = ()
    packs: tuple[PackFacts, ...] = ()
    usual_pack: int | None = None
    shelf_days: int | None = None  # from the day it was made, unopened
    last_movement: date | None = None  # of a day after today, where there is one

    @property
    def fresh_days(self) -> float | None:
        """Usable days at delivery: shelf life less the usual age. ``None`` when it keeps."""
        return None if self.shelf_days is None else self.shelf_days - self.supply.age_days
