"""A short way to ask for advice on one material."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from decimal import Decimal

from inventory.core.draws import Draws
from inventory.core.facts import Facts, PackFacts, Policy, Supply
from inventory.core.projection import Arrival, Need, StockLot
from inventory.core.reorder import Advice, advise

D = Decimal
TODAY = date(2030, 3, 4)
CANS = (PackFacts(key=1, supplier=1, content=D(5), price=D(225)),)


def day(offset: int) -> date:
    return TODAY + timedelta(days=offset)


def lot(on_hand: str | int, until: int | None = None) -> StockLot:
    return StockLot(on_hand=D(on_hand), usable_until=None if until is None else day(until))


def coming(quantity: str | int, on: int, until: int | None = None) -> Arrival:
    return Arrival(quantity=D(quantity), on=day(on), usable_until=None if until is None else day(until))


def need(quantity: str | int, on: int) -> Need:
    return Need(quantity=D(quantity), on=day(on))


def reckon(
    *lots: StockLot,
    arrivals: tuple[Arrival, ...] = (),
    needs: tuple[Need, ...] = (),
    weekly: float | None = 2.0,
    deviation: float = 0.0,
    weeks: tuple[float, ...] = (),
    lead: float | None = 7.0,
    observed: tuple[float, ...] = (),
    shelf: int | None = None,
    age: float = 0.0,
    packs: tuple[PackFacts, ...] = CANS,
    charges: Mapping[int, Decimal] | None = None,
    draws: Draws | None = None,
    target: float = 0.95,
    last_movement: date | None = None,
) -> Advice:
    """Advice on a material that uses 2 a week as entered, with a lead time of a week and a look at the list every week."""
    return advise(
        Facts(
            today=TODAY,
            supply=Supply(lead_days=lead, observed=observed, age_days=age, charges=charges or {}, usual=1),
            policy=Policy(service_level=target, review_days=7),
            weeks=weeks,
            first_week=TODAY - timedelta(weeks=len(weeks)),
            entered=weekly,
            entered_deviation=deviation,
            lots=lots,
            arrivals=arrivals,
            needs=needs,
            packs=packs,
            usual_pack=packs[0].key if packs else None,
            shelf_days=shelf,
            last_movement=last_movement,
        ),
        draws=draws,
    )
