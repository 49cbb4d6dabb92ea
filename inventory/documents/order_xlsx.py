"""A purchase order as a spreadsheet, for the supplier: change a number of packs and the sums follow."""

from __future__ import annotations

from datetime import date

from finishing import show
from finishing.documents.sheet import Book, Formula, Value, Width, money_format, ref, sum_of
from finishing.models import Shop
from inventory.choices import OrderStatus
from inventory.models import PurchaseOrder

HEADS = ("Your code", "Material", "Pack", "Packs", "Price of one", "Amount")


def order_xlsx(order: PurchaseOrder, *, shop: Shop, on: date) -> bytes:
    """The order as a workbook; amounts and the total are formulas over the packs and prices beside them.

    What is not noted as sent bears the day ``on``: this is the paper that goes out.
    """
    money, places = money_format(shop.currency, shop.locale), show.preferences_of(shop).places
    book = Book(title=f"Purchase order {order.label}", page_size=shop.page_size, author=shop.name)
    columns = (Width(22), Width(44), Width(20), Width(9, "0"), Width(15, money), Width(15, money))
    sheet = book.sheet(f"Purchase order {order.label}", columns=columns, landscape=True)
    sheet.heading(f"Purchase order {order.label}")
    sheet.facts(_head(order, shop, on))
    sheet.blank()
    sheet.header(HEADS)
    first = sheet.next_row
    for line in order.lines.select_related("material", "pack"):
        row = sheet.next_row
        amount = Formula(f"=ROUND({ref('D', row)}*{ref('E', row)},{places})")
        sheet.row((line.pack.supplier_code, line.material.name, line.pack.description, line.packs, line.price, amount))
    sheet.total(("Total without tax", None, None, None, None, sum_of("F", first, sheet.next_row - 1)))
    if order.supplier.delivery_charge:
        sheet.row(("Delivery charge, besides", None, None, None, None, order.supplier.delivery_charge))
    if order.note:
        sheet.blank()
        sheet.facts([("Note", order.note)])
    return book.to_bytes()


def _head(order: PurchaseOrder, shop: Shop, on: date) -> list[tuple[str, Value]]:
    supplier = order.supplier
    pairs: list[tuple[str, Value]] = [
        ("From", "\n".join(part for part in (shop.name, shop.address, shop.phone, shop.email) if part)),
        ("To", "\n".join(part for part in (supplier.name, supplier.contact, supplier.email, supplier.phone) if part)),
        ("Our account number", supplier.account_number or show.NOTHING),
        ("Date", order.sent_on or on),
        ("Delivery wished for", order.wished_on or "as soon as possible"),
    ]
    if order.status == OrderStatus.CANCELLED:
        pairs.append(("Cancelled", order.closed_on))
    return pairs
