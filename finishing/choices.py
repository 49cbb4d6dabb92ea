"""Lists of choices that models and forms share."""

from __future__ import annotations

from django.db import models


class PageSize(models.TextChoices):
    """Paper for printed documents."""

    A4 = "A4", "A4"
    LETTER = "letter", "US Letter"


def CURRENCIES() -> list[tuple[str, str]]:  # noqa: N802 - a callable keeps the list out of migrations
    """The currencies in use today, as (code, "code – name"), from the locale database."""
    from babel import Locale

    names = Locale("en").currencies
    return [(code, f"{code} – {names.get(code, code)}") for code in _ISO_CODES]


_ISO_CODES = [
    "AUD",
    "BGN",
    "BRL",
    "CAD",
    "CHF",
    "CNY",
    "CZK",
    "DKK",
    "EUR",
    "GBP",
    "HKD",
    "HUF",
    "ILS",
    "INR",
    "ISK",
    "JPY",
    "KRW",
    "MXN",
    "MYR",
    "NOK",
    "NZD",
    "PHP",
    "PLN",
    "RON",
    "SEK",
    "SGD",
    "THB",
    "TRY",
    "USD",
    "ZAR",
]
