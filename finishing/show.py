"""How the shop sees things: money, measures, shares and days, in its currency, units and locale.

Pages, PDFs and messages all print through here. The shop's choices are read once per request or document with
``preferences()`` and may be handed on; without them each call uses the current ones.
"""

from __future__ import annotations

from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from babel import Locale, UnknownLocaleError
from babel.dates import format_date
from babel.numbers import format_currency, format_decimal, get_currency_precision
from django.utils import timezone

from finishing.money import round_money
from finishing.units import Kind, UnitSystem, convert, inch_fraction, shown_unit, to_shown

NOTHING = "–"


@dataclass(frozen=True, slots=True, kw_only=True)
class Preferences:
    """The shop's choices for showing things."""

    currency: str = "USD"
    locale: str = "en_US"
    units: UnitSystem = UnitSystem.METRIC
    time_zone: str = ""  # name of a place; empty: as the server is set

    @property
    def places(self) -> int:
        """Decimals of the currency's minor unit."""
        return int(get_currency_precision(self.currency))


_current: ContextVar[Preferences | None] = ContextVar("preferences", default=None)


def preferences() -> Preferences:
    """The preferences in force: those set for this request or document, else the shop's stored ones."""
    chosen = _current.get()
    if chosen is None:
        from finishing.models import Shop

        chosen = preferences_of(Shop.current())
        _current.set(chosen)
    return chosen


def preferences_of(shop: Any) -> Preferences:
    """The preferences that a shop row states; an unknown locale falls back to US English."""
    try:
        Locale.parse(shop.locale)
        locale = shop.locale
    except (UnknownLocaleError, ValueError):
        locale = "en_US"
    return Preferences(currency=shop.currency, locale=locale, units=shop.units, time_zone=shop.time_zone)


def use(chosen: Preferences | None) -> None:
    """Set the preferences for what follows in this context; ``None`` reads the shop's again."""
    _current.set(chosen)


def money(value: Decimal | None, chosen: Preferences | None = None) -> str:
    """An amount rounded half up to the minor unit, with its currency sign."""
    if value is None or value == "":
        return NOTHING
    p = chosen or preferences()
    return str(format_currency(round_money(Decimal(value), p.places), p.currency, locale=p.locale))


def money_to(value: Decimal, places: int) -> str:
    """An amount with its currency sign and a given number of decimals, never fewer than the currency's own."""
    p = preferences()
    if places <= p.places:
        return money(value)
    kept = round_money(value, places)
    return str(format_currency(kept, p.currency, locale=p.locale, currency_digits=False, decimal_quantization=False))


def number(value: Decimal | float | int | None, places: int = 2) -> str:
    """A number with at most ``places`` decimals, grouped as the locale does."""
    if value is None or value == "":
        return NOTHING
    pattern = "#,##0." + "#" * int(places) if int(places) else "#,##0"
    return str(format_decimal(round_money(Decimal(str(value)), int(places)), format=pattern, locale=preferences().locale))


def percent(value: Decimal | float | None, places: int = 1) -> str:
    """A share in percent."""
    return NOTHING if value is None or value == "" else f"{number(Decimal(str(value)) * 100, places)} %"


def _measure(value: Any, kind: Kind, places: int) -> str:
    if value is None or value == "":
        return NOTHING
    p = preferences()
    figure = number(to_shown(Decimal(str(value)), kind, p.units), places)
    return f"{figure} {'pc' if kind is Kind.COUNT and figure == '1' else shown_unit(kind, p.units)}"


def length(value: Decimal | float | None) -> str:
    """A length in mm as the shop reads it: ``715 mm``, ``23 1/2 in``."""
    return (
        NOTHING
        if value is None or value == ""
        else " ".join((length_number(value), shown_unit(Kind.LENGTH, preferences().units)))
    )


def length_number(value: Decimal | float) -> str:
    """A length in mm as a number of the shop's unit; inches as fractions where they are whole 64ths."""
    p = preferences()
    exact = Decimal(str(value))
    fraction = inch_fraction(exact) if p.units is UnitSystem.US else None
    return fraction or number(to_shown(exact, Kind.LENGTH, p.units), 3)


def film(value: Decimal | float | None) -> str:
    """A film thickness in µm as the shop reads it."""
    return _measure(value, Kind.FILM, 2)


def area(value: Decimal | float | None) -> str:
    """An area in m² as the shop reads it."""
    return _measure(value, Kind.AREA, 2)


def volume(value: Decimal | float | None) -> str:
    """A volume in L as the shop reads it."""
    return _measure(value, Kind.VOLUME, 3)


def voc(value: Decimal | float | None) -> str:
    """A VOC content in g/L as the shop reads it."""
    return _measure(value, Kind.VOC, 2)


def pour(value: Decimal | float | None) -> str:
    """A volume in L as one pours it: below a litre in mL, below a gallon in fluid ounces."""
    if value is None or value == "":
        return NOTHING
    metric = preferences().units is UnitSystem.METRIC
    litres = Decimal(str(value))
    if abs(to_shown(litres, Kind.VOLUME, preferences().units)) >= 1:
        return volume(litres)
    unit = "mL" if metric else "fl oz"
    exact = convert(litres, from_unit="L", to_unit=unit)
    return f"{number(Decimal(exact.numerator) / Decimal(exact.denominator), 2)} {unit}"


def grams(value: Decimal | float | None) -> str:
    """A mass in kg as a bench scale shows it: in whole grams, the unit of tickets everywhere."""
    return NOTHING if value is None or value == "" else f"{number(Decimal(str(value)) * 1000, 0)} g"


def pressure(value: Decimal | float | None) -> str:
    """A pressure in kPa as the shop reads it."""
    return _measure(value, Kind.PRESSURE, 2)


def temperature(value: Decimal | float | None) -> str:
    """A temperature in °C as the shop reads it: in °F for a shop of US units."""
    if value is None or value == "":
        return NOTHING
    if preferences().units is UnitSystem.METRIC:
        return f"{number(value, 1)} °C"
    return f"{number(Decimal(str(value)) * 9 / 5 + 32, 1)} °F"


_STOCK_KINDS = {"L": Kind.VOLUME, "kg": Kind.MASS, "pcs": Kind.COUNT, "m²": Kind.AREA}


def quantity(value: Decimal | None, stock_unit: str) -> str:
    """A quantity of a material kept in ``stock_unit``. Metres stay metres, or become feet."""
    if value is None or value == "":
        return NOTHING
    if stock_unit == "m":
        if preferences().units is UnitSystem.US:
            exact = convert(Decimal(value), from_unit="m", to_unit="ft")
            return f"{number(float(exact), 2)} ft"
        return f"{number(value, 2)} m"
    return _measure(value, _STOCK_KINDS[stock_unit], 3)


def stock_figure(value: Decimal | float, stock_unit: str) -> float:
    """The bare number of ``quantity``, unrounded, for a chart in the shop's units."""
    p = preferences()
    if stock_unit == "m":
        return float(convert(Decimal(str(value)), from_unit="m", to_unit="ft")) if p.units is UnitSystem.US else float(value)
    return float(to_shown(Decimal(str(value)), _STOCK_KINDS[stock_unit], p.units))


def stock_unit_shown(stock_unit: str) -> str:
    """The unit in which the shop reads a quantity that is kept in ``stock_unit``."""
    if stock_unit == "m":
        return "ft" if preferences().units is UnitSystem.US else "m"
    return str(shown_unit(_STOCK_KINDS[stock_unit], preferences().units))


def minutes(value: Decimal | float | None) -> str:
    """A duration in minutes, as hours and minutes from one hour up."""
    if value is None or value == "":
        return NOTHING
    whole = int(round_money(Decimal(str(value)), 0))
    hours, rest = divmod(whole, 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


def day(value: date | datetime | None) -> str:
    """A date in the shop's locale, medium length; a moment is shown as its day in the shop's time zone."""
    if not value:
        return NOTHING
    if isinstance(value, datetime) and value.tzinfo is not None:
        value = timezone.localdate(value)
    return str(format_date(value, format="medium", locale=preferences().locale))


def per_area(value: Decimal | None) -> str:
    """Money per m², and per ft² for a shop that reads US units."""
    if value is None or value == "":
        return NOTHING
    p = preferences()
    metric = f"{money(value, p)}/m²"
    if p.units is UnitSystem.METRIC:
        return metric
    factor = convert(1, from_unit="ft²", to_unit="m²")
    return f"{money(Decimal(value) * Decimal(factor.numerator) / Decimal(factor.denominator), p)}/ft² ({metric})"
