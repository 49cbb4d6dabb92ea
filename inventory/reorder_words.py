"""Why a line of the reorder list says what it says, in words: the page, the PDF and the spreadsheet print the same."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.urls import reverse

from finishing import show
from finishing.money import round_money
from inventory.core.facts import Supply
from inventory.core.findings import Finding, Trouble
from inventory.core.points import PointMethod
from inventory.core.reorder import Advice
from inventory.models import Material, Pack

MOST_NAMED = 6  # of bookings, and of lots, in one reason


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One number behind a line, in words."""

    words: str
    figure: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """Something odd about a material's data: what it is, and what would mend it."""

    finding: Finding
    words: str
    link: str  # address of the page where it is mended
    link_words: str

    @property
    def stops(self) -> bool:
        """Whether it can't be bought before this is mended."""
        return self.finding.stops


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """What the words are about."""

    material: Material
    advice: Advice
    packs: Mapping[int, Pack]

    def amount(self, value: Decimal | float) -> str:
        """A quantity as the shop reads it."""
        places = 1 if self._counts_pieces else 6
        return show.quantity(round_money(Decimal(str(value)), places), self.material.stock_unit)

    def level(self, value: float) -> str:
        """A level of stock: pieces are whole, rounded up, since stock below the level starts an order."""
        return self.amount(math.ceil(value - 1e-6)) if self._counts_pieces else self.amount(value)

    def reckoned(self, value: float) -> str:
        """A level at the end of a sum: as reckoned, and for pieces what it is in whole ones."""
        if not self._counts_pieces or abs(value - round(value)) < 1e-6:
            return self.level(value)
        told, level = self.amount(value), self.level(value)
        if told == level:
            return level
        over = "a little over " if told == self.amount(math.floor(value)) else ""
        return f"{over}{told}, so {level}"

    @property
    def _counts_pieces(self) -> bool:
        return self.material.stock_unit == "pcs"

    def pack(self, key: int | None) -> str:
        """A pack by its description and its supplier."""
        found = self.packs.get(key) if key is not None else None
        return f"“{found.description}” of {found.supplier.name}" if found else "a pack"

    @property
    def supplier(self) -> str:
        """The usual supplier's name."""
        usual = self.packs.get(self.advice.facts.usual_pack or 0)
        return usual.supplier.name if usual else "the supplier"


def told(finding: Finding, about: Subject) -> Told:
    """A finding in words, with where it is mended."""
    words, address = _mend(finding, about)
    return Told(finding=finding, words=_WORDS[finding.trouble](finding, about), link=address, link_words=words)


_IN_LOG = frozenset({Trouble.CAME_BACK, Trouble.ENORMOUS_WEEK, Trouble.CLOCK_BACK})


def _mend(finding: Finding, about: Subject) -> tuple[str, str]:
    """Where a finding is mended: words and the address of the page."""
    material, usual = about.material, about.advice.supply.usual
    if finding.pack is not None:
        return "Change the pack", reverse("pack_edit", args=[finding.pack])
    if finding.trouble in (Trouble.NO_PACK, Trouble.NO_LEAD_TIME):
        return "Add a pack", reverse("pack_new", args=[material.pk])
    if finding.trouble is Trouble.ZERO_LEAD_TIME and usual is not None:
        return "Change the supplier", reverse("supplier_edit", args=[usual])
    if finding.trouble in _IN_LOG:
        return "Look through its moves", reverse("stock_moves", query={"text": material.name})
    return "Change the material", reverse("material_edit", args=[material.pk])


def _days(value: float) -> str:
    return f"{show.number(value, 1)} day" if value == 1 else f"{show.number(value, 1)} days"


def _week(on: date | None) -> str:
    return f"the week from {show.day(on)}" if on else "one week of the log"


def _came_back(finding: Finding, _about: Subject) -> str:
    more = f" and in {finding.figure - 1:.0f} more before" if finding.figure > 1 else ""
    return (
        f"In {_week(finding.on)}{more}, more came back than went out. The weeks before were taken as that much less. "
        "If the return was booked in error, reverse its posting."
    )


def _enormous(finding: Finding, about: Subject) -> str:
    times = show.number(finding.figure / finding.beside, 0)
    return (
        f"In {_week(finding.on)} {about.amount(finding.figure)} went out, {times} times the usual week of "
        f"{about.amount(finding.beside)}. It raises the reorder point. If it was booked in error, reverse its posting."
    )


def _short_life(finding: Finding, about: Subject) -> str:
    return (
        f"It keeps for {_days(finding.figure)} from delivery, less than the lead time of {_days(finding.beside)}: what is bought "
        f"can’t last until the next order is here. Check its shelf life and the lead time of {about.supplier}."
    )


def _no_price(finding: Finding, about: Subject) -> str:
    return f"The pack {about.pack(finding.pack)} has no price, so it is left out. Enter its price."


def _two_units(finding: Finding, about: Subject) -> str:
    return (
        f"By the {_UNIT[about.material.stock_unit]}, the pack {about.pack(finding.pack)} costs {show.number(finding.figure, 1)} "
        f"times as much as {about.pack(finding.other)}. Were their contents entered in the same unit?"
    )


_UNIT = {"L": "litre", "kg": "kilogram", "pcs": "piece", "m": "metre", "m²": "square metre"}

_WORDS: Mapping[Trouble, Callable[[Finding, Subject], str]] = {
    Trouble.NO_PACK: lambda _f, _a: "No supplier’s pack is entered for it. Add a pack with its price to buy it.",
    Trouble.EMPTY_PACK: lambda f, a: f"The pack {a.pack(f.pack)} holds 0, so it is left out. Enter what is in it.",
    Trouble.NO_PRICE: _no_price,
    Trouble.TWO_UNITS: _two_units,
    Trouble.SAYS_OTHERWISE: lambda f, a: (
        f"The pack {a.pack(f.pack)} names {a.amount(f.beside)}, and {a.amount(f.figure)} is entered as its content. "
        "Mend one of them."
    ),
    Trouble.NO_LEAD_TIME: lambda f, _a: f"No lead time is entered, so {_days(f.figure)} are assumed.",
    Trouble.ZERO_LEAD_TIME: lambda _f, a: (
        f"The lead time of {a.supplier} is 0 days: it is reckoned as if a delivery came on the day of the order. "
        "If that is not so, enter the days with the supplier."
    ),
    Trouble.OLD_ON_ARRIVAL: lambda f, a: (
        f"It would be out of date when it comes: its shelf life is {_days(f.figure)}, and from {a.supplier} it is usually "
        f"{_days(f.beside)} old. Check the shelf life and the days on the lots."
    ),
    Trouble.SHORT_LIFE: _short_life,
    Trouble.CAME_BACK: _came_back,
    Trouble.ENORMOUS_WEEK: _enormous,
    Trouble.BAD_RATE: lambda _f, _a: "The expected use per week is below 0, so it is left out. Enter 0 or more.",
    Trouble.BAD_TARGET: lambda f, _a: (
        f"A service target lies between 0 and 100 %, so {show.percent(f.beside)} is reckoned with. Mend the target."
    ),
    Trouble.CLOCK_BACK: lambda f, _a: (
        f"A movement is dated {show.day(f.on)}, after today: the computer’s clock was set back, or that day is wrong. "
        "Mend it before you order by this list."
    ),
}


def summary(about: Subject) -> str:
    """Why, in a sentence or two."""
    advice = about.advice
    ordered = f" with {about.amount(advice.on_order)} on order" if advice.on_order else ""
    said = f"{about.amount(advice.available)} available{ordered}, reorder point {about.level(advice.point.quantity)}."
    if advice.held_by_cap:
        return f"{said} No more is advised: it would go out of date before it is used."
    if advice.short_on is None:
        return said
    if (advice.short_on - advice.today).days < advice.supply.days:
        return f"{said} Runs short on {show.day(advice.short_on)}, before a delivery is likely to come."
    return f"{said} Runs short on {show.day(advice.short_on)}."


def reasons(about: Subject) -> tuple[Reason, ...]:
    """Why, number by number (replenishment model, section 6)."""
    advice, amount = about.advice, about.amount
    found = [
        Reason(
            words="On hand, without what is set aside", figure=amount(sum((lot.on_hand for lot in advice.facts.lots), Decimal(0)))
        ),
        Reason(words="Usable now", figure=amount(advice.usable)),
        Reason(words="On order", figure=_arrivals(about)),
        Reason(words="Expected to expire unused within the protection time", figure=amount(advice.expires_unused)),
        *_expiring(about),
        Reason(words="Booked by jobs within the protection time", figure=amount(advice.booked)),
        *_booked(about),
        Reason(
            words="Available: usable and arriving in time, less what expires and what is booked", figure=amount(advice.available)
        ),
        _use(about),
        Reason(words=_lead_words(advice.supply), figure=_protection(advice)),
        _point(about),
        Reason(
            words="Order up to: reorder point + economic quantity",
            figure=f"{amount(advice.point.quantity)} + {amount(advice.economic)} = {about.reckoned(advice.order_up_to)}",
        ),
    ]
    if advice.cap is not None:
        found.append(Reason(words="Most that can be used while fresh, less what is there", figure=amount(advice.cap)))
    if advice.beyond_fresh:
        words = "More than that is advised: up to the reorder point, not running short goes before freshness"
        found.append(Reason(words=words, figure=amount(advice.wanted)))
    if advice.short_on is not None:
        found.append(Reason(words="Runs short on, if nothing is bought", figure=show.day(advice.short_on)))
    return (*found, *_purchase(about))


def _use(about: Subject) -> Reason:
    demand = about.advice.demand
    if demand.demand_class is None:
        words = f"Use per week, {demand.method}"
    else:
        words = (
            f"Use per week, {demand.demand_class}, by {demand.method} from {demand.weeks} weeks of the log, "
            f"{demand.weeks_with_use} of them with use"
        )
    return Reason(words=words, figure=f"{about.amount(demand.rate)} ± {about.amount(demand.deviation)}")


def _lead_words(supply: Supply) -> str:
    how = (
        f"mean of {len(supply.observed)} deliveries"
        if supply.is_observed
        else "as stated"
        if supply.lead_days is not None
        else "assumed"
    )
    return f"Protection time: lead time, {how}, and days between orders"


def _protection(advice: Advice) -> str:
    spread = f" ± {show.number(advice.supply.deviation, 1)}" if advice.supply.deviation else ""
    return f"{show.number(advice.supply.days, 1)}{spread} + {show.number(advice.policy.review_days, 0)} days"


def _point(about: Subject) -> Reason:
    point, amount = about.advice.point, about.amount
    share = show.percent(point.target)
    if point.method is PointMethod.NORMAL:
        figure = f"{amount(point.expected)} + {amount(point.safety)} = {about.reckoned(point.quantity)}"
        return Reason(words=f"Reorder point, normal form, for {share} of order cycles", figure=figure)
    read = "" if point.level == point.target else f", read at the {show.percent(point.level, 2)} quantile"
    words = f"Reorder point, drawn {point.draws} times from the log and the lead times, for {share} of order cycles{read}"
    return Reason(words=words, figure=f"{about.reckoned(point.quantity)}, of which {amount(point.expected)} is expected use")


def _arrivals(about: Subject) -> str:
    coming = about.advice.facts.arrivals
    return "; ".join(f"{about.amount(one.quantity)} promised for {show.day(one.on)}" for one in coming) or show.NOTHING


def _booked(about: Subject) -> list[Reason]:
    """Each day of bookings on the horizon, the first few by name."""
    needs = sorted(about.advice.facts.needs, key=lambda need: need.on)
    return _listed("Booked by jobs", [f"{about.amount(need.quantity)} for {show.day(need.on)}" for need in needs])


def _expiring(about: Subject) -> list[Reason]:
    """What goes out of date unused on the horizon if nothing is bought."""
    unused = about.advice.projection.unused
    words = [f"{about.amount(one.quantity)} after {show.day(one.last_day)}" for one in unused]
    return _listed("Going out of date unused in the days of the chart", words)


def _listed(words: str, parts: list[str]) -> list[Reason]:
    more = f" and {len(parts) - MOST_NAMED} more" if len(parts) > MOST_NAMED else ""
    return [Reason(words=words, figure="; ".join(parts[:MOST_NAMED]) + more)] if parts else []


def _purchase(about: Subject) -> list[Reason]:
    """What the chosen packs cost in all, and what the others would."""
    advice = about.advice
    choice = advice.choice
    if choice is None:
        return []
    found = []
    if advice.above_cap:
        words = "The smallest packs hold more than can be used while fresh"
        found.append(Reason(words=words, figure=about.amount(choice.quantity)))
    if choice.spoils:
        figure = f"{about.amount(choice.spoils)}, {show.money(choice.expiry)}"
        found.append(Reason(words="Of the purchase expected to go out of date unused", figure=figure))
    found.append(
        Reason(
            words=f"Chosen: {' + '.join(f'{line.count} × {about.pack(line.pack.key)}' for line in choice.lines)}",
            figure=about.amount(choice.quantity),
        )
    )
    found.append(
        Reason(
            words="Chosen packs: purchase + delivery + holding + expected expiry",
            figure=f"{show.money(choice.cost)} + {show.money(choice.delivery)} + {show.money(choice.holding)} + "
            f"{show.money(choice.expiry)} = {show.money(choice.total)}",
        )
    )
    chosen = {line.pack.key: line.count for line in choice.lines}
    for other in advice.considered:
        if {line.pack.key: line.count for line in other.lines} != chosen:
            [line] = other.lines
            found.append(
                Reason(words=f"Instead {line.count} × {about.pack(line.pack.key)}, all in", figure=show.money(other.total))
            )
    return found
