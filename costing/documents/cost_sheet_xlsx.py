"""The cost sheet as a spreadsheet, for the shop: area to litres to money to price, as live formulas over input cells.

Eight sheets hang together: the takeoff feeds the coats, the coats the mixes, the mixes the materials; area, pieces, fills and
batches feed the lines, the lines the operations and the supplies; materials, supplies and operations feed the cost groups of
the first sheet, from which the price steps follow. So a changed area, film or transfer efficiency reaches every figure. The
units are those that the shop reads: m², µm and L as the costing model writes them, or ft², mil and gal. From a snapshot alone.
"""

from __future__ import annotations

from dataclasses import dataclass

from costing.core.system import CostGroup
from costing.documents.cost_sheet_parts import Money, coats, materials, mixes, takeoff
from costing.documents.cost_sheet_units import Measures, measures_of
from costing.documents.cost_sheet_work import lines, operations, supplies
from costing.snapshots import Snapshot
from costing.wording import GROUP_WORDS
from finishing import show
from finishing.documents.sheet import Book, Formula, Sheet, Width, money_format, ref, sum_of
from finishing.models import Shop

SUMMARY = "Cost sheet"


def cost_sheet_xlsx(snapshot: Snapshot, shop: Shop, *, reference: str = "") -> bytes:
    """The workbook. ``reference`` is the quote that it belongs to."""
    locale = show.preferences().locale
    money = Money(shown=money_format(snapshot.currency, locale), exact="#,##0.000000", places=snapshot.places)
    title = f"Cost sheet {reference or f'E-{snapshot.estimate_id:04d}'} {snapshot.system_name}"
    book = Book(title=title, page_size=shop.page_size, author=shop.name)
    summary = book.sheet(SUMMARY, columns=(Width(34), Width(18, money.exact), Width(16, money.shown), Width(16, money.shown)))
    measures = measures_of(shop.units)
    areas = takeoff(book, snapshot, measures)
    coat_cells = coats(book, snapshot, areas, measures)
    mix_cells = mixes(book, snapshot, coat_cells, measures)
    groups = materials(book, snapshot, mix_cells, measures, money)
    line_cells = lines(book, snapshot, areas, coat_cells, measures)
    groups |= operations(book, snapshot, areas, line_cells, measures, money)
    supply_cells = supplies(book, snapshot, line_cells, measures, money)
    cells = _Cells(
        groups={**groups, **supply_cells.groups},
        area=areas.all,
        residue=coat_cells.residue,
        booth=coat_cells.booth,
        cleaner=supply_cells.cleaner,
    )
    _summary(summary, snapshot, cells, measures, money=money, title=title)
    return book.to_bytes()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cells:
    """What the other sheets come to, as formulas."""

    groups: dict[str, str]
    area: str
    residue: str  # volume
    booth: str  # min
    cleaner: str  # volume


def _summary(sheet: Sheet, snapshot: Snapshot, cells: _Cells, measures: Measures, *, money: Money, title: str) -> None:
    """The groups, exact and as printed, their sum, the area, and the way to the price."""
    sheet.heading(title)
    sheet.text("For the shop only: do not hand this to the customer.")
    sheet.facts(
        [("Estimate", snapshot.estimate_name), ("Coating system", snapshot.system_name), ("Reckoned on", snapshot.made_on)]
    )
    sheet.blank()
    inputs = _inputs(sheet, snapshot, cells, measures, money)
    sheet.blank()
    sheet.header(("Cost group", "Exact", "As printed", f"Per {measures.area}"))
    first = sheet.next_row
    formulas = _group_formulas(cells, inputs, first=first)
    for group in CostGroup:
        row = sheet.next_row
        exact = ref("B", row)
        sheet.row(
            (
                GROUP_WORDS[group],
                Formula(formulas[group]),
                Formula(f"=ROUND({exact},{money.places})"),
                _per_area(ref("C", row), inputs["area"], money),
            )
        )
    last = sheet.next_row - 1
    total = sheet.next_row
    cost = ref("C", total)
    sheet.total(("True cost", sum_of("B", first, last), sum_of("C", first, last), _per_area(cost, inputs["area"], money)))
    sheet.blank()
    _price(sheet, snapshot, inputs, measures, cost=cost, money=money)


def _per_area(cell: str, area: str, money: Money) -> Formula:
    return Formula(f"=IF({area}>0,ROUND({cell}/{area},{money.places}),0)")


def _inputs(sheet: Sheet, snapshot: Snapshot, cells: _Cells, measures: Measures, money: Money) -> dict[str, str]:
    """What the other sheets come to, the shop's rates and the terms of the price, one a row; the names of their cells."""
    rates, price = snapshot.rates, snapshot.price
    sheet.row(("Change a number here or on the other sheets and every figure follows.",))
    volume = measures.volume
    rows = (
        ("area", f"Finished area, {measures.area}", Formula(f"={cells.area}"), "#,##0.000000"),
        ("booth_minutes", "In the booth, min", Formula(f"={cells.booth}"), "#,##0.00"),
        ("booth_rate", "Booth rate per hour", rates.booth_rate, money.shown),
        ("cleaner", f"Cleaner used, {volume}", Formula(f"={cells.cleaner}"), "#,##0.000000"),
        ("disposal_fee", f"Disposal fee per {volume}", measures.per(rates.disposal_fee, "L"), money.shown),
        ("rework", "Rework allowance", rates.rework_allowance, "0.00%"),
        ("overhead", "Overhead on labour", rates.overhead_rate, "0.00%"),
        ("rate", price.basis.capitalize(), price.rate, "0.00%"),
        ("minimum", "Minimum charge", price.minimum_charge, money.shown),
        ("step", "Price step", price.price_step, money.shown),
        ("tax", f"{snapshot.tax_name}, rate", price.tax_rate, "0.00%"),
    )
    found = {}
    for key, words, value, number_format in rows:
        row = sheet.row((words, value), formats=("", number_format))
        found[key] = ref("B", row, fixed=True)
    return found


def _group_formulas(cells: _Cells, inputs: dict[str, str], *, first: int) -> dict[str, str]:
    """The formula of every group's exact amount; rework takes the rows above it, overhead the labour row."""
    row_of = {group: first + number for number, group in enumerate(CostGroup)}
    above = f"{ref('B', first)}:{ref('B', row_of[CostGroup.REWORK] - 1)}"
    labour = ref("B", row_of[CostGroup.LABOUR])
    formulas: dict[str, str] = {group: f"={cells.groups.get(group, '0')}" for group in CostGroup}
    formulas[CostGroup.BOOTH] = f"={inputs['booth_minutes']}*{inputs['booth_rate']}/60"
    formulas[CostGroup.DISPOSAL] = f"=({cells.residue}+{inputs['cleaner']})*{inputs['disposal_fee']}"
    formulas[CostGroup.REWORK] = f"={inputs['rework']}*SUM({above})"
    formulas[CostGroup.OVERHEAD] = f"={inputs['overhead']}*{labour}"
    return formulas


def _price(sheet: Sheet, snapshot: Snapshot, inputs: dict[str, str], measures: Measures, *, cost: str, money: Money) -> None:
    """Margin or markup, minimum charge, price step, tax, total, and the price per area."""
    places, step = money.places, inputs["step"]
    sheet.header(("From cost to price", "Exact", "As printed", ""))
    by_rate = f"={cost}/(1-{inputs['rate']})" if snapshot.price.basis == "margin" else f"={cost}*(1+{inputs['rate']})"
    calculated = ref("B", sheet.row(("Price", Formula(by_rate), Formula(f"=ROUND({ref('B', sheet.next_row)},{places})"))))
    minimum = f"=MAX({calculated},{inputs['minimum']})"
    words = "After the minimum charge"
    after = ref("B", sheet.row((words, Formula(minimum), Formula(f"=ROUND({ref('B', sheet.next_row)},{places})"))))
    # Nine decimals of a step keep the noise of binary fractions from lifting a price by a whole step.
    stepped = f"=IF({step}>0,ROUNDUP(ROUND({after}/{step},9),0)*{step},{after})"
    net_row = sheet.row(("Price before tax", Formula(stepped), Formula(f"=ROUND({ref('B', sheet.next_row)},{places})")))
    net = ref("C", net_row)
    tax_row = sheet.row(
        (snapshot.tax_name, Formula(f"={net}*{inputs['tax']}"), Formula(f"=ROUND({ref('B', sheet.next_row)},{places})"))
    )
    sheet.total(("Price with tax", None, Formula(f"={net}+{ref('C', tax_row)}"), None))
    sheet.row((f"Price before tax per {measures.area}", None, _per_area(net, inputs["area"], money)))
