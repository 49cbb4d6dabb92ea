"""Reads single cells of a cut list: sizes, counts, factors, zones. Imports no Django."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from decimal import Decimal

from costing.core.checks import check_number
from costing.core.errors import CostingError
from costing.core.takeoff import (
    LARGEST_PROFILE_FACTOR,
    LARGEST_ROW,
    LONGEST_PIECE,
    MOST_PIECES,
    THICKEST_PIECE,
    WIDEST_GIRTH,
    Zone,
)
from costing.core.takeoff_header import Column
from finishing.units import Kind, UnitError, plain_number, read_measure

LONGEST_LABEL = 80
LEAST_GEOMETRY_FACTOR = 0.05

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}(?:[ T].*)?")
_SHEET_ERROR = re.compile(r"#(?:REF!|DIV/0!|VALUE!|NAME\?|N/A|NUM!|NULL!|SPILL!)", re.IGNORECASE)
_WHOLE = re.compile(r"(?P<number>[+-]?(?:\d{1,3}(?:,\d{3})+|\d+))(?:\.0+)?\s*(?:pcs|pc|pieces|piece|ea)?\.?", re.IGNORECASE)
_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)")
_ZONES: Mapping[str, Zone] = {
    **dict.fromkeys(("", "show", "s", "visible", "front", "outside", "exterior"), Zone.SHOW),
    **dict.fromkeys(("hidden", "h", "inside", "interior", "back", "concealed"), Zone.HIDDEN),
}
_FORMS: Mapping[str, str] = {
    **dict.fromkeys(("panel", "length × width × thickness", "l × w × t", "l x w x t", "flat"), "panel"),
    **dict.fromkeys(("area", "area given"), "area"),
    **dict.fromkeys(("moulding", "molding", "length × girth", "l × girth", "l x girth"), "moulding"),
}


class CellError(ValueError):
    """A cell that cannot be read: what is wrong, and what would be right."""

    def __init__(self, wrong: str, right: str) -> None:
        self.wrong, self.right = wrong, right
        super().__init__(f"{wrong} {right}")


def tidy(text: str) -> str:
    """A cell without needless space."""
    return " ".join(text.replace("\u00a0", " ").split())


def sentence(words: str) -> str:
    """Words as a sentence of their own."""
    return f"{words[:1].upper()}{words[1:]}."


def refuse_sheet_leftovers(text: str) -> None:
    """Formulas and the errors of a spreadsheet are no values."""
    if text.startswith("="):
        raise CellError(f"“{text[:40]}” is a formula.", "Paste values instead of formulas.")
    if _SHEET_ERROR.fullmatch(text):
        raise CellError(f"“{text}” is an error of the spreadsheet.", "Mend the formula there, then copy the value.")


def _label(text: str, column: Column) -> str:  # noqa: ARG001 - every reader is asked the same way
    if not text:
        raise CellError("The label is missing.", "Say what the piece is, for example: Door, upper.")
    if len(text) > LONGEST_LABEL:
        raise CellError(f"The label has {len(text)} letters.", f"Shorten it to {LONGEST_LABEL}.")
    return text


def _whole(text: str, *, words: str, least: int, most: int) -> int | None:
    if not text:
        return None
    right = f"Give a whole number from {least} to {most}."
    match = _WHOLE.fullmatch(text)
    if match is None:
        raise CellError(f"“{text}” is not a whole number of {words}.", right)
    number = int(match["number"].replace(",", "")) if len(match["number"]) < 15 else most + 1
    if not least <= number <= most:
        raise CellError(f"There can’t be “{text}” {words}.", right)
    return number


def _pieces(text: str, column: Column) -> int:  # noqa: ARG001
    number = _whole(text, words="pieces", least=1, most=MOST_PIECES)
    if number is None:
        raise CellError("The number of pieces is missing.", "Give a whole number, 1 or more.")
    return number


def _sides(words: str) -> Callable[[str, Column], int | None]:
    return lambda text, column: _whole(text, words=words, least=0, most=2)  # noqa: ARG005


def _measured(kind: Kind, most: float, *, zero: bool, places: int = 6) -> Callable[[str, Column], Decimal | None]:
    def read(text: str, column: Column) -> Decimal | None:
        if not text:
            return None
        if _DATE.fullmatch(text):
            raise CellError(
                f"“{text}” is a date: a spreadsheet makes one of 3/4.",
                "Format the column as text and type it again, or write 0.75.",
            )
        try:
            measure = read_measure(text, kind, assume=column.unit)
        except UnitError as error:
            raise CellError(error.reason, str(error)[len(error.reason) :].strip()) from error
        unit = "mm" if kind is Kind.LENGTH else "m²"
        try:
            check_number(
                measure.decimal, column.field, unit=unit, above=None if zero else 0, least=0 if zero else None, most=most
            )
        except CostingError as error:
            raise CellError(
                f"“{text}” is {plain_number(measure.decimal, 2) if abs(measure.value) < 10**12 else 'far too large'} {unit}.",
                sentence(error.right),
            ) from error
        return round(measure.decimal, places)

    return read


def _factor(words: str, least: float, most: float) -> Callable[[str, Column], Decimal | None]:
    def read(text: str, column: Column) -> Decimal | None:  # noqa: ARG001
        if not text:
            return None
        right = f"Give a number from {least:g} to {most:g}, for example {'1.05' if least == 1 else '0.8'}."
        if not _PLAIN.fullmatch(text) or len(text) > 20:
            raise CellError(f"“{text}” is not a number.", right)
        number = Decimal(text)
        if not Decimal(str(least)) <= number <= Decimal(str(most)):
            raise CellError(f"A {words} of {text} makes no sense.", right)
        return round(number, 4)

    return read


def _zone(text: str, column: Column) -> Zone:  # noqa: ARG001
    try:
        return _ZONES[text.lower()]
    except KeyError:
        raise CellError(f"“{text}” is not a zone.", "Write show or hidden, or leave it empty for show.") from None


def _form(text: str, column: Column) -> str | None:  # noqa: ARG001
    if not text:
        return None
    try:
        return _FORMS[text.lower()]
    except KeyError:
        raise CellError(f"“{text}” is not a way to state a row.", "Write panel, area or moulding, or leave it empty.") from None


READERS: Mapping[str, Callable[[str, Column], object]] = {
    "label": _label,
    "pieces": _pieces,
    "form": _form,
    "length": _measured(Kind.LENGTH, LONGEST_PIECE, zero=False),
    "width": _measured(Kind.LENGTH, LONGEST_PIECE, zero=False),
    "thickness": _measured(Kind.LENGTH, THICKEST_PIECE, zero=True),
    "girth": _measured(Kind.LENGTH, WIDEST_GIRTH, zero=False),
    "area": _measured(Kind.AREA, LARGEST_ROW, zero=False, places=8),
    "area_each": _measured(Kind.AREA, LARGEST_ROW, zero=False, places=8),
    "faces": _sides("faces"),
    "long_edges": _sides("long edges"),
    "short_edges": _sides("short edges"),
    "profile_factor": _factor("profile factor", 1, LARGEST_PROFILE_FACTOR),
    "geometry_factor": _factor("geometry factor", LEAST_GEOMETRY_FACTOR, 1),
    "zone": _zone,
}
