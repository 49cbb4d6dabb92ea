"""The quote as a spreadsheet, for the customer: tax and totals are live formulas over the frozen prices."""

from __future__ import annotations

from decimal import Decimal

from babel.numbers import get_currency_precision

from costing.choices import QuoteStatus
from costing.documents.quote_pdf import CHOOSE_ONE
from costing.models import Quote
from finishing import show
from finishing.documents.sheet import Book, Formula, Sheet, Width, money_format, ref
from finishing.models import Shop
from finishing.units import Kind, shown_unit, to_shown

SHEET = "Quote"


def quote_xlsx(quote: Quote, shop: Shop) -> bytes:
    """The workbook: one sheet, one row an option. Nothing in it tells what the work costs the shop."""
    options = list(quote.options.all())
    money = money_format(quote.currency, show.preferences().locale)
    places = get_currency_precision(quote.currency)
    unit = shown_unit(Kind.AREA, shop.units)
    book = Book(title=f"Quote {quote.label}", page_size=shop.page_size, author=shop.name)
    widths = (Width(30), Width(48), Width(12, "#,##0.00"), Width(14, money), Width(14, money), Width(16, money))
    sheet = book.sheet(SHEET, columns=widths, landscape=True)
    sheet.heading(f"Quote {quote.label}")
    sheet.text(shop.name)
    sheet.blank()
    rate = _facts(sheet, quote)
    sheet.blank()
    sheet.header(("Option", "Description", f"Area, {unit}", "Price", quote.tax_name, "Total with tax"))
    for option in options:
        row = sheet.next_row
        price = ref("D", row)
        sheet.row(
            (
                option.label,
                option.customer_text,
                round(to_shown(option.area, Kind.AREA, shop.units), 2),
                option.net,
                Formula(f"=ROUND({price}*{rate},{places})"),
                Formula(f"={price}+{ref('E', row)}"),
            )
        )
    sheet.blank()
    if len(options) > 1:
        sheet.text(CHOOSE_ONE)
    _extras(sheet, quote, rate, places)
    sheet.facts([(label, words) for label, words in (("Introduction", quote.introduction), ("Terms", quote.terms)) if words])
    return book.to_bytes()


def _extras(sheet: Sheet, quote: Quote, rate: str, places: int) -> None:
    """What may be added: never summed with the options, because the customer chooses."""
    extras = list(quote.extras.all())
    if not extras:
        return
    sheet.header(("Optional extra", "Not in the prices above", "", "Price", quote.tax_name, "Total with tax"))
    for extra in extras:
        price = ref("D", sheet.next_row)
        answer = ("taken" if extra.chosen else "not taken") if quote.status == QuoteStatus.ACCEPTED else ""
        tax = Formula(f"=ROUND({price}*{rate},{places})")
        sheet.row((extra.name, answer, "", extra.net, tax, Formula(f"={price}+{ref('E', sheet.next_row)}")))
    sheet.blank()


def _facts(sheet: Sheet, quote: Quote) -> str:
    """Who, what, until when, and the tax rate; the name of the tax rate's cell."""
    sheet.facts(
        [
            ("For", quote.customer_block),
            ("Work", quote.title),
            ("Date", quote.issued_on),
            ("Valid until", quote.valid_until),
        ]
    )
    row = sheet.row((f"{quote.tax_name}, rate", Decimal(quote.tax_rate)), formats=("", "0.00%"))
    return ref("B", row, fixed=True)
