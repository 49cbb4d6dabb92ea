"""The usage and VOC record as PDF, and as a spreadsheet whose sums are live."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from costing.core.records import Month, Total
from costing.records import OWN_DATA, Record
from finishing import show
from finishing.documents import pdf
from finishing.documents.letterhead import letterhead_of
from finishing.documents.sheet import Book, Formula, Sheet, Width, ref, sum_of
from finishing.models import Shop

TITLE = "Usage and VOC record"


def month_words(month: Month) -> str:
    """A month as people read it: 2030-05."""
    return f"{month.year}-{month.number:02d}"


def unknown_words(total: Total) -> str:
    """What is left out of the VOC, in a sentence; empty where nothing is."""
    if not total.unknown:
        return ""
    return f"No VOC content is entered for {', '.join(sorted(total.unknown))}: the VOC leaves it out."


# ------------------------------------------------------------ PDF


def record_pdf(found: Record, *, shop: Shop, invariant: bool = False) -> bytes:
    """The record of a month on the shop's paper."""
    own, rolling = found.line.own, found.line.rolling
    story: list[Any] = [
        pdf.facts(
            [
                ("Used in the month", show.volume(own.litres)),
                ("VOC in the month", show.quantity(own.voc_kg, "kg")),
                ("Used in twelve months", show.volume(rolling.litres)),
                ("VOC in twelve months", show.quantity(rolling.voc_kg, "kg")),
            ]
        ),
        pdf.para(OWN_DATA, "small"),
    ]
    if words := unknown_words(rolling):
        story.append(pdf.para(words, "strong"))
    story += [pdf.heading("By month"), _months(found), pdf.heading(f"By material, {month_words(found.month)}")]
    story += [
        _materials(found.materials.items()),
        pdf.heading("By material, twelve months"),
        _materials(found.year_materials.items()),
    ]
    story += [pdf.heading("Waste in the month"), _waste(found), pdf.heading("Liquids stored, end of day"), _stored(found)]
    return pdf.document(
        title=TITLE,
        number=month_words(found.month),
        letterhead=letterhead_of(shop),
        page_size=shop.page_size,
        story=story,
        invariant=invariant,
    )


def _numbers(*words: str) -> tuple[pdf.Column, ...]:
    first, *rest = words
    return (pdf.Column(words=first, share=2.4), *(pdf.Column(words=each, share=1.2, align="right") for each in rest))


def _months(found: Record) -> Any:
    rows = [
        (
            month_words(line.month),
            show.volume(line.own.litres),
            show.quantity(line.own.voc_kg, "kg"),
            show.volume(line.rolling.litres),
            show.quantity(line.rolling.voc_kg, "kg"),
        )
        for line in found.months
    ]
    return pdf.table(_numbers("Month", "Used", "VOC", "Used, 12 months", "VOC, 12 months"), rows)


def _materials(rows: Iterable[tuple[str, Total]]) -> Any:
    shown = [(name, show.volume(of.litres), "not entered" if of.unknown else show.quantity(of.voc_kg, "kg")) for name, of in rows]
    return pdf.table(_numbers("Material", "Used", "VOC"), shown or [("Nothing was used.", "", "")])


def _waste(found: Record) -> Any:
    rows = [(line.kind, line.material or "mixes", show.quantity(line.amount, line.unit)) for line in found.waste]
    columns = (
        pdf.Column(words="Kind", share=2.6),
        pdf.Column(words="Material", share=2),
        pdf.Column(words="Amount", share=1, align="right"),
    )
    return pdf.table(columns, rows or [("Nothing was thrown away.", "", "")])


def _stored(found: Record) -> Any:
    rows = [(show.day(day.day), show.volume(day.flammable), show.volume(day.total)) for day in found.stored]
    return pdf.table(_numbers("Day", "Flammable liquids", "All liquids"), rows or [("The month has not begun.", "", "")])


# ------------------------------------------------------------ spreadsheet


def record_xlsx(found: Record, *, shop: Shop) -> bytes:
    """The workbook: litres and kilograms as they are kept; totals are formulas."""
    book = Book(title=f"{TITLE} {month_words(found.month)}", page_size=shop.page_size, author=shop.name)
    _year_sheet(book.sheet("Months", columns=(Width(14), *[Width(16, "#,##0.000")] * 4)), found)
    for name, rows in (("Month by material", found.materials), ("Year by material", found.year_materials)):
        sheet = book.sheet(name, columns=(Width(44), Width(16, "#,##0.000"), Width(16, "#,##0.000")))
        sheet.header(("Material", "Used, L", "VOC, kg"))
        first = sheet.next_row
        for material, of in rows.items():
            sheet.row((material, of.litres, "not entered" if of.unknown else of.voc_kg))
        last = sheet.next_row - 1
        sheet.total(("Total", sum_of("B", first, last), sum_of("C", first, last)))
    waste = book.sheet("Waste", columns=(Width(44), Width(40), Width(14, "#,##0.000"), Width(8), Width(14, "#,##0.000")))
    waste.header(("Kind", "Material", "Amount", "Unit", "Litres"))
    first = waste.next_row
    for line in found.waste:
        waste.row((line.kind, line.material or "mixes", line.amount, line.unit, line.litres))
    waste.total(("Total of liquids", None, None, None, sum_of("E", first, waste.next_row - 1)))
    stored = book.sheet("Stored", columns=(Width(14), Width(18, "#,##0.000"), Width(18, "#,##0.000")))
    stored.header(("Day", "Flammable, L", "All liquids, L"))
    for day in found.stored:
        stored.row((day.day, day.flammable, day.total))
    return book.to_bytes()


def _year_sheet(sheet: Sheet, found: Record) -> None:
    sheet.heading(f"{TITLE} {month_words(found.month)}")
    sheet.text(OWN_DATA)
    if words := unknown_words(found.line.rolling):
        sheet.text(words)
    sheet.blank()
    sheet.header(("Month", "Used, L", "VOC, kg", "Used, 12 months", "VOC, 12 months"))
    first = sheet.next_row
    for line in found.months:
        row = sheet.next_row
        is_last = line is found.months[-1]
        litres = Formula(f"=SUM({ref('B', first)}:{ref('B', row)})") if is_last else line.rolling.litres
        kilograms = Formula(f"=SUM({ref('C', first)}:{ref('C', row)})") if is_last else line.rolling.voc_kg
        sheet.row((month_words(line.month), line.own.litres, line.own.voc_kg, litres, kilograms))
