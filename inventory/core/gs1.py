"""What a bar code says: GS1 element strings, bare GTINs and plain lot numbers.

Pure: no Django, no clock; the day is an argument. Which application identifiers (AI) there are and how long their data may be
is the library Biip's knowledge; centuries, the last day of a month and what counts as an error are decided here, because the
library takes the century from the machine's clock and refuses a whole code for one odd date.

Sources: GS1 General Specifications (element strings, check digit 7.9, dates 7.12) and the GS1 Barcode Syntax Dictionary.

**What no reader can find.** An element of variable length (lot, count, additional id) ends at a separator or at the end of
the code. Where the printer left the separator out, ``…10LOT7A17261231`` reads as the lot ``LOT7A17261231`` without an expiry,
and nothing in the code shows the slip. So what was read is always shown before it is used.
"""

from __future__ import annotations

import calendar
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum

GS = "\x1d"
"""How readers send FNC1 between elements. Keyboards can't type it, so what readers send in its place is taken for it too."""

LONGEST_CODE = 400  # characters; more is no label of a container
LONGEST_LOT = 40  # characters of a lot number typed by hand; GS1 allows 20
_STAND_INS = ("<GS>", "{GS}", "␝", "^]", "|")
_SYMBOLOGY = re.compile(r"\][A-Za-z][0-9A-Za-z]")
_GS1_SYMBOLS = frozenset({"]C1", "]d2", "]Q3", "]e0", "]J1"})
_GTIN_SYMBOLS = frozenset({"]E0", "]E4", "]I1"})
_GTIN = re.compile(r"[0-9]{8}|[0-9]{12,14}")
_GS1_LOT = re.compile(r"[!-\"%-?A-Z_a-z]{1,20}")  # character set 82 of the General Specifications
_PRINTED = re.compile(r"\(([0-9]{2,4})\)")
_DATES = {"11": "made_on", "13": "packed_on", "15": "best_before", "17": "expires_on"}
_UNITS = {"310": "kg", "320": "lb", "315": "L", "357": "oz", "360": "qt", "361": "gal"}
_OTHERWISE = "If it is a plain lot number, write it into the row itself."


class ScanForm(StrEnum):
    """What kind of text was read."""

    ELEMENTS = "elements"  # a GS1 element string
    GTIN = "gtin"  # a bare GTIN, and the reader says so
    UNCLEAR = "unclear"  # digits that can be a GTIN or a lot number: both are given
    LOT = "lot"  # a plain lot number


class Trouble(StrEnum):
    """Why a text was refused."""

    EMPTY = "empty"
    TOO_LONG = "too long"
    CHARACTERS = "characters"
    WEB_ADDRESS = "web address"
    UNKNOWN = "unknown identifier"
    VALUE = "value"
    CHECK_DIGIT = "check digit"
    DATE = "date"
    CONTRADICTION = "contradiction"


@dataclass(frozen=True, slots=True, kw_only=True)
class ScanProblem:
    """A text that can't be used, the part that is wrong, and what to do in words."""

    trouble: Trouble
    found: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NetContent:
    """Net weight or volume as printed; ``oz`` may mean weight or fluid ounces, the code does not say."""

    value: Decimal
    unit: str  # kg, lb, L, oz, qt or gal; quart and gallon are US


@dataclass(frozen=True, slots=True, kw_only=True)
class Other:
    """An element that a delivery has no field for."""

    ai: str
    title: str
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Scan:
    """What one code says. Empty or None: it says nothing about that.

    ``expires_on`` (AI 17) is the limit of use: past it there is a risk, so it may stop an issue. ``best_before`` (AI 15) is a
    statement about quality: past it the material may still be good, so it calls for a warning and a test.
    """

    form: ScanForm
    gtin: str = ""  # 14 digits, check digit right
    is_contained: bool = False  # the GTIN is of what is inside a carton or pallet (AI 02)
    lot: str = ""
    made_on: date | None = None
    packed_on: date | None = None
    best_before: date | None = None
    expires_on: date | None = None
    month_only: frozenset[str] = frozenset()  # names of dates printed with day 00: the month's last day is given
    variable_count: int | None = None  # AI 30: items in a pack that holds a varying number
    count: int | None = None  # AI 37: packs inside the carton or pallet
    contents: tuple[NetContent, ...] = ()
    additional_id: str = ""
    others: tuple[Other, ...] = ()


class _RefusedError(ValueError):
    def __init__(self, trouble: Trouble, found: str, words: str) -> None:
        super().__init__(words)
        self.problem = ScanProblem(trouble=trouble, found=found, words=words)


def read_scan(text: str, *, today: date) -> Scan | ScanProblem:
    """Read what a scanner sent or a person typed. Never raises: a text either reads or is refused in words.

    A reader that names the kind of symbol (``]C1`` and the like) is believed. Without that, text with a separator, in the
    printed form ``(01)…(17)…``, or beginning with a GTIN element is an element string; so is text that reads as one from end
    to end and holds a GTIN. Everything else is a lot number.

    >>> read_scan("(01)09506000134352(17)261231(10)LOT7A", today=date(2026, 5, 1)).expires_on
    datetime.date(2026, 12, 31)
    """
    try:
        return _read(text, today)
    except _RefusedError as refused:
        return refused.problem


def _read(text: str, today: date) -> Scan:
    text = text.strip(" \t\r\n\f\v")
    symbol = match.group() if (match := _SYMBOLOGY.match(text)) else ""
    body = text[len(symbol) :]
    for stand_in in _STAND_INS:
        body = body.replace(stand_in, GS)
    if not body.strip():  # the separator counts as white space, as do line ends of other systems
        raise _RefusedError(Trouble.EMPTY, text, "There is nothing to read. Scan a code or type a lot number.")
    if len(body) > LONGEST_CODE:
        raise _RefusedError(Trouble.TOO_LONG, body[:20], f"This is longer than the {LONGEST_CODE} characters of any label.")
    if symbol in _GTIN_SYMBOLS:
        return Scan(form=ScanForm.GTIN, gtin=_gtin(body))
    if symbol in _GS1_SYMBOLS or GS in body or _PRINTED.match(body) or re.match(r"0[12][0-9]{14}", body):
        return _read_elements(body, today)
    return _try_elements(body, today) or _read_plain(body)


def _try_elements(body: str, today: date) -> Scan | None:
    """The text as an element string where it holds a GTIN and reads to its end."""
    if not re.match(r"[0-9]{2}", body):
        return None
    try:
        scan = _read_elements(body, today)
    except _RefusedError:
        return None
    return scan if scan.gtin else None


def _read_plain(body: str) -> Scan:
    lot = " ".join(body.split())
    if re.match(r"https?://", lot, re.IGNORECASE):
        words = "This is a web address, not a lot number. Scan the other code on the label, or type the lot number."
        raise _RefusedError(Trouble.WEB_ADDRESS, lot[:40], words)
    if not lot.isprintable():
        raise _RefusedError(Trouble.CHARACTERS, repr(lot[:40]), "This holds characters that can’t be printed. Scan it again.")
    if len(lot) > LONGEST_LOT:
        words = f"This is no code that can be read, and a lot number has at most {LONGEST_LOT} characters."
        raise _RefusedError(Trouble.TOO_LONG, lot[:20], words)
    if _GTIN.fullmatch(lot) and lot[-1] == check_digit(lot[:-1]):
        return Scan(form=ScanForm.UNCLEAR, gtin=lot.zfill(14), lot=lot)
    return Scan(form=ScanForm.LOT, lot=lot)


# ------------------------------------------------------------ elements


@dataclass(slots=True)
class _Element:
    ai: str
    title: str
    value: str


@dataclass(slots=True)
class _Found:
    """Values by field name, as they are read one after another."""

    values: dict[str, object] = field(default_factory=dict)
    month_only: set[str] = field(default_factory=set)
    contents: list[NetContent] = field(default_factory=list)
    others: list[Other] = field(default_factory=list)
    seen: dict[str, str] = field(default_factory=dict)


def _read_elements(body: str, today: date) -> Scan:
    if not body.isascii():
        strange = next(char for char in body if not char.isascii())
        raise _RefusedError(Trouble.CHARACTERS, strange, f"“{strange}” can’t stand in a GS1 code. Scan it again.")
    found = _Found()
    elements = _printed_elements(body) if _PRINTED.match(body) else _sent_elements(body)
    for element in elements:
        if found.seen.setdefault(element.ai, element.value) != element.value:
            words = f"The code says {element.title} twice and not the same: {found.seen[element.ai]} and {element.value}."
            raise _RefusedError(Trouble.CONTRADICTION, element.value, words)
        _note(found, element, today)
    if {"01", "02"} <= set(found.seen):
        words = "The code names an article and the content of a carton at once. Scan the code of the container itself."
        raise _RefusedError(Trouble.CONTRADICTION, found.seen["02"], words)
    return Scan(
        form=ScanForm.ELEMENTS,
        is_contained="02" in found.seen,
        month_only=frozenset(found.month_only),
        contents=tuple(found.contents),
        others=tuple(found.others),
        **found.values,  # type: ignore[arg-type] # each value is put in under its own name
    )


def _note(found: _Found, element: _Element, today: date) -> None:
    ai, value = element.ai, element.value
    if ai in {"01", "02"}:
        found.values["gtin"] = _gtin(value)
    elif ai in _DATES:
        found.values[_DATES[ai]] = read_date(value, today=today, title=element.title)
        if value.endswith("00"):
            found.month_only.add(_DATES[ai])
    elif ai in {"30", "37"}:
        if not value:
            raise _RefusedError(Trouble.VALUE, ai, f"The code has no number after {element.title} ({ai}). Scan it again.")
        found.values["variable_count" if ai == "30" else "count"] = int(value)
    elif ai[:3] in _UNITS:
        found.contents.append(NetContent(value=Decimal(value).scaleb(-int(ai[3])), unit=_UNITS[ai[:3]]))
    elif ai in {"10", "240"}:
        found.values["lot" if ai == "10" else "additional_id"] = value
    else:
        found.others.append(Other(ai=ai, title=element.title, value=value))


def _sent_elements(body: str) -> Iterator[_Element]:
    """The elements of a code as a reader sends it."""
    rest = body.lstrip(GS)
    while rest:
        part = rest.split(GS, maxsplit=1)[0]
        element, needs_separator = _first_element(part)
        size = len(element.ai) + len(element.value)
        if needs_separator and size < len(part):
            words = f"After {element.title} ({element.ai}) comes more than belongs there: “{part[size:]}”. {_OTHERWISE}"
            raise _RefusedError(Trouble.VALUE, part[len(element.ai) :], words)
        yield element
        rest = rest[size:].lstrip(GS)


def _printed_elements(body: str) -> Iterator[_Element]:
    """The elements of the form printed below a code, ``(01)…(17)…``; blanks are forgiven."""
    _, *pieces = _PRINTED.split("".join(body.split()).replace(GS, ""))
    for ai, value in zip(pieces[::2], pieces[1::2], strict=True):
        element, _ = _first_element(ai + value)
        if element.ai != ai:
            raise _unknown(ai)
        if element.value != value:
            words = f"“{value}” is no {element.title} ({ai}). Compare it with the label. {_OTHERWISE}"
            raise _RefusedError(Trouble.VALUE, value, words)
        yield element


def _first_element(text: str) -> tuple[_Element, bool]:
    """The first element of a text without separators, and whether a separator has to follow it."""
    # Half a second of tables is read on import: only once somebody scans.
    from biip import ParseConfig, ParseError
    from biip.gs1_application_identifiers import GS1ApplicationIdentifier
    from biip.gs1_element_strings import GS1ElementString

    try:
        kind = GS1ApplicationIdentifier.extract(text)
    except ParseError:
        raise _unknown(text[:4]) from None
    data = text[len(kind.ai) :]
    title = kind.data_title or kind.description
    if kind.ai in _DATES:
        if not re.match(r"[0-9]{6}", data):
            raise _RefusedError(Trouble.DATE, data[:6], f"“{data[:6]}” is no date of six digits ({title}). {_OTHERWISE}")
        return _Element(ai=kind.ai, title=title, value=data[:6]), False
    try:
        element = GS1ElementString.extract(text, config=ParseConfig(gs1_element_strings_verify_date=False))
    except ParseError:
        words = f"“{data[:20]}” is no {title} ({kind.ai}). Scan it again. {_OTHERWISE}"
        raise _RefusedError(Trouble.VALUE, data[:20], words) from None
    return _Element(ai=kind.ai, title=title, value=element.value), kind.separator_required


def _unknown(start: str) -> _RefusedError:
    words = f"“{start}” begins no element that GS1 knows, so the rest can’t be read. Scan it again. {_OTHERWISE}"
    return _RefusedError(Trouble.UNKNOWN, start, words)


# ------------------------------------------------------------ GTIN, dates


def check_digit(digits: str) -> str:
    """The last digit of a GTIN, from the digits before it: weights 3 and 1 from the right, up to the next ten.

    >>> check_digit("629104150021")
    '3'
    """
    total = sum(int(digit) * (1 if place % 2 else 3) for place, digit in enumerate(reversed(digits)))
    return str(-total % 10)


def is_gtin(text: str) -> bool:
    """Whether a text is a GTIN of 8, 12, 13 or 14 digits with the right check digit."""
    return bool(_GTIN.fullmatch(text)) and text[-1] == check_digit(text[:-1])


def same_gtins(gtin: str) -> tuple[str, ...]:
    """All ways to store one GTIN: as 14 digits, and shorter where the digits before are zeros.

    >>> same_gtins("00036000241457")
    ('00036000241457', '0036000241457', '036000241457')
    """
    full = gtin.zfill(14)
    return tuple(full[14 - size :] for size in (14, 13, 12, 8) if not full[: 14 - size].strip("0"))


def _gtin(text: str) -> str:
    if not _GTIN.fullmatch(text):
        raise _RefusedError(Trouble.VALUE, text[:20], f"“{text[:20]}” is no GTIN: that has 8, 12, 13 or 14 digits.")
    if text[-1] != check_digit(text[:-1]):
        words = f"The check digit of {text} is wrong, so a digit was misread or mistyped. Scan it again. {_OTHERWISE}"
        raise _RefusedError(Trouble.CHECK_DIGIT, text, words)
    return text.zfill(14)


def read_date(digits: str, *, today: date, title: str = "date") -> date:
    """A date of six digits YYMMDD. Day 00 is the last day of the month; the century lies within 49 years back and 50 ahead.

    Raises a ``ValueError`` in words for a month or a day that does not exist.

    >>> read_date("280200", today=date(2026, 5, 1))
    datetime.date(2028, 2, 29)
    """
    year, month, day = (int(digits[place : place + 2]) for place in (0, 2, 4))
    year = full_year(year, today=today)
    if not 1 <= month <= 12:
        words = f"“{digits}” is no date ({title}): there is no month {digits[2:4]}. {_OTHERWISE}"
        raise _RefusedError(Trouble.DATE, digits, words)
    last = calendar.monthrange(year, month)[1]
    if day > last:
        words = f"“{digits}” is no date ({title}): {calendar.month_name[month]} {year} has {last} days. {_OTHERWISE}"
        raise _RefusedError(Trouble.DATE, digits, words)
    return date(year, month, day or last)


def full_year(two_digits: int, *, today: date) -> int:
    """The year meant by two digits: from 49 years before this year to 50 years after it (General Specifications 7.12)."""
    century = today.year - today.year % 100
    ahead = two_digits - today.year % 100
    if ahead >= 51:
        return century - 100 + two_digits
    if ahead <= -50:
        return century + 100 + two_digits
    return century + two_digits


# ------------------------------------------------------------ writing


def label_text(*, lot: str, gtin: str = "", use_until: date | None = None, today: date) -> str:
    """What a label's square code says: an element string where GS1 allows one, else the bare lot number.

    GS1 wants a lot to come with a GTIN, in at most 20 characters of its set. A lot without a known GTIN, or with a longer or
    stranger number, is written as it is: any reader gives it back, and ``read_scan`` takes it for a lot number. The last day
    of use is left out where two digits of a year could be read as another century.

    >>> label_text(lot="LOT7A", gtin="9506000134352", use_until=date(2026, 12, 31), today=date(2026, 5, 1))
    '01095060001343521726123110LOT7A'
    """
    if not is_gtin(gtin) or not _GS1_LOT.fullmatch(lot):
        return lot
    dated = use_until is not None and full_year(use_until.year % 100, today=today) == use_until.year
    until = f"17{use_until:%y%m%d}" if dated else ""
    return f"01{gtin.zfill(14)}{until}10{lot}"
