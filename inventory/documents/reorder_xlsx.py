"""The reorder list as a spreadsheet: change a number of packs and the sums follow."""

from __future__ import annotations

from finishing import show
from finishing.documents.sheet import DATE_FORMAT, Book, Formula, Sheet, Width, money_format, ref, sum_of
from finishing.models import Shop
from inventory.reorder import ReorderList, SupplierOrder

HEADS = (
    "Supplier",
    "Material",
    "Code",
    "Pack",
    "Supplier’s code",
    "Packs",
    "Price per pack",
    "Amount",
    "Order by",
    "Why",
)


def reorder_xlsx(found: ReorderList, *, shop: Shop) -> bytes:
    """The list as a workbook; amounts and totals are formulas over the packs and prices beside them."""
    money = money_format(shop.currency, shop.locale)
    book = Book(title=f"Reorder list {found.on.isoformat()}", page_size=shop.page_size, author=shop.name)
    columns = (
        Width(30),
        Width(38),
        Width(14),
        Width(16),
        Width(15),
        Width(8, "0"),
        Width(14, money),
        Width(14, money),
        Width(12, DATE_FORMAT),
        Width(70),
    )
    sheet = book.sheet("Reorder list", columns=columns, landscape=True)
    sheet.heading("Reorder list")
    sheet.facts([("Shop", shop.name), ("Day", found.on)])
    sheet.blank()
    sheet.header(HEADS)
    totals = [_supplier(sheet, order, shop) for order in found.orders]
    if totals:
        everything = "=" + "+".join(ref("H", row) for row in totals)
        sheet.total(("All suppliers", None, None, None, None, None, None, Formula(everything), None, None))
    else:
        sheet.text("Nothing has to be ordered today.")
    if found.unbuyable:
        sheet.blank()
        sheet.text("To mend before these can be bought")
        for line in found.unbuyable:
            sheet.row((None, line.material.name, line.material.code, None, None, None, None, None, None, line.problem))
    _reasons(book, found)
    return book.to_bytes()


def _supplier(sheet: Sheet, order: SupplierOrder, shop: Shop) -> int:
    places = show.preferences_of(shop).places
    first = sheet.next_row
    for line in order.lines:
        for pack in line.packs:
            row = sheet.next_row
            amount = Formula(f"=ROUND({ref('F', row)}*{ref('G', row)},{places})")
            sheet.row(
                (
                    order.supplier.name,
                    line.material.name,
                    line.material.code,
                    pack.pack.description,
                    pack.pack.supplier_code,
                    pack.count,
                    pack.price,
                    amount,
                    line.advice.order_by,
                    line.summary,
                )
            )
    if order.delivery_charge:
        name = order.supplier.name
        sheet.row((name, "Delivery charge", None, None, None, None, None, order.delivery_charge, None, None))
    last = sheet.next_row - 1
    total = sheet.total(
        (f"Total {order.supplier.name}", None, None, None, None, None, None, sum_of("H", first, last), None, None)
    )
    if order.supplier.minimum_order:
        goods = sum_of("H", first, last - 1 if order.delivery_charge else last)
        _minimum(sheet, order, goods)
    return total


def _minimum(sheet: Sheet, order: SupplierOrder, goods: Formula) -> None:
    """Whether the supplier's minimum is reached, following the sums above."""
    row = sheet.next_row
    inner = goods.text.removeprefix("=")
    reached = Formula(f'=IF({inner}>={ref("H", row)},"Minimum order: reached","Minimum order: not reached")')
    sheet.row((order.supplier.name, reached, None, None, None, None, None, order.supplier.minimum_order, None, None))


def _reasons(book: Book, found: ReorderList) -> None:
    sheet = book.sheet("Reasons", columns=(Width(38), Width(60), Width(50)))
    sheet.header(("Material", "What", "Figure"))
    for order in found.orders:
        for line in order.lines:
            for reason in line.reasons:
                sheet.row((line.material.name, reason.words, reason.figure))
