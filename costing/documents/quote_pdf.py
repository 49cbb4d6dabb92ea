"""The quote as PDF, for the customer: what is offered, at what price, until when, and a line to sign on."""

from __future__ import annotations

from typing import Any

from costing.documents.currency import shown_in
from costing.models import Quote, QuoteOption
from finishing import show
from finishing.documents import pdf
from finishing.documents.letterhead import letterhead_of
from finishing.models import Shop

CHOOSE_ONE = "Each option is a price for the whole work. Please choose one."


def quote_pdf(quote: Quote, shop: Shop, *, invariant: bool = False) -> bytes:
    """The finished document on the shop's paper. Prices are the frozen ones, in the quote's own currency."""
    options = list(quote.options.all())
    story: list[Any] = [pdf.para(quote.customer_block), pdf.space(10), pdf.heading(quote.title)]
    if quote.introduction:
        story += [pdf.para(quote.introduction), pdf.space(4)]
    if len(options) > 1:
        story += [pdf.para(CHOOSE_ONE), pdf.space(4)]
    with shown_in(quote.currency):
        for number, option in enumerate(options, start=1):
            story.append(_option(quote, option, number=number if len(options) > 1 else None))
    story += [pdf.space(4), pdf.para(f"This offer is valid until {show.day(quote.valid_until)}.", "strong")]
    if quote.terms:
        story += [pdf.heading("Terms"), pdf.para(quote.terms)]
    story.append(_sign(options))
    return pdf.document(
        title="Quote",
        number=quote.label,
        date=show.day(quote.issued_on),
        letterhead=letterhead_of(shop),
        page_size=shop.page_size,
        story=story,
        invariant=invariant,
    )


def _option(quote: Quote, option: QuoteOption, *, number: int | None) -> Any:
    """One option on one page: its words, the area, and the price with its tax."""
    rows = [
        ("Price", show.money(option.net)),
        (f"{quote.tax_name}, {show.percent(quote.tax_rate, 2)}", show.money(option.tax)),
    ]
    table = pdf.table(
        (
            pdf.Column(words=f"Finished area {show.area(option.area)}", share=3),
            pdf.Column(words="Amount", share=1, align="right"),
        ),
        rows,
        totals=(("Total with tax", show.money(option.total)),),
    )
    parts = [pdf.heading(option.label if number is None else f"Option {number}: {option.label}")]
    if option.customer_text:
        parts.append(pdf.para(option.customer_text))
    return pdf.keep(*parts, table)


def _sign(options: list[QuoteOption]) -> Any:
    """Where the customer signs."""
    line = "_" * 34
    asked = [("Option chosen", line)] if len(options) > 1 else []
    pairs = [*asked, ("Date", line), ("Name", line), ("Signature", line)]
    return pdf.keep(pdf.heading("Accepted"), pdf.facts(pairs, columns=2))
