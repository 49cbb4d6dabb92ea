"""The quote as PDF, for the customer: what is offered, at what price, until when, and a line to sign on."""

from __future__ import annotations

from typing import Any

from costing.choices import QuoteStatus
from costing.documents.currency import shown_in
from costing.models import Quote, QuoteExtra, QuoteOption
from costing.snapshots import read_snapshot
from finishing import show
from finishing.documents import pdf
from finishing.documents.letterhead import letterhead_of
from finishing.models import Shop, ShopLogo

CHOOSE_ONE = "Each option is a price for the whole work. Please choose one."


def quote_pdf(quote: Quote, shop: Shop, *, invariant: bool = False) -> bytes:
    """The finished document on the shop's paper. Prices are the frozen ones, in the quote's own currency."""
    options, logo = list(quote.options.all()), ShopLogo.current()
    story: list[Any] = [pdf.para(quote.customer_block), pdf.space(10), pdf.heading(quote.title)]
    if quote.introduction:
        story += [pdf.para(quote.introduction), pdf.space(4)]
    with shown_in(quote.currency):
        story += _choice(quote, options) if len(options) > 1 else [_single(quote, option) for option in options]
        story += _extras(quote)
        story += _deposit(quote, options)
    story += [pdf.space(4), pdf.para(f"This offer is valid until {show.day(quote.valid_until)}.", "strong")]
    story += _pieces(options)
    if quote.terms:
        story += [pdf.heading("Terms"), pdf.para(quote.terms)]
    story.append(_sign(options))
    return pdf.document(
        title="Quote",
        number=quote.label,
        date=show.day(quote.issued_on),
        letterhead=letterhead_of(shop, logo=bytes(logo.data) if logo else b""),
        page_size=shop.page_size,
        story=story,
        invariant=invariant,
    )


EXTRAS_APART = "Not in the prices above. Please tick what you want to add."


def _extras(quote: Quote) -> list[Any]:
    """What may be added, beside the total; after acceptance it says what was taken."""
    extras = list(quote.extras.all())
    if not extras:
        return []
    columns = (
        pdf.Column(words="Extra", share=4.2),
        pdf.Column(words="Wanted", share=1.3, align="right"),
        pdf.Column(words="Price", share=1.5, align="right"),
        pdf.Column(words=_tax_words(quote), share=1.4, align="right"),
        pdf.Column(words="Total with tax", share=1.6, align="right"),
    )
    rows = [
        (extra.name, _wanted(quote, extra), show.money(extra.net), show.money(extra.tax), show.money(extra.total))
        for extra in extras
    ]
    return [pdf.heading("Optional extras"), pdf.para(EXTRAS_APART), pdf.table(columns, rows)]


def _wanted(quote: Quote, extra: QuoteExtra) -> str:
    if quote.status != QuoteStatus.ACCEPTED:
        return "[   ]"
    return "yes" if extra.chosen else "no"


def _deposit(quote: Quote, options: list[QuoteOption]) -> list[Any]:
    """What is asked with the order: a share of the option that is chosen."""
    if not quote.deposit_share:
        return []
    words = f"Deposit with the order: {show.percent(quote.deposit_share, 2)} of the total with tax"
    more = " Of each extra that you add, the same share." if quote.extras.all() else ""
    if len(options) == 1:
        return [pdf.space(4), pdf.para(f"{words}, {show.money(quote.deposit_of(options[0].total))}.{more}")]
    each = ", ".join(f"{number}. {show.money(quote.deposit_of(option.total))}" for number, option in enumerate(options, start=1))
    return [pdf.space(4), pdf.para(f"{words} of the option chosen: {each}.{more}")]


def _pieces(options: list[QuoteOption]) -> list[Any]:
    """What is to be finished, piece by piece, as it was measured when the quote was made; the same for every option."""
    if not options:
        return []
    rows = read_snapshot(options[0]).takeoff.rows
    columns = (
        pdf.Column(words="Piece", share=3.4),
        pdf.Column(words="Number", share=1, align="right"),
        pdf.Column(words="Size", share=2.6, align="right"),
        pdf.Column(words="Area", share=1.4, align="right"),
    )
    listed = [(row.label, show.number(row.pieces, 0), row.size, show.area(row.area)) for row in rows]
    total = ("Together", show.number(sum(row.pieces for row in rows), 0), "", show.area(sum(row.area for row in rows)))
    return [pdf.heading("What is finished"), pdf.table(columns, listed, totals=(total,))]


def _choice(quote: Quote, options: list[QuoteOption]) -> list[Any]:
    """Several options under each other, so that they can be compared. They are never added up: one of them is chosen."""
    columns = (
        pdf.Column(words="Option", share=4.2),
        pdf.Column(words="Area", share=1.3, align="right"),
        pdf.Column(words="Price", share=1.5, align="right"),
        pdf.Column(words=_tax_words(quote), share=1.4, align="right"),
        pdf.Column(words="Total with tax", share=1.6, align="right"),
    )
    rows: list[tuple[str, ...]] = []
    strong = []
    for number, option in enumerate(options, start=1):
        strong.append(len(rows))
        amounts = (show.money(option.net), show.money(option.tax), show.money(option.total))
        rows.append((f"{number}. {option.label}", show.area(option.area), *amounts))
        if option.customer_text:
            rows.append((option.customer_text, "", "", "", ""))
    return [pdf.para(CHOOSE_ONE), pdf.table(columns, rows, strong=strong)]


def _single(quote: Quote, option: QuoteOption) -> Any:
    """The one offer: its words, the area, and the price with its tax."""
    columns = (
        pdf.Column(words=f"Finished area {show.area(option.area)}", share=3),
        pdf.Column(words="Amount", share=1, align="right"),
    )
    rows = (("Price", show.money(option.net)), (_tax_words(quote), show.money(option.tax)))
    table = pdf.table(columns, rows, totals=(("Total with tax", show.money(option.total)),))
    words = [pdf.para(option.customer_text)] if option.customer_text else []
    return pdf.keep(pdf.heading(option.label), *words, table)


def _tax_words(quote: Quote) -> str:
    return f"{quote.tax_name}, {show.percent(quote.tax_rate, 2)}"


def _sign(options: list[QuoteOption]) -> Any:
    """Where the customer signs."""
    line = "_" * 34
    first = ("Option chosen", line) if len(options) > 1 else ("Name", line)
    second = ("Name", line) if len(options) > 1 else ("Place", line)
    lines = (pdf.facts((first, ("Date", line))), pdf.space(12), pdf.facts((second, ("Signature", line))))
    return pdf.keep(pdf.heading("Accepted"), pdf.space(6), *lines)
