"""The comparison of systems as a spreadsheet, for the shop: the answer, every size with every cost group, and live sums.

The figures of each size are inputs, sums, money per area and shares are formulas over them. Areas, litres and grams stand in
metric units, as the costing model reckons; money per ft² stands beside money per m² for a shop that reads US units.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from costing.comparison_shown import change_words
from costing.comparison_words import basis, headline, what_would_change_it
from costing.core.compare import Point
from costing.core.system import CostGroup
from costing.services.comparing import Compared
from costing.wording import GROUP_WORDS
from finishing import show
from finishing.documents.sheet import Book, Formula, Sheet, Value, Width, money_format, ref
from finishing.units import UnitSystem, convert

ANSWER, CHARTS, SIZES, SENSITIVITY, OVERTAKING = "Comparison", "Charts", "Job sizes", "Sensitivity", "Overtaking"
_GROUPS = tuple(CostGroup)
_FIRST_GROUP = 3  # column of the first cost group on the sheet of sizes
_COST = _FIRST_GROUP + len(_GROUPS)
_AREA_FORMAT, _LITRES = "#,##0.00", "#,##0.000"


def comparison_xlsx(compared: Compared, *, on: date) -> bytes:
    """The workbook. ValueError where no system could be priced."""
    if compared.comparison is None:
        raise ValueError("no system of the comparison could be priced")
    shop = compared.shop
    money = money_format(shop.currency, show.preferences_of(shop).locale)
    book = Book(title="Comparison of systems", page_size=shop.page_size, author=shop.name)
    answer = book.sheet(ANSWER, columns=(Width(60), Width(16, money), Width(16, money), Width(14), Width(14), Width(14)))
    charts = book.sheet(CHARTS, columns=[Width(34, _AREA_FORMAT), *(Width(15, money) for _ in _GROUPS)], landscape=True)
    rows = _sizes(book, compared, money)
    drawn = _charts(charts, compared, rows)
    _sensitivity(book, compared, money)
    _overtaking(book, compared)
    _answer(answer, compared, rows, on=on, money=money)
    for place, chart in enumerate(drawn):
        answer.chart(chart, ref(1, answer.next_row + 1 + 24 * place))
    return book.to_bytes()


def _answer(sheet: Sheet, compared: Compared, rows: dict[tuple[str, float], int], *, on: date, money: str) -> None:
    """The sentences, and the systems at the size that is asked about, taken from the sheet of sizes."""
    asked = compared.question
    sheet.heading("Comparison of systems")
    sheet.facts(
        [
            ("Made on", on),
            ("Prices of", asked.prices_of or on),
            ("Answered for, m²", asked.at),
            ("Currency", compared.shop.currency),
        ]
    )
    sheet.blank()
    for sentence in (headline(compared), *what_would_change_it(compared), basis(compared)):
        sheet.text(sentence)
    sheet.blank()
    sheet.header(("System, the cheapest first", "True cost", "True cost per m²", "Labour, h", "Working days", "Waste"))
    for one, _ in compared.ranked:
        at = rows[one.key, compared.at]
        columns = (_COST, _COST + 1, _COST + 2, _COST + 4, _COST + 10)
        cells: list[Value] = [Formula(f"={ref(column, at, sheet=SIZES)}") for column in columns]
        sheet.row((one.name, *cells), formats=("", money, money, "0.00", "0.0", "0.0%"))


def _sizes(book: Book, compared: Compared, money: str) -> dict[tuple[str, float], int]:
    """Every system at every size, with live sums; the rows by system and size."""
    comparison = compared.comparison
    if comparison is None:
        return {}
    is_us = compared.shop.units is UnitSystem.US
    columns = [("Area, m²", Width(12, _AREA_FORMAT)), ("System", Width(34))]
    columns += [(GROUP_WORDS[group], Width(13, money)) for group in _GROUPS]
    columns += [("True cost", Width(14, money)), ("True cost per m²", Width(14, money)), ("Labour, h", Width(11, "0.00"))]
    columns += [("Elapsed, h", Width(13, "0.00")), ("Working days", Width(12, "0.0")), ("VOC, kg", Width(13, "0.000"))]
    columns += [
        ("VOC, g/m²", Width(13, "0.0")),
        ("Coating drawn, L", Width(13, _LITRES)),
        ("Coating bought, L", Width(13, _LITRES)),
    ]
    columns += [("On the work, L", Width(13, _LITRES)), ("Waste share", Width(11, "0.0%"))]
    if is_us:
        columns.append(("True cost per ft²", Width(14, money)))
    sheet = book.sheet(SIZES, columns=[width for _, width in columns], landscape=True)
    sheet.header([words for words, _ in columns])
    rows = {}
    for place, size in enumerate(comparison.sizes):
        for one in comparison.candidates:
            row = sheet.next_row
            rows[one.key, size] = row
            sheet.row(_size_row(comparison.points[one.key][place], one.name, row, is_us=is_us))
    return rows


def _size_row(point: Point, name: str, row: int, *, is_us: bool) -> list[Value]:
    first, last, area, cost = ref(_FIRST_GROUP, row), ref(_COST - 1, row), ref(1, row), ref(_COST, row)
    voc, drawn, on_work = (ref(_COST + offset, row) for offset in (5, 7, 9))
    values: list[Value] = [
        point.area,
        name,
        *(point.groups[group] for group in _GROUPS),
        Formula(f"=SUM({first}:{last})"),
        Formula(f"={cost}/{area}"),
        point.labour_minutes / 60,
        point.elapsed_minutes / 60,
        point.days,
        point.voc_kg,
        Formula(f"=1000*{voc}/{area}"),
        point.drawn_litres,
        point.bought_litres,
        point.drawn_litres - point.wasted_litres,
        Formula(f"=IF({drawn}>0,1-{on_work}/{drawn},0)"),
    ]
    if is_us:
        feet = convert(1, from_unit="m²", to_unit="ft²")
        values.append(Formula(f"={cost}/({area}*{float(feet)!r})"))
    return values


def _charts(sheet: Sheet, compared: Compared, rows: dict[tuple[str, float], int]) -> list[Any]:
    """The tables that both charts are drawn from, which take their figures from the sheet of sizes; and the charts."""
    from openpyxl.chart import BarChart, Reference, ScatterChart, Series

    comparison = compared.comparison
    if comparison is None:
        return []
    systems, last_system = comparison.candidates, len(comparison.candidates) + 1
    top = sheet.header(("Area, m²", *(one.name for one in systems)))
    for size in comparison.sizes:
        sheet.row((size, *(Formula(f"={ref(_COST + 1, rows[one.key, size], sheet=SIZES)}") for one in systems)))
    bottom = sheet.next_row - 1
    sheet.blank()
    stacked = sheet.header(("True cost per m² by group", *(GROUP_WORDS[group] for group in _GROUPS)))
    for one, _ in compared.ranked:
        at = rows[one.key, compared.at]
        parts = (ref(_FIRST_GROUP + place, at, sheet=SIZES) for place in range(len(_GROUPS)))
        sheet.row((one.name, *(Formula(f"={part}/{ref(1, at, sheet=SIZES)}") for part in parts)))

    def cells(first_column: int, first: int, last_column: int, last: int) -> Reference:
        return Reference(range_string=f"'{CHARTS}'!{ref(first_column, first, fixed=True)}:{ref(last_column, last, fixed=True)}")

    lines = ScatterChart(scatterStyle="lineMarker")
    lines.title, lines.x_axis.title, lines.y_axis.title = "True cost per m² by job size", "Job size, m²", compared.shop.currency
    for column in range(2, last_system + 1):
        line = Series(cells(column, top, column, bottom), cells(1, top + 1, 1, bottom), title_from_data=True)
        line.marker.symbol = "none"
        lines.series.append(line)
    bars = BarChart(barDir="bar", grouping="stacked", overlap=100)
    bars.title, bars.y_axis.title = (
        f"True cost per m² by group, at {compared.question.at.normalize():f} m²",
        compared.shop.currency,
    )
    bars.add_data(cells(2, stacked, len(_GROUPS) + 1, sheet.next_row - 1), titles_from_data=True)
    bars.set_categories(cells(1, stacked + 1, 1, sheet.next_row - 1))
    for chart in (lines, bars):
        chart.width, chart.height = 24, 11
        chart.x_axis.delete = chart.y_axis.delete = False
    return [lines, bars]


def _sensitivity(book: Book, compared: Compared, money: str) -> None:
    comparison = compared.comparison
    if comparison is None:
        return
    systems = comparison.candidates
    sheet = book.sheet(SENSITIVITY, columns=(Width(40), *(Width(18, money) for _ in systems), Width(34)))
    sheet.header(("True cost per m² with", *(one.name for one in systems), "Cheapest"))
    for row in compared.sensitivities:
        sheet.row((change_words(row), *(row.per_m2[one.key] for one in systems), row.cheapest.name))


def _overtaking(book: Book, compared: Compared) -> None:
    comparison = compared.comparison
    sheet = book.sheet(OVERTAKING, columns=(Width(16, _AREA_FORMAT), Width(36), Width(36)))
    sheet.header(("From about, m²", "is cheaper", "than"))
    for one in comparison.overtakings if comparison else ():
        sheet.row((one.area, one.ahead.name, one.behind.name))
