"""What is odd about a material's data, and what has to be mended before it can be bought. Pure: no Django, no clock, no numpy.

A finding is data; ``inventory/reorder_words.py`` puts it in words.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum
from statistics import median

from inventory.core.demand import LEAST_WEEKS_WITH_USE, WEEKS_KEPT, Forecast, forecast
from inventory.core.facts import Facts, PackFacts
from inventory.core.packs import PackOffer
from inventory.core.weeks import settled

ENORMOUS = 10.0  # times the median week with use: own choice
UNITS_APART = 3.5  # times as dear by the unit; a US gallon taken for a litre makes 3.785
SAYS_OTHERWISE = Decimal("0.03")  # share by which a content may differ from what its description says: rounded gallons
USUAL_TARGET = 0.95


class Trouble(StrEnum):
    """What is odd; beside each what a finding's figures are."""

    NO_PACK = "no pack"
    EMPTY_PACK = "empty pack"  # pack
    NO_PRICE = "no price"  # pack
    TWO_UNITS = "two units"  # pack and other: the dear and the cheap one; figure: times as dear by the unit
    SAYS_OTHERWISE = "says otherwise"  # pack; figure: content as entered; beside: as described
    NO_LEAD_TIME = "no lead time"  # figure: days assumed
    ZERO_LEAD_TIME = "zero lead time"
    OLD_ON_ARRIVAL = "old on arrival"  # figure: shelf life, days; beside: usual age at delivery, days
    SHORT_LIFE = "short life"  # figure: usable days at delivery; beside: lead time, days
    CAME_BACK = "came back"  # on: Monday of the week; figure: how many such weeks
    ENORMOUS_WEEK = "enormous week"  # on: its Monday; figure: its use; beside: usual week of use
    BAD_RATE = "bad rate"  # figure: as entered
    BAD_TARGET = "bad target"  # figure: as entered; beside: what is reckoned with
    CLOCK_BACK = "clock back"  # on: day of the last movement


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One odd thing."""

    trouble: Trouble
    stops: bool = False  # it can't be bought before this is mended
    pack: int | None = None  # keys of packs
    other: int | None = None
    figure: float = 0.0
    beside: float = 0.0
    on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Examined:
    """A material whose data make sense, and what did not."""

    facts: Facts
    weeks: tuple[float, ...]  # settled: none below 0
    forecast: Forecast | None
    target: float
    offers: tuple[PackOffer, ...]
    findings: tuple[Finding, ...] = ()

    @property
    def can_be_bought(self) -> bool:
        """Whether something could be ordered."""
        return bool(self.offers) and not any(finding.stops for finding in self.findings)


def examine(facts: Facts) -> Examined:
    """Take what makes sense, and tell the rest."""
    findings: list[Finding] = []
    weeks = _weeks(facts, findings)
    offers = _offers(facts, findings)
    _times(facts, findings)
    _enormous_week(facts, weeks, findings)
    entered = facts.entered
    if entered is not None and not (math.isfinite(entered) and entered >= 0):
        findings.append(Finding(trouble=Trouble.BAD_RATE, figure=entered))
        entered = None
    target = facts.policy.service_level
    if not 0 < target < 1:
        findings.append(Finding(trouble=Trouble.BAD_TARGET, figure=target, beside=USUAL_TARGET))
        target = USUAL_TARGET
    if facts.last_movement is not None and facts.last_movement > facts.today:
        findings.append(Finding(trouble=Trouble.CLOCK_BACK, on=facts.last_movement))
    return Examined(
        facts=facts,
        weeks=weeks,
        forecast=forecast(weeks, entered=entered, entered_deviation=facts.entered_deviation),
        target=target,
        offers=offers,
        findings=tuple(findings),
    )


def _weeks(facts: Facts, findings: list[Finding]) -> tuple[float, ...]:
    """The last 52 weeks, what came back settled against the weeks before."""
    kept = facts.weeks[-WEEKS_KEPT:]
    weeks = tuple(week if math.isfinite(week) else 0.0 for week in kept)
    places = [place for place, week in enumerate(weeks) if week < 0]
    back = [*facts.came_back, *(found for place in places if (found := _monday(facts, place)) is not None)]
    if back or places:
        findings.append(Finding(trouble=Trouble.CAME_BACK, on=max(back, default=None), figure=max(len(back), len(places))))
    return tuple(float(week) for week in settled([Decimal(str(week)) for week in weeks])) if places else weeks


def _monday(facts: Facts, place: int) -> date | None:
    """The Monday of a week among the last 52."""
    skipped = max(len(facts.weeks) - WEEKS_KEPT, 0)
    return None if facts.first_week is None else facts.first_week + timedelta(weeks=place + skipped)


def _enormous_week(facts: Facts, weeks: Sequence[float], findings: list[Finding]) -> None:
    used = [week for week in weeks if week > 0]
    if len(used) <= LEAST_WEEKS_WITH_USE:
        return
    top = max(weeks)
    used.remove(top)
    usual = median(used)
    if top > ENORMOUS * usual:
        on = _monday(facts, weeks.index(top))
        findings.append(Finding(trouble=Trouble.ENORMOUS_WEEK, on=on, figure=top, beside=usual))


def _times(facts: Facts, findings: list[Finding]) -> None:
    """Lead time and shelf life."""
    supply, fresh = facts.supply, facts.fresh_days
    if not supply.is_observed and supply.lead_days is None:
        findings.append(Finding(trouble=Trouble.NO_LEAD_TIME, figure=supply.days))
    elif supply.days == 0:
        findings.append(Finding(trouble=Trouble.ZERO_LEAD_TIME))
    if fresh is not None and fresh <= 0:
        old = Finding(trouble=Trouble.OLD_ON_ARRIVAL, stops=True, figure=facts.shelf_days or 0, beside=supply.age_days)
        findings.append(old)
    elif fresh is not None and fresh < supply.days:
        findings.append(Finding(trouble=Trouble.SHORT_LIFE, figure=fresh, beside=supply.days))


def _offers(facts: Facts, findings: list[Finding]) -> tuple[PackOffer, ...]:
    """The packs that can be bought. What is wrong with the others is told; it stops the purchase when none is left."""
    offers, wrong = [], []
    for pack in facts.packs:
        if not pack.content.is_finite() or pack.content <= 0:
            wrong.append(Finding(trouble=Trouble.EMPTY_PACK, pack=pack.key))
        elif pack.price is None or not pack.price.is_finite() or pack.price <= 0:
            wrong.append(Finding(trouble=Trouble.NO_PRICE, pack=pack.key))
        else:
            _says_otherwise(pack, findings)
            offers.append(_offer(pack, pack.price))
    findings += [replace(one, stops=not offers) for one in wrong]
    if not facts.packs:
        findings.append(Finding(trouble=Trouble.NO_PACK, stops=True))
    elif len(offers) > 1:
        _two_units(offers, findings)
    return tuple(offers)


def _offer(pack: PackFacts, price: Decimal) -> PackOffer:
    return PackOffer(
        key=pack.key,
        supplier=pack.supplier,
        content=pack.content,
        price=price,
        minimum=max(pack.minimum, 1),
        breaks=pack.breaks,
    )


def _says_otherwise(pack: PackFacts, findings: list[Finding]) -> None:
    if pack.says is not None and pack.says > 0 and abs(pack.says - pack.content) > SAYS_OTHERWISE * pack.says:
        trouble, content, says = Trouble.SAYS_OTHERWISE, float(pack.content), float(pack.says)
        findings.append(Finding(trouble=trouble, pack=pack.key, figure=content, beside=says))


def _two_units(offers: Sequence[PackOffer], findings: list[Finding]) -> None:
    """Two packs whose prices by the unit are so far apart that one may have been entered in another unit."""
    by_unit = sorted(offers, key=lambda offer: (offer.price / offer.content, offer.key))
    cheap, dear = by_unit[0], by_unit[-1]
    times = float(dear.price / dear.content / (cheap.price / cheap.content))
    if times > UNITS_APART:
        findings.append(Finding(trouble=Trouble.TWO_UNITS, pack=dear.key, other=cheap.key, figure=times))
