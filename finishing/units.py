"""Units of measure: exact factors, reading what people type, showing what they chose.

Pure: no Django, no clock. Every factor is an exact fraction of the unit that the program keeps inside:
length mm, film µm, area m², volume L, mass kg, time min. Sources: NIST Handbook 44 App. C (US gallon of
231 in³) and NIST SP 811 App. B; inch 25.4 mm and pound 0.45359237 kg are exact by definition; UK gallon
4.54609 L from memory.

A general unit library is deliberately not used here: one was measured to read ``mil`` as an angle and
``fl oz`` as femtolitre-ounces. It serves as a second opinion in the tests.
"""

from __future__ import annotations

import enum
import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction


class Kind(enum.StrEnum):
    """What a measure is a measure of."""

    LENGTH = "length"
    FILM = "film"
    AREA = "area"
    VOLUME = "volume"
    MASS = "mass"
    COUNT = "count"
    TIME = "time"
    PRESSURE = "pressure"
    VOC = "voc"


class UnitSystem(enum.StrEnum):
    """How the shop wants measures shown."""

    METRIC = "metric"
    US = "us"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """One unit: its symbol, kind, and exact size in the kind's inside unit."""

    symbol: str
    kind: Kind
    factor: Fraction
    names: tuple[str, ...] = ()
    note: str = ""


_INCH = Fraction(254, 10)  # mm
_FOOT = _INCH * 12
_GALLON = Fraction(3785411784, 10**9)  # L
_UK_GALLON = Fraction(454609, 10**5)
_POUND = Fraction(45359237, 10**8)  # kg
_PSI = Fraction(8896443230521, 1290320000000)  # kPa

UNITS: tuple[Unit, ...] = (
    Unit(symbol="mm", kind=Kind.LENGTH, factor=Fraction(1), names=("millimetre", "millimeter", "millimetres")),
    Unit(symbol="cm", kind=Kind.LENGTH, factor=Fraction(10), names=("centimetre", "centimeter")),
    Unit(symbol="m", kind=Kind.LENGTH, factor=Fraction(1000), names=("metre", "meter", "metres", "meters")),
    Unit(symbol="in", kind=Kind.LENGTH, factor=_INCH, names=("inch", "inches", '"', "″", "”")),
    Unit(symbol="ft", kind=Kind.LENGTH, factor=_FOOT, names=("foot", "feet", "'", "′", "’")),
    Unit(symbol="µm", kind=Kind.FILM, factor=Fraction(1), names=("um", "μm", "micron", "microns", "micrometre")),
    Unit(symbol="mil", kind=Kind.FILM, factor=_INCH, names=("mils", "thou")),
    Unit(symbol="m²", kind=Kind.AREA, factor=Fraction(1), names=("sqm", "sq m")),
    Unit(symbol="cm²", kind=Kind.AREA, factor=Fraction(1, 10**4), names=("sq cm",)),
    Unit(symbol="ft²", kind=Kind.AREA, factor=_FOOT**2 / 10**6, names=("sqft", "sq ft", "sf")),
    Unit(symbol="in²", kind=Kind.AREA, factor=_INCH**2 / 10**6, names=("sq in", "sqin")),
    Unit(symbol="L", kind=Kind.VOLUME, factor=Fraction(1), names=("l", "litre", "liter", "litres", "liters")),
    Unit(symbol="mL", kind=Kind.VOLUME, factor=Fraction(1, 1000), names=("ml", "millilitre", "milliliter", "cc")),
    Unit(symbol="gal", kind=Kind.VOLUME, factor=_GALLON, names=("gallon", "gallons", "us gal")),
    Unit(symbol="qt", kind=Kind.VOLUME, factor=_GALLON / 4, names=("quart", "quarts")),
    Unit(symbol="pt", kind=Kind.VOLUME, factor=_GALLON / 8, names=("pint", "pints")),
    Unit(symbol="fl oz", kind=Kind.VOLUME, factor=_GALLON / 128, names=("floz", "fluid ounce", "fluid ounces")),
    Unit(symbol="imp gal", kind=Kind.VOLUME, factor=_UK_GALLON, names=("uk gal", "imperial gallon")),
    Unit(symbol="imp fl oz", kind=Kind.VOLUME, factor=_UK_GALLON / 160, names=("uk fl oz",)),
    Unit(symbol="kg", kind=Kind.MASS, factor=Fraction(1), names=("kilogram", "kilograms", "kilo")),
    Unit(symbol="g", kind=Kind.MASS, factor=Fraction(1, 1000), names=("gram", "grams")),
    Unit(symbol="lb", kind=Kind.MASS, factor=_POUND, names=("lbs", "pound", "pounds")),
    Unit(symbol="oz", kind=Kind.MASS, factor=_POUND / 16, names=("ounce", "ounces")),
    Unit(symbol="pcs", kind=Kind.COUNT, factor=Fraction(1), names=("pc", "piece", "pieces", "each", "ea")),
    Unit(symbol="min", kind=Kind.TIME, factor=Fraction(1), names=("minute", "minutes", "mins")),
    Unit(symbol="h", kind=Kind.TIME, factor=Fraction(60), names=("hr", "hrs", "hour", "hours")),
    Unit(symbol="d", kind=Kind.TIME, factor=Fraction(1440), names=("day", "days")),
    Unit(symbol="kPa", kind=Kind.PRESSURE, factor=Fraction(1), names=("kpa",)),
    Unit(symbol="bar", kind=Kind.PRESSURE, factor=Fraction(100), names=("bars",)),
    Unit(symbol="psi", kind=Kind.PRESSURE, factor=_PSI),
    Unit(symbol="g/L", kind=Kind.VOC, factor=Fraction(1), names=("g/l", "gpl")),
    Unit(symbol="lb/gal", kind=Kind.VOC, factor=_POUND * 1000 / _GALLON, names=("lb/gallon", "lbs/gal")),
)

INSIDE: Mapping[Kind, str] = {
    Kind.LENGTH: "mm",
    Kind.FILM: "µm",
    Kind.AREA: "m²",
    Kind.VOLUME: "L",
    Kind.MASS: "kg",
    Kind.COUNT: "pcs",
    Kind.TIME: "min",
    Kind.PRESSURE: "kPa",
    Kind.VOC: "g/L",
}

SHOWN: Mapping[UnitSystem, Mapping[Kind, str]] = {
    UnitSystem.METRIC: {**INSIDE, Kind.PRESSURE: "bar"},
    UnitSystem.US: {
        Kind.LENGTH: "in",
        Kind.FILM: "mil",
        Kind.AREA: "ft²",
        Kind.VOLUME: "gal",
        Kind.MASS: "lb",
        Kind.COUNT: "pcs",
        Kind.TIME: "min",
        Kind.PRESSURE: "psi",
        Kind.VOC: "lb/gal",
    },
}

_BY_SYMBOL: Mapping[str, Unit] = {unit.symbol: unit for unit in UNITS}
_BY_NAME: Mapping[str, tuple[Unit, ...]] = {
    name: tuple(u for u in UNITS if name in {n.lower() for n in (u.symbol, *u.names)})
    for name in {n.lower() for u in UNITS for n in (u.symbol, *u.names)}
}
_KIND_WORDS: Mapping[Kind, str] = {
    Kind.LENGTH: "a length",
    Kind.FILM: "a film thickness",
    Kind.AREA: "an area",
    Kind.VOLUME: "a volume",
    Kind.MASS: "a mass",
    Kind.COUNT: "a count",
    Kind.TIME: "a time",
    Kind.PRESSURE: "a pressure",
    Kind.VOC: "a VOC content",
}
_EXAMPLES: Mapping[Kind, str] = {
    Kind.LENGTH: "715, 71.5 cm, 24 in or 3/4 in",
    Kind.FILM: "100, 100 µm or 4 mil",
    Kind.AREA: "12.5, 12.5 m² or 250 sq ft",
    Kind.VOLUME: "0.85, 850 ml, 1 gal or 30 fl oz",
    Kind.MASS: "2.5, 500 g or 1 lb",
    Kind.COUNT: "24",
    Kind.TIME: "90, 90 min or 1.5 h",
    Kind.PRESSURE: "2 bar, 29 psi or 200 kPa",
    Kind.VOC: "250, 250 g/L or 2.1 lb/gal",
}

MAX_TEXT = 60
_NUMBER = r"(?:\d+\s+\d+/\d+|\d+-\d+/\d+|\d+/\d+|(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?|\.\d+)"
_PART = re.compile(rf"\s*(?P<number>{_NUMBER})\s*(?P<unit>[^\d\s.,/+-][^\d]*?)?\s*(?=$|\.?\d)")
# m2 and ft^2 mean m² and ft²; in "5 ft 2 in" the 2 stands alone and stays a number.
_SQUARE = re.compile(r"\^?(?<=[a-zA-Z^])2(?=\s|$)")
_COMMA = re.compile(r"\d,\d{1,2}(?!\d)")
_VULGAR = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3"}


class UnitError(ValueError):
    """A measure that cannot be read. ``text`` is what was typed, ``kind`` what was wanted."""

    def __init__(self, text: str, kind: Kind, reason: str) -> None:
        self.text = text
        self.kind = kind
        self.reason = reason
        super().__init__(f"{reason} Write for example {_EXAMPLES[kind]}.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A measure as read: the exact value in the inside unit of its kind, and the reading that was taken."""

    value: Fraction
    kind: Kind
    unit: str
    text: str
    note: str = ""

    @property
    def decimal(self) -> Decimal:
        """The value in the inside unit, to 28 significant digits."""
        return Decimal(self.value.numerator) / Decimal(self.value.denominator)

    @property
    def understood(self) -> str:
        """What was understood, in words: ``24 in = 609.6 mm``."""
        inside = f"{plain_number(self.decimal)} {INSIDE[self.kind]}"
        typed = " ".join(self.text.split())
        shown = typed if self.unit in typed or any(c.isalpha() or c in "\"'″′" for c in typed) else f"{typed} {self.unit}"
        reading = inside if shown == inside else f"{shown} = {inside}"
        return f"{reading} ({self.note})" if self.note else reading


def plain_number(value: Decimal, places: int = 6) -> str:
    """A number without exponent or trailing zeros, at most ``places`` decimals.

    >>> plain_number(Decimal("609.6000"))
    '609.6'
    """
    rounded = round(value, places)
    text = f"{rounded:f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in {"-0", ""} else text


def inch_fraction(millimetres: Decimal) -> str | None:
    """A length as inches with a fraction, where it is a whole number of 64ths; None where it is not.

    >>> inch_fraction(Decimal("596.9")), inch_fraction(Decimal("19.05")), inch_fraction(Decimal("715"))
    ('23 1/2', '3/4', None)
    """
    inches = Fraction(millimetres) / _INCH
    if inches < 0 or (inches * 64).denominator != 1:
        return None
    whole, rest = divmod(inches, 1)
    parts = ([str(whole)] if whole or not rest else []) + ([f"{rest.numerator}/{rest.denominator}"] if rest else [])
    return " ".join(parts)


def _number(text: str) -> Fraction:
    text = text.replace(",", "").replace("-", " ")
    return sum((Fraction(part) for part in text.split()), Fraction(0))


def find_unit(name: str, kind: Kind) -> Unit:
    """The unit of ``kind`` that is called ``name``; raises ``UnitError`` for an unknown name or another kind."""
    candidates = _BY_NAME.get(" ".join(name.lower().replace(".", " ").replace("^", "").split()), ())
    for unit in candidates:
        if unit.kind is kind:
            return unit
    if kind is Kind.VOLUME and candidates and candidates[0].symbol == "oz":
        return _BY_SYMBOL["fl oz"]
    if candidates:
        raise UnitError(name, kind, f"“{name.strip()}” is {_KIND_WORDS[candidates[0].kind]}; this needs {_KIND_WORDS[kind]}.")
    raise UnitError(name, kind, f"“{name.strip()}” is not a unit known here.")


_METRIC_LENGTHS = frozenset({"mm", "cm", "m"})


def read_measure(text: str, kind: Kind, *, assume: str) -> Measure:
    """Read what a person typed as a measure of ``kind``; a bare number is taken in the unit ``assume``.

    Reads decimals, thousands commas, fractions (``3/4 in``, ``23 1/2 in``) and compounds (``5 ft 3 in``). ``oz`` in a volume
    is read as the fluid ounce and says so. Raises ``UnitError`` with the reason in words.

    >>> read_measure("3/4 in", Kind.LENGTH, assume="mm").decimal
    Decimal('19.05')
    """
    typed = text.strip()
    if not typed:
        raise UnitError(text, kind, "Nothing was typed.")
    if len(typed) > MAX_TEXT:
        raise UnitError(text, kind, "This is too long to be a measure.")
    cleaned = typed
    for sign, plain in _VULGAR.items():
        cleaned = cleaned.replace(sign, f" {plain}")
    cleaned = cleaned.replace("−", "-").replace("\u00a0", " ").strip()
    cleaned = _SQUARE.sub("²", cleaned)
    if _COMMA.search(cleaned):
        raise UnitError(text, kind, f"The comma in “{typed}” is unclear: write the decimals after a point.")
    negative = cleaned.startswith("-")
    body = cleaned[1:].lstrip() if negative else cleaned.removeprefix("+").lstrip()
    total, note, position = Fraction(0), "", 0
    symbols: list[str] = []
    while position < len(body):
        match = _PART.match(body, position)
        if match is None:
            raise UnitError(text, kind, f"“{typed}” can't be read as {_KIND_WORDS[kind]}.")
        name = match["unit"]
        if not name and "/" in match["number"] and assume in _METRIC_LENGTHS:
            # Nobody divides a millimetre: taken for one, a drawer front would come out 25 times too small.
            raise UnitError(text, kind, f"A fraction without a unit is unclear: write {typed} in if it is inches.")
        unit = find_unit(name, kind) if name else _BY_SYMBOL[assume]
        if name and kind is Kind.VOLUME and name.strip().lower().rstrip(".") in {"oz", "ounce", "ounces"}:
            note = "oz read as fluid ounce"
        if symbols and (not name or unit.factor >= _BY_SYMBOL[symbols[-1]].factor):
            raise UnitError(text, kind, f"“{typed}” can't be read as {_KIND_WORDS[kind]}.")
        try:
            total += _number(match["number"]) * unit.factor
        except ZeroDivisionError:
            raise UnitError(text, kind, "A fraction can't have 0 below the line.") from None
        symbols.append(unit.symbol)
        position = match.end()
    if not symbols:
        raise UnitError(text, kind, f"“{typed}” can't be read as {_KIND_WORDS[kind]}.")
    return Measure(value=-total if negative else total, kind=kind, unit=symbols[-1], text=typed, note=note)


def convert(value: Decimal | Fraction | int, *, from_unit: str, to_unit: str) -> Fraction:
    """Convert exactly between two units of the same kind, named by their symbols.

    >>> convert(1, from_unit="gal", to_unit="L") == Fraction("3.785411784")
    True
    """
    source, target = _BY_SYMBOL[from_unit], _BY_SYMBOL[to_unit]
    if source.kind is not target.kind:
        raise UnitError(
            from_unit,
            target.kind,
            f"“{from_unit}” is {_KIND_WORDS[source.kind]}; this needs {_KIND_WORDS[target.kind]}.",
        )
    return Fraction(value) * source.factor / target.factor


def shown_unit(kind: Kind, system: UnitSystem) -> str:
    """The symbol of the unit in which the shop sees measures of ``kind``."""
    return SHOWN[system][kind]


def to_shown(value: Decimal | float | int, kind: Kind, system: UnitSystem) -> Decimal:
    """A value in the inside unit of ``kind`` as a number of the shop's unit."""
    exact = Fraction(value) / _BY_SYMBOL[SHOWN[system][kind]].factor
    return Decimal(exact.numerator) / Decimal(exact.denominator)
