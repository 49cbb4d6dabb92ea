"""Optional extras of a quote: priced by hand, frozen with the quote, taken or left when the customer accepts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from babel.numbers import get_currency_precision

from costing.models import Quote, QuoteExtra
from costing.services.work_errors import WorkError
from finishing.money import round_money

MOST_EXTRAS = 6
LONGEST_NAME = 100
HIGHEST_NET = Decimal(100_000_000)


@dataclass(frozen=True, slots=True, kw_only=True)
class ExtraChoice:
    """An extra to offer; ``net`` is its price before tax, in the shop's currency."""

    name: str
    net: Decimal


def trouble_with_extras(extras: Sequence[ExtraChoice], *, currency: str) -> str:
    """What is wrong with these extras, in words; empty when nothing is."""
    names = [extra.name.strip() for extra in extras]
    if len(extras) > MOST_EXTRAS:
        return f"A quote has up to {MOST_EXTRAS} extras, not {len(extras)}."
    if not all(0 < len(name) <= LONGEST_NAME for name in names):
        return f"An extra has a name of up to {LONGEST_NAME} characters."
    if len({name.casefold() for name in names}) < len(names):
        return "Two extras have the same name. Name each so that the customer can tell them apart."
    places = get_currency_precision(currency)
    for extra in extras:
        if not 0 <= extra.net <= HIGHEST_NET or extra.net != round_money(extra.net, places):
            return f"The price of {extra.name.strip()} is 0 or more, with up to {places} decimals."
    return ""


def write_extras(quote: Quote, extras: Sequence[ExtraChoice]) -> None:
    """Freeze the extras with the quote's own tax, rounded extra by extra as it is printed."""
    places = get_currency_precision(quote.currency)
    made = []
    for position, extra in enumerate(extras, start=1):
        tax = round_money(extra.net * quote.tax_rate, places)
        made.append(
            QuoteExtra(quote=quote, position=position, name=extra.name.strip(), net=extra.net, tax=tax, total=extra.net + tax)
        )
    QuoteExtra.objects.bulk_create(made)


def choose_extras(quote: Quote, chosen: Sequence[QuoteExtra]) -> None:
    """Note what the customer takes; a part of accepting. Raises WorkError for an extra of another quote."""
    if any(extra.quote_id != quote.pk for extra in chosen):
        raise WorkError(f"{quote.label} does not offer every one of these extras. Reload the page.", field="extras")
    quote.extras.filter(pk__in=[extra.pk for extra in chosen]).update(chosen=True)


def agreed_total(quote: Quote, option_total: Decimal) -> Decimal:
    """What was agreed with tax: the option and the extras that were chosen."""
    return option_total + sum((extra.total for extra in quote.extras.all() if extra.chosen), Decimal(0))
