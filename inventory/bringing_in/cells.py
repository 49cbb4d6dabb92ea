"""Reads the cells of a list by the very fields of the forms, so that a file and a form know the same rules.

Each reader gives a value or raises ``CellRefusedError``; ``shown`` gives the text back that a file would hold.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from finishing.cells import CellRefusedError, guarded, one_line, read_day
from finishing.documents.letterhead import printable
from finishing.units import UnitSystem, plain_number
from inventory.bringing_in.plan import Fault
from inventory.choices import StockUnit
from inventory.forms.fields import ContentField, StockQuantityField

Cell = str | Decimal | int | date | None
Read = Callable[[str], Any]
_YES = frozenset({"yes", "y", "true", "1", "x"})
_NO = frozenset({"no", "n", "false", "0"})


def by_field(field: forms.Field, *, empty: Any = None, checks: Sequence[Callable[[Any], None]] = ()) -> Read:
    """Read by a form's field and by further ``checks``; nothing typed is ``empty``. Equal texts are read once."""
    known: dict[str, Any] = {}
    refused: dict[str, str] = {}

    def read(text: str) -> Any:
        if text not in known and text not in refused:
            try:
                value = field.clean(text)
                for check in checks:
                    check(value)
            except ValidationError as error:
                refused[text] = " ".join(error.messages)
            else:
                known[text] = empty if value is None or value == "" else value
        if text in refused:
            raise CellRefusedError(refused[text])
        return known[text]

    return read


def text_of(longest: int, *, needed: str = "") -> Read:
    """A text that fits; ``needed`` is the sentence for a missing one."""

    def read(text: str) -> str:
        if needed and not text:
            raise CellRefusedError(needed)
        if len(text) > longest:
            raise CellRefusedError(f"This has {len(text)} characters; keep it to {longest}.")
        return text

    return read


def one_of(choices: Mapping[str, Any], *, needed: str, empty: Any = None, may_be_empty: bool = False) -> Read:
    """One of several words, in any case. ``choices`` gives the value for each word in lower case."""

    def read(text: str) -> Any:
        if not text and may_be_empty:
            return empty
        try:
            return choices[text.casefold()]
        except KeyError:
            raise CellRefusedError(f"“{text[:40]}” is not known here. {needed}" if text else needed) from None

    return read


def yes_or_no(*, empty: bool) -> Read:
    """Yes or no."""

    def read(text: str) -> bool:
        word = text.casefold()
        if word in _YES | _NO:
            return word in _YES
        if not word:
            return empty
        raise CellRefusedError(f"“{text[:40]}” is neither yes nor no.")

    return read


def day(text: str) -> date | None:
    """A day, or none."""
    return read_day(text) if text else None


class Quantities:
    """Quantities of each stock unit. A bare number is in the unit that the material is kept in, whatever the pages show."""

    def __init__(self, kind: type[StockQuantityField] = StockQuantityField, **kwargs: Any) -> None:
        self._kind, self._kwargs = kind, kwargs
        self._readers: dict[StockUnit, Read] = {}

    def read(self, text: str, unit: StockUnit) -> Decimal | None:
        """The text as a quantity in this unit."""
        if unit not in self._readers:
            self._readers[unit] = by_field(self._kind(stock_unit=unit, system=UnitSystem.METRIC, **self._kwargs))
        found: Decimal | None = self._readers[unit](text)
        return found


CONTENTS = (ContentField, {"error_messages": {"required": "Write how much is in one pack."}})


def shown(cell: Cell) -> str:
    """A cell's value as text."""
    if cell is None:
        return ""
    if isinstance(cell, Decimal):
        return plain_number(cell)
    if isinstance(cell, date):
        return cell.isoformat()
    text = str(cell)
    return one_line(text if text.isprintable() else printable(text))


def folded(text: str) -> str:
    """A text as it is compared: on one line, in any case of letters."""
    return shown(text).casefold()


def is_as_shown(cell: str, value: Cell) -> bool:
    """Whether a cell of a file says what an export would write there."""
    text = shown(value)
    return cell == (guarded(text) if isinstance(value, str) else text)


def said(value: bool | None) -> str:
    """Yes or no as a file says it."""
    return "yes" if value else "no"


class Faults(list[Fault]):
    """Gathers what is wrong in a row."""

    def reading(self, heading: str, read: Callable[[], Any]) -> Any:
        """What ``read`` gives; a refusal joins the faults, and None comes back."""
        try:
            return read()
        except CellRefusedError as error:
            self.append(Fault(column=heading, words=str(error)))
            return None

    def add(self, heading: str, words: str) -> None:
        """Something else that is wrong."""
        self.append(Fault(column=heading, words=words))
