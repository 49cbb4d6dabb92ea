"""The answer of a comparison in words: which system is cheapest at this size, by how much, and what would change that."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from costing.core.checks import to_decimal
from costing.core.compare import Candidate, Comparison, Lead, Point
from costing.core.sensitivity import Lever, Turning
from costing.services.comparing import Compared, area_unit
from finishing import show
from finishing.models import Shop

MOST_LEADS = 5  # more changes of the lead than this are told as a range

LEVER_WORDS: Mapping[Lever, str] = {
    Lever.PRICE: "Material prices",
    Lever.EFFICIENCY: "Transfer efficiency",
    Lever.LABOUR: "Wages",
}


def per_area(point_cost: Decimal, area: float, shop: Shop) -> str:
    """Money per unit of area, in the unit that the shop reads."""
    unit = area_unit(shop)
    return f"{show.money(point_cost / to_decimal(area) * unit.in_m2)} per {unit.words}"


def headline(compared: Compared) -> str:
    """Which is the cheapest at the size that is asked about, and by how much."""
    ranked = compared.ranked
    if not ranked:
        return "None of these systems can be priced yet."
    (best, point), *others = ranked
    size = show.area(compared.at)
    costs = f"{per_area(point.cost, point.area, compared.shop)}, {show.money(point.cost)} for the whole job"
    if not others:
        return f"At {size}, {best.name} costs {costs}. Choose a second system to compare it with."
    rival, next_point = others[0]
    gap = _gap(point, rival, next_point, compared.shop)
    return f"At {size}, {best.name} is the cheapest of {len(ranked)} systems: {costs}. {gap}"


def _gap(point: Point, rival: Candidate, next_point: Point, shop: Shop) -> str:
    difference = next_point.cost - point.cost
    if not difference:
        return f"{rival.name} costs exactly as much."
    share = show.percent(difference / point.cost) if point.cost else show.NOTHING
    more = f"{per_area(difference, point.area, shop)} more, which is {share} and {show.money(difference)} on this job"
    return f"The next, {rival.name}, costs {more}."


def what_would_change_it(compared: Compared) -> list[str]:
    """Sentences on size, prices, transfer efficiency and wages; none where there is nothing to choose between."""
    if compared.comparison is None or len(compared.ranked) < 2:
        return []
    best = compared.ranked[0][0]
    return [_by_size(compared.comparison, best), *(_by_lever(one, best) for one in compared.turnings)]


def _by_size(comparison: Comparison, best: Candidate) -> str:
    """Where another size of job would make another system the cheapest."""
    leads = comparison.leads()
    if len(leads) > MOST_LEADS:
        first, last = leads[1], leads[-1]
        return (
            f"Job size: the lead changes {len(leads) - 1} times between about {show.area(_about(first.area))} and "
            f"{show.area(_about(last.area))}, since cost climbs in steps of whole fills, batches and supplies. "
            "The table below shows each change."
        )
    if len(leads) == 1:
        low, high = show.area(comparison.sizes[0]), show.area(comparison.sizes[-1])
        return f"Job size: {best.name} stays the cheapest from {low} to {high}."
    return "Job size: " + "; ".join(_stretches(leads)) + "."


def _stretches(leads: tuple[Lead, ...]) -> list[str]:
    ends = [show.area(_about(lead.area)) for lead in leads[1:]]
    words = [f"up to about {ends[0]} {leads[0].candidate.name} is the cheapest"]
    words += [f"from there to about {end} {lead.candidate.name}" for lead, end in zip(leads[1:-1], ends[1:], strict=True)]
    return [*words, f"above that {leads[-1].candidate.name}"]


def _about(area: float) -> Decimal:
    """A size that is known to half a percent, with no more figures than that: three of them."""
    return to_decimal(float(f"{area:.3g}"))


def _by_lever(turning: Turning, best: Candidate) -> str:
    words = LEVER_WORDS[turning.lever]
    if turning.factor is None or turning.rival is None:
        return f"{words}: {_NOTHING_CHANGES[turning.lever].format(best=best.name)}"
    move = show.percent(abs(turning.factor - 1))
    way = "higher" if turning.factor > 1 else "lower"
    return f"{words}: {_TURNS[turning.lever].format(move=move, way=way, best=best.name, rival=turning.rival.name)}"


_TURNS: Mapping[Lever, str] = {
    Lever.PRICE: "if all materials of {best} cost {move} more, {rival} would be the cheapest.",
    Lever.EFFICIENCY: "if that of {best} were {move} lower than reckoned with, {rival} would be the cheapest.",
    Lever.LABOUR: "with all wages {move} {way}, {rival} would be the cheapest.",
}
_NOTHING_CHANGES: Mapping[Lever, str] = {
    Lever.PRICE: "even at double the price of its materials {best} stays the cheapest.",
    Lever.EFFICIENCY: "even at half its transfer efficiency {best} stays the cheapest.",
    Lever.LABOUR: "{best} stays the cheapest from half to double the wages.",
}


def basis(compared: Compared) -> str:
    """What the figures stand on: pieces, prices, and where labour and rates come from."""
    asked = compared.question
    estimate = asked.pieces.estimate
    if estimate is not None:
        pieces = f"The jobs are made of the pieces of {estimate.number}, “{estimate.name}”, more or fewer of them"
    else:
        hidden = f", {show.percent(asked.pieces.hidden)} of them hidden" if asked.pieces.hidden else ""
        pieces = f"The jobs are made of pieces of {show.area(asked.pieces.area)} each{hidden}"
    prices = f"the prices of {show.day(asked.prices_of)}" if asked.prices_of else "today’s prices"
    own = ""
    if estimate is not None and estimate.assumptions.exists():
        own = f" What was changed for {estimate.number} alone is left out here, so its own figures differ."
    told = f"{pieces}. Materials at {prices}; systems, wages and rates as they stand today.{own}"
    return f"{told} {_from_the_log(compared)}" if asked.learnt else told


def _from_the_log(compared: Compared) -> str:
    """What was taken from the log for each setup, and what was not there to take."""
    parts = []
    for one in compared.learnt:
        if one.efficiency is None and one.rate is None:
            parts.append(f"{one.setup.name} as it is set, since no coat is logged with it")
            continue
        shown = [f"{show.percent(one.efficiency)} of the solids land"] if one.efficiency is not None else []
        shown += [f"{show.area(one.rate)} an hour"] if one.rate is not None else []
        parts.append(f"{one.setup.name}: {', '.join(shown)}")
    return f"From the log: {'; '.join(parts)}." if parts else "No spray setup takes part."
