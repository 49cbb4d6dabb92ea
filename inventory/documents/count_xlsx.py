"""A count sheet as a spreadsheet: fill in what was found, and upload it on the page of the count."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from django.utils import timezone

from finishing import show
from finishing.documents.sheet import Book, Formula, Sheet, ToFill, Value, Width, ref
from finishing.models import Shop
from inventory.choices import StockUnit
from inventory.count_reading import BLIND_HEADS, HEADS, SHEET
from inventory.forms.fields import StockQuantityField, typed_unit
from inventory.models import CountLine, StockCount

FIGURES = "#,##0.###"
HOW = ("Counted: 0 where nothing is left, empty where nobody looked.", "Leave the other columns as they are.")
_LINE, _PLACE, _MATERIAL, _LOT, _UNIT, _REMARK = (Width(14), Width(22), Width(38), Width(18), Width(7), Width(34))
_BOOK = _COUNTED = _DIFFERENCE = Width(13, FIGURES)


def count_xlsx(count: StockCount, lines: Sequence[CountLine], *, shop: Shop, printed: datetime) -> bytes:
    """The sheet of a count; ``printed`` is the moment at which the books were read.

    With book figures the difference beside each line is a formula; a blind sheet has neither.
    """
    book = Book(title=f"Count sheet {count.label}", page_size=shop.page_size, author=shop.name)
    middle = (_COUNTED,) if count.is_blind else (_BOOK, _COUNTED, _DIFFERENCE)
    sheet = book.sheet(SHEET, columns=(_LINE, _PLACE, _MATERIAL, _LOT, _UNIT, *middle, _REMARK), landscape=True)
    sheet.heading(f"Count sheet {count.label}")
    sheet.facts(_head(count, shop, printed))
    for words in HOW:
        sheet.text(words)
    sheet.blank()
    sheet.header(BLIND_HEADS if count.is_blind else HEADS)
    for line in lines:
        _row(sheet, count, line)
    return book.to_bytes()


def _head(count: StockCount, shop: Shop, printed: datetime) -> list[tuple[str, Value]]:
    pairs: list[tuple[str, Value]] = [
        ("Shop", shop.name),
        ("What is counted", count.scope),
        ("Books as of", timezone.localtime(printed).replace(tzinfo=None)),
    ]
    return [*pairs, ("Note", count.note)] if count.note else pairs


def _row(sheet: Sheet, count: StockCount, line: CountLine) -> None:
    lot, material = line.lot, line.lot.material
    unit = typed_unit(material.unit, show.preferences().units)
    start: list[Value] = [line.label, lot.place, material.name, lot.number, unit]
    if count.is_blind:
        sheet.row([*start, ToFill(), ToFill()])
        return
    row = sheet.next_row
    book, counted = ref("F", row), ref("G", row)
    difference = Formula(f'=IF(ISNUMBER({counted}),ROUND({counted}-{book},3),"")')
    sheet.row([*start, shown_figure(lot.on_hand, material.unit), ToFill(), difference, ToFill()])


def shown_figure(value: Decimal, stock_unit: StockUnit) -> Decimal:
    """A quantity as the number that pages show, in the unit that pages show it in."""
    field = StockQuantityField(stock_unit=stock_unit, system=show.preferences().units)
    return round(field.in_unit(value), 3)
