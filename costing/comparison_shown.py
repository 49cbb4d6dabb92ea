"""The tables and charts of a comparison, the same for the page and the PDF."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from costing.comparison_words import LEVER_WORDS
from costing.core.checks import to_decimal
from costing.core.compare import Comparison, Point
from costing.core.sensitivity import Sensitivity
from costing.services.comparing import Compared, area_unit
from costing.wording import CHART_PARTS
from finishing import show
from finishing.units import UnitSystem, convert

if TYPE_CHECKING:
    from reportlab.graphics.shapes import Drawing

Row = dict[str, str]
CHART_WIDTH = 880
_FIGURE, _TEXT = True, False


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownTable:
    """A table of ready words: its name, columns of (key, heading, whether it holds figures), and rows by key."""

    slug: str
    title: str
    columns: tuple[tuple[str, str, bool], ...]
    rows: list[Row]
    note: str = ""
    empty: str = ""  # said where there are no rows


def tables_of(compared: Compared) -> list[ShownTable]:
    """Every table, in the order of the page; none where nothing could be priced."""
    if compared.comparison is None:
        return []
    comparison = compared.comparison
    made = [_ranking(compared), _parts(compared), _by_size(compared, comparison)]
    if len(comparison.candidates) > 1:
        made += [_overtakings(comparison), _sensitivity(compared)]
    return [*made, _work(compared, comparison)]


def _ranking(compared: Compared) -> ShownTable:
    unit = area_unit(compared.shop).words
    rows = [
        {
            "system": one.name,
            "per_area": _per_area(point, point.cost, compared),
            "cost": show.money(point.cost),
            **_work_cells(point),
        }
        for one, point in compared.ranked
    ]
    columns = (
        ("system", "System", _TEXT),
        ("per_area", f"True cost per {unit}", _FIGURE),
        ("cost", "True cost of the job", _FIGURE),
        *_WORK_COLUMNS,
    )
    return ShownTable(
        slug="ranking",
        title=f"At {show.area(compared.at)}, the cheapest first",
        columns=columns,
        rows=rows,
        note=(
            "Waste is the share of the coating drawn from stock that does not end on the work: overspray, residue and heel. "
            "Coating bought is in whole packs of the kind the shop buys as a rule; what is left over stays in stock and is not "
            "part of the cost. Working days include drying, nights dry too, and end when the work can be stacked."
        ),
    )


_WORK_COLUMNS = (
    ("labour", "Labour", _FIGURE),
    ("days", "Working days", _FIGURE),
    ("voc", "VOC per area", _FIGURE),
    ("bought", "Coating bought", _FIGURE),
    ("waste", "Waste", _FIGURE),
)


def _work_cells(point: Point) -> Row:
    return {
        "labour": show.minutes(point.labour_minutes),
        "days": show.number(point.days, 1),
        "voc": voc_per_area(point) + (" *" if point.voc_unknown else ""),
        "bought": show.volume(point.bought_litres),
        "waste": show.percent(point.waste_share),
    }


def voc_per_area(point: Point) -> str:
    """Emitted VOC per area: g/m², or pounds per 1,000 ft² for a shop that reads US units."""
    if show.preferences().units is UnitSystem.METRIC:
        return f"{show.number(point.voc_per_m2, 1)} g/m²"
    pounds = convert(to_decimal(point.voc_per_m2) / 1000, from_unit="kg", to_unit="lb")
    metres = convert(1000, from_unit="ft²", to_unit="m²")
    return f"{show.number(float(pounds * metres), 2)} lb/1,000 ft²"


def _per_area(point: Point, amount: Decimal, compared: Compared) -> str:
    return show.money(amount / to_decimal(point.area) * area_unit(compared.shop).in_m2)


def parts_of(point: Point) -> list[Decimal]:
    """The cost groups of a job as the six parts of the chart."""
    return [sum((point.groups[group] for group in groups), Decimal(0)) for _, groups in CHART_PARTS]


def _parts(compared: Compared) -> ShownTable:
    unit = area_unit(compared.shop).words
    rows = [
        {
            "system": one.name,
            **{f"p{place}": _per_area(point, amount, compared) for place, amount in enumerate(parts_of(point))},
            "all": _per_area(point, point.cost, compared),
        }
        for one, point in compared.ranked
    ]
    columns = (
        ("system", "System", _TEXT),
        *((f"p{place}", words, _FIGURE) for place, (words, _) in enumerate(CHART_PARTS)),
        ("all", "True cost", _FIGURE),
    )
    title = f"Where the cost goes, per {unit}, at {show.area(compared.at)}"
    return ShownTable(slug="parts", title=title, columns=columns, rows=rows)


def _by_size(compared: Compared, comparison: Comparison) -> ShownTable:
    unit = area_unit(compared.shop).words
    rows = []
    for size in compared.table_sizes:
        found = comparison.at(size)
        rows.append(
            {
                "size": show.area(size),
                **{one.key: _per_area(found[one.key], found[one.key].cost, compared) for one in comparison.candidates},
                "cheapest": comparison.ranked(size)[0][0].name,
            }
        )
    columns = (("size", "Job size", _FIGURE), *_system_columns(comparison), ("cheapest", "Cheapest", _TEXT))
    return ShownTable(slug="sizes", title=f"True cost per {unit} by job size", columns=columns, rows=rows)


def _system_columns(comparison: Comparison) -> tuple[tuple[str, str, bool], ...]:
    return tuple((one.key, one.name, _FIGURE) for one in comparison.candidates)


def _overtakings(comparison: Comparison) -> ShownTable:
    rows = [
        {"area": show.area(to_decimal(float(f"{one.area:.3g}"))), "ahead": one.ahead.name, "behind": one.behind.name}
        for one in comparison.overtakings
    ]
    columns = (("area", "From about", _FIGURE), ("ahead", "is cheaper", _TEXT), ("behind", "than", _TEXT))
    note = "Cost climbs in steps of whole fills, batches and supplies, so two systems may change places more than once."
    return ShownTable(
        slug="overtakings",
        title="Where one overtakes another",
        columns=columns,
        rows=rows,
        note=note if rows else "",
        empty="No system overtakes another between the sizes compared.",
    )


def change_words(row: Sensitivity) -> str:
    """What was changed: ``Wages 10 % lower``."""
    if row.lever is None:
        return "As reckoned"
    way = "higher" if row.factor > 1 else "lower"
    return f"{LEVER_WORDS[row.lever]} {show.percent(abs(row.factor - 1))} {way}"


def _sensitivity(compared: Compared) -> ShownTable:
    unit = area_unit(compared.shop)
    systems = compared.comparison.candidates if compared.comparison else ()
    rows = [
        {
            "change": change_words(row),
            **{one.key: show.money(row.per_m2[one.key] * unit.in_m2) for one in systems},
            "cheapest": row.cheapest.name,
        }
        for row in compared.sensitivities
    ]
    columns = (
        ("change", "What is changed, in all systems alike", _TEXT),
        *((one.key, one.name, _FIGURE) for one in systems),
        ("cheapest", "Cheapest then", _TEXT),
    )
    title = f"If a figure is off: true cost per {unit.words} at {show.area(compared.at)}"
    note = "A transfer efficiency is changed by a share of itself and stays at 100 % or below."
    return ShownTable(slug="sensitivity", title=title, columns=columns, rows=rows, note=note)


def _work(compared: Compared, comparison: Comparison) -> ShownTable:
    rows = [
        {"size": show.area(size), "system": one.name, **_work_cells(comparison.at(size)[one.key])}
        for size in compared.table_sizes
        for one in comparison.candidates
    ]
    columns = (("size", "Job size", _FIGURE), ("system", "System", _TEXT), *_WORK_COLUMNS)
    unknown = any(point.voc_unknown for points in comparison.points.values() for point in points)
    note = "* A liquid of this system has no VOC content, so it is left out." if unknown else ""
    return ShownTable(slug="work", title="Hours, days, VOC and coating by job size", columns=columns, rows=rows, note=note)


# ------------------------------------------------------------------ charts


def lines_chart(compared: Compared) -> Drawing:
    """True cost per area over job size, one line a system. ValueError where nothing could be priced."""
    from finishing.charts import Series, line_chart

    if compared.comparison is None:
        raise ValueError("no system of the comparison could be priced")
    unit = area_unit(compared.shop)
    size = float(unit.in_m2)
    lines = [
        Series(
            words=one.name,
            points=tuple((point.area / size, float(point.per_m2) * size) for point in compared.comparison.points[one.key]),
        )
        for one in compared.comparison.candidates
    ]
    return line_chart(
        lines,
        x_words=f"job size, {unit.words}",
        y_words=f"true cost per {unit.words}, {compared.shop.currency}",
        width=CHART_WIDTH,
        height=340,
    )


def bars_chart(compared: Compared) -> Drawing:
    """True cost per area stacked by group: every system at the smallest, the asked and the largest size."""
    from finishing.charts import Bar, bar_chart

    if compared.comparison is None:
        raise ValueError("no system of the comparison could be priced")
    unit = area_unit(compared.shop)
    bars = [
        Bar(
            words=f"{show.area(size)}: {one.name}",
            amounts=tuple(float(amount / to_decimal(point.area) * unit.in_m2) for amount in parts_of(point)),
        )
        for size in bar_sizes(compared)
        for one, point in compared.comparison.ranked(size)
    ]
    words = f"true cost per {unit.words}, {compared.shop.currency}"
    return bar_chart(bars, [name for name, _ in CHART_PARTS], unit=words, width=CHART_WIDTH, bar_height=20)


def bar_sizes(compared: Compared) -> Sequence[float]:
    """The sizes drawn as bars, each once."""
    sizes = compared.table_sizes
    return sorted({sizes[0], compared.at, sizes[-1]})
