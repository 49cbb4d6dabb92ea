"""The comparison of systems as PDF, for the shop: the answer in words, both charts, and every table of the page."""

from __future__ import annotations

from datetime import date
from typing import Any

from costing.comparison_shown import ShownTable, bars_chart, lines_chart, tables_of
from costing.comparison_words import basis, headline, what_would_change_it
from costing.services.comparing import Compared
from finishing import show
from finishing.documents import pdf
from finishing.documents.letterhead import letterhead_of

RIGHT: Any = "right"
SHORT = 12  # rows of a table that is not cut by the end of a page


def comparison_pdf(compared: Compared, *, on: date, invariant: bool = False) -> bytes:
    """The finished document. ValueError where no system could be priced."""
    shop = compared.shop
    width = pdf.page_width(shop.page_size)
    changes = what_would_change_it(compared)
    story: list[Any] = [
        pdf.para("For the shop only: do not hand this to a customer.", "strong"),
        pdf.space(4),
        pdf.para(headline(compared), "lead"),
        *([pdf.heading("What would change that"), *pdf.bullets(changes)] if changes else []),
        pdf.space(4),
        pdf.para(basis(compared), "small"),
        pdf.keep(pdf.heading("True cost by job size"), pdf.chart(lines_chart(compared), width=width)),
        pdf.keep(pdf.heading("True cost by group"), pdf.chart(bars_chart(compared), width=width)),
    ]
    for table in tables_of(compared):
        story += _table(table)
    asked = compared.question
    return pdf.document(
        title="Comparison of systems",
        date=show.day(on),
        letterhead=letterhead_of(shop),
        page_size=shop.page_size,
        meta=[
            ("Systems", ", ".join(system.name for system in asked.systems)),
            ("Job sizes", f"{show.area(asked.low)} to {show.area(asked.high)}"),
            ("Prices of", show.day(asked.prices_of or on)),
        ],
        story=story,
        invariant=invariant,
    )


def _table(table: ShownTable) -> list[Any]:
    columns = [
        pdf.Column(words=words, share=1.2 if is_figure else 2, align=RIGHT if is_figure else "left")
        for _, words, is_figure in table.columns
    ]
    rows = [tuple(row.get(key, "") for key, _, _ in table.columns) for row in table.rows]
    parts = [pdf.heading(table.title), pdf.table(columns, rows) if rows else pdf.para(table.empty)]
    if len(rows) <= SHORT:
        parts = [pdf.keep(*parts)]
    return [*parts, pdf.para(table.note, "small")] if table.note else parts
