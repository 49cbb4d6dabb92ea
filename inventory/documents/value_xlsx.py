"""The stock value of a day as a spreadsheet: values and totals are formulas over the quantities and costs beside them."""

from __future__ import annotations

from collections.abc import Sequence

from finishing.documents.sheet import DATE_FORMAT, Book, Formula, Width, money_format, ref, sum_of
from finishing.models import Shop
from inventory.documents.value_pdf import HOW, warnings_of
from inventory.value import StockValue, ValueGroup

LOTS = "By lot"
HEADS = ("Material", "Lot", "Kind", "Place then", "Received", "Quantity then", "Unit", "Cost per unit", "Value")
QUANTITY = "#,##0.######"


def value_xlsx(found: StockValue, *, shop: Shop) -> bytes:
    """The value by lot, kind and place as a workbook. Values are not rounded, so that they add up to the ledger's own."""
    money = money_format(shop.currency, shop.locale)
    # A unit's cost is kept to the millionth; rounded to cents it would not give the value beside it.
    cost = money.replace(".00", ".00####") if ".00" in money else money
    book = Book(title=f"Stock value {found.on.isoformat()}", page_size=shop.page_size, author=shop.name)
    columns = (
        *(Width(38), Width(18), Width(16), Width(22), Width(12, DATE_FORMAT)),
        *(Width(14, QUANTITY), Width(7), Width(16, cost), Width(16, money)),
    )
    sheet = book.sheet(LOTS, columns=columns, landscape=True)
    sheet.heading("Stock value")
    sheet.facts([("Shop", shop.name), ("At the end of", found.on)])
    sheet.text(HOW)
    for words in warnings_of(found):
        sheet.text(words)
    sheet.blank()
    sheet.header(HEADS)
    first = sheet.next_row
    for line in found.lines:
        row = sheet.next_row
        value = Formula(f"={ref('F', row)}*{ref('H', row)}")
        about = (line.material, line.number, line.kind_words, line.place, line.received_on)
        sheet.row((*about, line.quantity, line.stock_unit, line.unit_cost, value))
    last = sheet.next_row - 1
    sheet.total(("Total", *[None] * 7, sum_of("I", first, last)))
    _groups(book, "By kind", "Kind", found.by_kind, over=("C", first, last), money=money)
    _groups(book, "By place", "Place then", found.by_place, over=("D", first, last), money=money)
    return book.to_bytes()


def _groups(book: Book, name: str, head: str, groups: Sequence[ValueGroup], *, over: tuple[str, int, int], money: str) -> None:
    """One row for each group, counted and added up from the sheet of lots by its words."""
    column, first, last = over
    words = f"{ref(column, first, fixed=True, sheet=LOTS)}:{ref(column, last, fixed=True)}"
    values = f"{ref('I', first, fixed=True, sheet=LOTS)}:{ref('I', last, fixed=True)}"
    sheet = book.sheet(name, columns=(Width(30), Width(10, "0"), Width(18, money)))
    sheet.header((head, "Lots", "Value"))
    start = sheet.next_row
    for group in groups:
        mine = ref("A", sheet.next_row)
        # Compared with =, since the wildcards * and ? in a name would match other names in SUMIF.
        count, value = (f"=SUMPRODUCT(--({words}={mine}){part})" for part in ("", f",{values}"))
        sheet.row((group.words, Formula(count), Formula(value)))
    end = sheet.next_row - 1
    sheet.total(("Total", sum_of("B", start, end), sum_of("C", start, end)))
