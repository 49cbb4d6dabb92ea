"""A delivery against an order being typed, with what a scanned code adds to it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, cast

from django.http import QueryDict

from inventory.forms.order_receipts import (
    MOST_ROWS,
    TYPED,
    Arrival,
    ArrivalHeadForm,
    ArrivalRowForm,
    BaseArrivalRows,
    row_set,
)
from inventory.forms.scanned import PREFIX, Placed, Row
from inventory.selectors_orders import Standing
from inventory.services.scanning_orders import OnOrder

COLUMNS = tuple(ArrivalRowForm.base_fields)
SAME_LOT = ("line", "lot_number", "made_on", "expires_on")


def place_on_order(rows: list[Row], found: OnOrder) -> Placed:
    """Write what a code said into the rows of an order: onto the same lot, into a row begun without it, or into a free one.

    A row is free when nothing is typed in it but its line. Nothing that was typed is written over. Changes ``rows``.
    """
    news = {
        "line": str(found.line.pk) if found.line else "",
        "packs": str(found.packs) if found.packs else "",
        "lot_number": found.lot_number,
        "made_on": found.made_on.isoformat() if found.made_on else "",
        "expires_on": found.expires_on.isoformat() if found.expires_on else "",
    }
    for number, same in enumerate(rows, start=1):
        if _is_one_more(same, news):
            same["packs"] = str(int(same["packs"]) + int(news["packs"]))
            return Placed(row=number, added=True)
    row = _begun(rows, news) or _free(rows, news, is_lot_only=not found.gtin)
    if row is None and len(rows) < MOST_ROWS:
        row = dict.fromkeys(COLUMNS, "")
        rows.append(row)
    if row is None:
        return Placed(row=None)
    row.update({name: value for name, value in news.items() if value and not row[name]})
    return Placed(row=next(number for number, one in enumerate(rows, start=1) if one is row))


def _is_one_more(row: Row, news: Row) -> bool:
    """The same lot of the same line once more: its packs are counted together."""
    same = bool(news["line"] and news["lot_number"]) and all(row[name] == news[name] for name in SAME_LOT)
    return same and _is_count(row["packs"]) and _is_count(news["packs"])


def _is_count(text: str) -> bool:
    return text.isascii() and text.isdigit() and len(text) < 6


def _begun(rows: Iterable[Row], news: Row) -> Row | None:
    """The row that another code of the same container began: it has packs but no lot, or a lot but no packs."""
    for row in rows:
        missing = "packs" if row["lot_number"] else "lot_number"
        clash = any(row[name] and news[name] and row[name] != news[name] for name in SAME_LOT)
        if bool(row["packs"]) != bool(row["lot_number"]) and news[missing] and not clash:
            return row
    return None


def _free(rows: Sequence[Row], news: Row, *, is_lot_only: bool) -> Row | None:
    """A row in which nothing is typed: of the code's own line, else without a line.

    A lot number alone goes to the one line that is left, where there is only one.
    """
    empty = [row for row in rows if not any(row[name] for name in TYPED)]
    own = [row for row in empty if news["line"] and row["line"] == news["line"]]
    offered = [row for row in empty if row["line"]]
    alone = offered if is_lot_only and len(offered) == 1 else []
    blank = [row for row in empty if not row["line"]]
    return next(iter([*own, *alone, *blank]), None)


def counted_words(rows: Iterable[Row], found: OnOrder, awaited: Iterable[Standing]) -> str:
    """That the rows count more packs of the code's line than are still to come; empty where they do not."""
    if found.line is None:
        return ""
    standing = next(one for one in awaited if one.line.pk == found.line.pk)
    counts = [row["packs"] for row in rows if row["line"] == str(found.line.pk)]
    counted = sum(int(count) for count in counts if _is_count(count))
    if counted <= standing.to_come:
        return ""
    return f"That makes {counted} packs in this delivery; {standing.to_come or 'none'} of this line are still to come."


class _ShownRows(row_set(extra=0)):  # type: ignore[misc] # made by a factory
    """Rows that show what was typed and say nothing about it yet."""

    def __init__(self, typed: list[Row], *, awaited: Sequence[Standing]) -> None:
        super().__init__(prefix=PREFIX, form_kwargs={"awaited": awaited})
        self.typed, self.extra = typed, len(typed)

    def get_form_kwargs(self, index: int | None) -> dict[str, Any]:
        """Each row begins with what stood in it."""
        kwargs: dict[str, Any] = super().get_form_kwargs(index)
        return kwargs if index is None else {**kwargs, "initial": self.typed[index]}


class ArrivalBeingTyped(Arrival):
    """The delivery as it was sent, shown again without being checked."""

    def __init__(self, awaited: Sequence[Standing], sent: QueryDict, rows: list[Row]) -> None:
        self.awaited = awaited
        self.head = ArrivalHeadForm(initial={name: sent[name] for name in ArrivalHeadForm.base_fields if sent.get(name)})
        self.rows = cast(BaseArrivalRows, _ShownRows(rows, awaited=awaited))
        self.needs_reason = False
