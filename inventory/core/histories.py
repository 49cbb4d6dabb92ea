"""A table of demand histories for a replay. Pure: no Django, no files.

First column the name, then one column a period, oldest first; a column that is headed “price” may hold the price of a unit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

PRICE = "price"
MOST_NAMED = 5  # faults that are told at once


class HistoryRefusedError(ValueError):
    """A table that can't be replayed; the message says where, why, and what would be right."""


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """Demand of many materials."""

    names: tuple[str, ...]
    periods: tuple[str, ...]
    rows: tuple[tuple[float, ...], ...]
    prices: tuple[float, ...]  # 1 each where the table has none
    notes: tuple[str, ...] = ()


def read_history(grid: Sequence[Sequence[str]]) -> History:
    """The table in a grid of texts. Raises ``HistoryRefusedError``.

    >>> found = read_history([["part", "Jan", "Feb"], ["A1", "0", "2.5"]])
    >>> (found.names, found.periods, found.rows)
    (('A1',), ('Jan', 'Feb'), ((0.0, 2.5),))
    """
    lines = [(number, list(row)) for number, row in enumerate(grid, start=1) if any(cell.strip() for cell in row)]
    if not lines:
        raise HistoryRefusedError("The file holds no table. Its first row names the columns: the name, then the periods.")
    head = [cell.strip() for cell in lines[0][1]]
    while head and not head[-1]:
        head.pop()
    price_at = next((place for place, words in enumerate(head) if place and words.lower() == PRICE), None)
    places = [place for place in range(1, len(head)) if place != price_at]
    if not places:
        raise HistoryRefusedError(
            "The first row names no period. Put the name in the first column and one column for each period."
        )
    if all(_number(head[place]) is not None and "." in head[place] for place in places):
        raise HistoryRefusedError("The first row holds numbers, not names of periods. Put a row of column names above the data.")
    if len(lines) == 1:
        raise HistoryRefusedError("There is no row below the names of the columns. Each further row is one material.")
    faults: list[str] = []
    names, rows, prices = [], [], []
    for number, cells in lines[1:]:
        cells += [""] * (len(head) - len(cells))
        name = cells[0].strip() or f"row {number}"
        if any(cell.strip() for cell in cells[len(head) :]):
            faults.append(f"Row {number} ({name}) has more cells than the first row has names.")
        rows.append(
            tuple(
                _use(cells[place], f"Row {number} ({name}), {head[place] or 'a column without a name'}", faults)
                for place in places
            )
        )
        prices.append(1.0 if price_at is None else _price(cells[price_at], f"Row {number} ({name}), {PRICE}", faults))
        names.append(name)
        if len(faults) > MOST_NAMED:
            break
    if faults:
        more = " There are more faults below." if len(faults) > MOST_NAMED else ""
        raise HistoryRefusedError("\n".join(faults[:MOST_NAMED]) + more)
    return History(
        names=tuple(names),
        periods=tuple(head[place] for place in places),
        rows=tuple(rows),
        prices=tuple(prices),
        notes=_notes(names, rows),
    )


def _use(text: str, where: str, faults: list[str]) -> float:
    if not text.strip():
        faults.append(f"{where}: nothing is entered. Enter 0 for a period without use.")
        return 0.0
    value = _number(text)
    if value is None:
        faults.append(f"{where}: “{text.strip()}” is not a number.")
    elif value < 0:
        faults.append(f"{where}: {text.strip()} is below 0. Use is 0 or more, net of what came back.")
    return value or 0.0


def _price(text: str, where: str, faults: list[str]) -> float:
    value = _number(text)
    if value is None or value <= 0:
        faults.append(f"{where}: “{text.strip()}” is not a price above 0.")
    return value or 1.0


def _number(text: str) -> float | None:
    try:
        value = float(text.strip().replace("−", "-"))
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def _notes(names: Sequence[str], rows: Sequence[Sequence[float]]) -> tuple[str, ...]:
    """What people should know about the table."""
    notes = []
    twice = sorted({name for name in names if names.count(name) > 1}) if len(set(names)) < len(names) else []
    if twice:
        notes.append(f"{len(twice)} names stand in more than one row, for example {twice[0]}: each row is replayed by itself.")
    silent = sum(1 for row in rows if not any(row))
    if silent:
        notes.append(f"{silent} rows have no use in any period.")
    return tuple(notes)
