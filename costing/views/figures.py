"""The figures of an estimate's systems side by side, in the shop's units."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal

from costing.core.calendar import LaidOut, lay_out
from costing.core.checks import to_decimal
from costing.core.schedule import elapsed_steps
from costing.core.takeoff import ALL_ZONES, Takeoff, Zone, ZoneTotal
from costing.core.voc import CoatVoc, coat_vocs
from costing.services.estimating import PricedOption
from costing.services.risk import Assessed, assess
from costing.tables.pricing import FixedTable, Row, plain_table, side_by_side
from costing.wording import GROUP_WORDS
from finishing import show
from finishing.models import Shop

_FIGURE, _TEXT = True, False


def days_words(option: PricedOption, shop: Shop) -> str:
    """Working days until the work can be stacked; coats dry through the night."""
    return show.number(laid_out(option, shop).days, 1)


def laid_out(option: PricedOption, shop: Shop) -> LaidOut:
    """The operations of a priced system on the shop's working days."""
    return lay_out(elapsed_steps(option.result.operations), hours_a_day=float(shop.working_hours))


def takeoff_table(takeoff: Takeoff) -> FixedTable:
    """Area and pieces by zone."""
    zones = ((Zone.SHOW, "Show"), (Zone.HIDDEN, "Hidden"))
    rows = [_zone_row(words, takeoff.total(frozenset({zone}))) for zone, words in zones]
    total = _zone_row("All", takeoff.total(ALL_ZONES))
    columns = (("zone", "Zone", _TEXT), ("pieces", "Pieces", _FIGURE), ("area", "Area", _FIGURE))
    return plain_table(columns, rows, caption="Takeoff by zone", prefix="takeoff-", total=total, hide_caption=True)


def _zone_row(words: str, total: ZoneTotal) -> Row:
    return {"zone": words, "pieces": show.number(total.pieces, 0), "area": show.area(total.area)}


_FIGURES: Sequence[tuple[str, Callable[[PricedOption, Shop], str]]] = (
    ("True cost", lambda option, _: show.money(option.shown.true_cost)),
    ("True cost per area", lambda option, _: show.per_area(option.shown.cost_per_m2)),
    ("Price before tax", lambda option, _: show.money(option.price.net)),
    ("Price per area", lambda option, _: show.per_area(option.price_per_m2)),
    ("Tax", lambda option, _: show.money(option.price.tax)),
    ("Price with tax", lambda option, _: show.money(option.price.total)),
    ("Left over the cost", lambda option, _: show.money(option.price.contribution)),
    ("Margin", lambda option, _: show.percent(option.price.margin)),
    ("Labour", lambda option, _: show.minutes(option.result.labour_minutes)),
    ("Elapsed time", lambda option, _: show.minutes(option.result.elapsed_minutes)),
    ("Working days", days_words),
    ("Coating drawn from stock", lambda option, _: show.volume(drawn_litres(option))),
    ("VOC emitted", lambda option, _: voc_kg(option)),
)


def drawn_litres(option: PricedOption) -> float:
    """Litres of all coating materials that leave the stock, heel included."""
    return sum(use.drawn_litres for use in option.result.material_uses)


def voc_kg(option: PricedOption) -> str:
    """Emitted VOC in the shop's unit of mass."""
    return show.quantity(to_decimal(option.result.voc_kg), "kg")


def comparison_table(options: Sequence[PricedOption], shop: Shop) -> FixedTable:
    """The main figures of the systems side by side."""
    rows = [
        {"words": words, **{f"s{number}": tell(option, shop) for number, option in enumerate(options)}}
        for words, tell in _FIGURES
    ]
    rows += _risk_rows(options)
    return side_by_side(rows, _names(options), caption="The systems side by side", first="Figure", prefix="systems-")


def _risk_rows(options: Sequence[PricedOption]) -> list[Row]:
    """How far the cost may stray, and how often the price would not cover it."""
    risks = [assess(option) for option in options]
    return [
        {"words": "Cost in 8 of 10 such jobs", **{f"s{number}": eight_of_ten(risk) for number, risk in enumerate(risks)}},
        {"words": "Chance of a loss", **{f"s{number}": show.percent(risk.loss) for number, risk in enumerate(risks)}},
    ]


def eight_of_ten(risk: Assessed) -> str:
    """From P10 to P90."""
    return f"{show.money(risk.p10)} to {show.money(risk.p90)}"


def groups_table(options: Sequence[PricedOption]) -> FixedTable:
    """The cost groups of the systems side by side, each rounded, with their sum."""
    amounts = [{line.group: line.amount for line in option.shown.lines} for option in options]
    rows: list[Row] = [
        {"words": words, **{f"s{number}": show.money(found[group]) for number, found in enumerate(amounts)}}  # type: ignore[index]
        for group, words in GROUP_WORDS.items()
    ]
    totals = {f"s{number}": show.money(option.shown.true_cost) for number, option in enumerate(options)}
    total = {"words": "True cost", **totals}
    return side_by_side(rows, _names(options), caption="Where the cost goes", first="Cost group", prefix="groups-", total=total)


def _names(options: Sequence[PricedOption]) -> list[str]:
    return [option.system.name for option in options]


def voc_table(options: Sequence[PricedOption], shop: Shop) -> FixedTable:
    """VOC content as applied of every coat, beside the limit that the shop entered."""
    rows = [
        {
            "system": option.system.name,
            "coat": voc.operation,
            "actual": show.voc(voc.actual),
            "less_water": show.voc(voc.less_water) if voc.less_water is not None else _unknown(voc),
            "limit": show.voc(shop.voc_limit) if shop.voc_limit is not None else "none entered",
            "against": _against(voc.less_water, shop.voc_limit),
        }
        for option in options
        for voc in coat_vocs(option.result)
    ]
    columns = (
        ("system", "System", _TEXT),
        ("coat", "Coat", _TEXT),
        ("actual", "With water", _FIGURE),
        ("less_water", "Less water and exempt", _FIGURE),
        ("limit", "Limit entered", _FIGURE),
        ("against", "Against it", _TEXT),
    )
    return plain_table(
        columns, rows, caption="VOC content of each coat as applied", prefix="voc-", empty="No coats.", hide_caption=True
    )


def _unknown(voc: CoatVoc) -> str:
    return f"unknown for {', '.join(voc.unknown)}"


def _against(content: float | None, limit: Decimal | None) -> str:
    """The difference from the limit in words; no verdict."""
    if content is None or limit is None:
        return show.NOTHING
    difference = to_decimal(content) - limit
    if difference == 0:
        return "equal"
    return f"{show.voc(abs(difference))} {'above' if difference > 0 else 'below'}"


def warnings_of(options: Sequence[PricedOption]) -> Mapping[str, tuple[str, ...]]:
    """What readers should know, each sentence once, with the systems that it is about."""
    found: dict[str, list[str]] = {}
    for option in options:
        for warning in option.warnings:
            found.setdefault(warning, []).append(option.system.name)
    return {warning: tuple(names) for warning, names in found.items()}
