"""The cost sheet as a spreadsheet, for the shop: area to litres to money to price, as live formulas over input cells.

Seven sheets hang together: the takeoff feeds the coats, the coats the mixes, the mixes the materials; materials, supplies
and operations feed the cost groups of the first sheet, from which the price steps follow. The units are those the costing
model reckons in (m², µm, L, min), so that a formula reads as the model writes it. From a snapshot alone.

Minutes of work and amounts of supplies stand as reckoned: they are inputs here and do not follow a changed area.
"""

from __future__ import annotations

from costing.core.system import CostGroup
from costing.documents.cost_sheet_parts import Money, coats, labour, materials, mixes, supplies, takeoff
from costing.snapshots import Snapshot
from costing.wording import GROUP_WORDS
from finishing import show
from finishing.documents.sheet import Book, Formula, Sheet, Width, money_format, ref, sum_of
from finishing.models import Shop
from finishing.units import UnitSystem, convert

SUMMARY = "Cost sheet"


def cost_sheet_xlsx(snapshot: Snapshot, shop: Shop, *, reference: str = "") -> bytes:
    """The workbook. ``reference`` is the quote that it belongs to."""
    locale = show.preferences().locale
    money = Money(shown=money_format(snapshot.currency, locale), exact="#,##0.000000", places=snapshot.places)
    title = f"Cost sheet {reference or f'E-{snapshot.estimate_id:04d}'} {snapshot.system_name}"
    book = Book(title=title, page_size=shop.page_size, author=shop.name)
    summary = book.sheet(SUMMARY, columns=(Width(34), Width(18, money.exact), Width(16, money.shown), Width(16, money.shown)))
    areas = takeoff(book, snapshot)
    coat_cells = coats(book, snapshot, areas)
    mix_cells = mixes(book, snapshot, coat_cells)
    groups = {
        **materials(book, snapshot, mix_cells, money),
        **supplies(book, snapshot, money),
        **labour(book, snapshot, money),
    }
    _summary(summary, snapshot, groups, area=areas.all, residue=coat_cells.residue, money=money, title=title, shop=shop)
    return book.to_bytes()


def _summary(
    sheet: Sheet, snapshot: Snapshot, groups: dict[str, str], *, area: str, residue: str, money: Money, title: str, shop: Shop
) -> None:
    """The groups, exact and as printed, their sum, the area, and the way to the price."""
    sheet.heading(title)
    sheet.text("For the shop only: do not hand this to the customer.")
    sheet.facts(
        [("Estimate", snapshot.estimate_name), ("Coating system", snapshot.system_name), ("Reckoned on", snapshot.made_on)]
    )
    sheet.blank()
    inputs = _inputs(sheet, snapshot, area, money)
    sheet.blank()
    sheet.header(("Cost group", "Exact", "As printed", "Per m²"))
    first = sheet.next_row
    formulas = _group_formulas(groups, inputs, residue=residue, first=first)
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
    _price(sheet, snapshot, inputs, cost=cost, money=money, shop=shop)


def _per_area(cell: str, area: str, money: Money) -> Formula:
    return Formula(f"=IF({area}>0,ROUND({cell}/{area},{money.places}),0)")


def _inputs(sheet: Sheet, snapshot: Snapshot, area: str, money: Money) -> dict[str, str]:
    """The shop's rates and the terms of the price, one a row; the names of their cells."""
    rates, price = snapshot.rates, snapshot.price
    sheet.row(("Change these cells and the figures below follow.",))
    rows = (
        ("area", "Finished area, m²", Formula(f"={area}"), "#,##0.000000"),
        ("booth_minutes", "In the booth, min", snapshot.booth_minutes, "#,##0.00"),
        ("booth_rate", "Booth rate per hour", rates.booth_rate, money.shown),
        ("cleaner", "Cleaner used, L", snapshot.cleaner_litres, "#,##0.000000"),
        ("disposal_fee", "Disposal fee per L", rates.disposal_fee, money.shown),
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


def _group_formulas(groups: dict[str, str], inputs: dict[str, str], *, residue: str, first: int) -> dict[str, str]:
    """The formula of every group's exact amount; rework takes the rows above it, overhead the labour row."""
    row_of = {group: first + number for number, group in enumerate(CostGroup)}
    above = f"{ref('B', first)}:{ref('B', row_of[CostGroup.REWORK] - 1)}"
    labour = ref("B", row_of[CostGroup.LABOUR])
    formulas: dict[str, str] = {group: f"={groups.get(group, '0')}" for group in CostGroup}
    formulas[CostGroup.BOOTH] = f"={inputs['booth_minutes']}*{inputs['booth_rate']}/60"
    formulas[CostGroup.DISPOSAL] = f"=({residue}+{inputs['cleaner']})*{inputs['disposal_fee']}"
    formulas[CostGroup.REWORK] = f"={inputs['rework']}*SUM({above})"
    formulas[CostGroup.OVERHEAD] = f"={inputs['overhead']}*{labour}"
    return formulas


def _price(sheet: Sheet, snapshot: Snapshot, inputs: dict[str, str], *, cost: str, money: Money, shop: Shop) -> None:
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
    sheet.row(("Price before tax per m²", None, _per_area(net, inputs["area"], money)))
    if shop.units is UnitSystem.US:
        factor = convert(1, from_unit="m²", to_unit="ft²")
        feet = f"{inputs['area']}*{float(factor)!r}"
        sheet.row(("Price before tax per ft²", None, Formula(f"=IF({inputs['area']}>0,ROUND({net}/({feet}),{places}),0)")))
