"""What one more job would do to a material: when it could start, and what would have to be ordered.

Pure: no Django, no clock. Quantities are in the material's stock unit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from inventory.core.facts import Facts
from inventory.core.projection import NOISE, Day, Need, project
from inventory.core.reorder import Advice, advise_again

AFTER = 30  # days that are looked at beyond a late start


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """A material without the job and with it."""

    need: Need
    before: Advice
    after: Advice
    earliest: date | None  # first day from the wished one on for which it is here; None: nobody can tell

    @property
    def runs_short(self) -> bool:
        """Whether it runs short because of the job, or earlier than without it."""
        short, before = self.after.short_on, self.before.short_on
        return short is not None and (before is None or short < before)

    @property
    def arrives(self) -> date:
        """When an order of today can be expected."""
        return _arrives(self.before.facts)

    @property
    def days_late(self) -> int | None:
        """By how many days it moves the start; ``None`` where nobody can tell."""
        return None if self.earliest is None else (self.earliest - self.need.on).days


def effect(advice: Advice, need: Need) -> Effect:
    """What needing so much more on a day would do.

    The start waits until the stock, what is on order and an order of today cover the job without leaving anyone else short
    who was not short before.
    """
    facts = advice.facts
    horizon = max(facts.policy.horizon, (need.on - facts.today).days + AFTER)
    facts = replace(facts, policy=replace(facts.policy, horizon=horizon))
    before = advise_again(advice, facts) if horizon != advice.policy.horizon else advice
    after = advise_again(advice, replace(facts, needs=(*facts.needs, need)))
    return Effect(need=need, before=before, after=after, earliest=_earliest(before, need))


def can_be_bought(advice: Advice) -> bool:
    """Whether an order of today is possible at all."""
    return bool(advice.offers) and not any(finding.stops for finding in advice.findings)


def _arrives(facts: Facts) -> date:
    return facts.today + timedelta(days=math.ceil(facts.supply.days))


def _earliest(before: Advice, need: Need) -> date | None:
    facts, buys = before.facts, can_be_bought(before)
    days = {need.on, *(arrival.on for arrival in facts.arrivals if arrival.on > need.on)}
    if buys:
        days.add(max(need.on, _arrives(facts)))
    return next((day for day in sorted(days) if _fits(before, replace(need, on=day), buys=buys)), None)


def _fits(before: Advice, need: Need, *, buys: bool) -> bool:
    """Whether the job leaves nobody short until an order of today can be here; for good where nothing can be ordered."""
    facts = before.facts
    days = max(len(before.projection.path), (need.on - facts.today).days + AFTER)
    ends = _arrives(facts) if buys else facts.today + timedelta(days=days)
    alone, together = (_path(before, needs, days) for needs in (facts.needs, (*facts.needs, need)))
    return all(
        day.usable >= min(0.0, other.usable) - NOISE
        for day, other in zip(together, alone, strict=True)
        if need.on <= day.on < ends
    )


def _path(before: Advice, needs: Sequence[Need], days: int) -> tuple[Day, ...]:
    facts = before.facts
    rate = before.demand.rate
    return project(facts.lots, needs, weekly=rate, today=facts.today, days=days, arrivals=facts.arrivals).path
