"""Where the money of a job went, in words. Reads nothing: it puts an actual cost into sentences."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from costing.actuals import Actual
from costing.core.actual import Variance
from finishing import show
from finishing.money import round_money

ZERO = Decimal(0)
MOST_SENTENCES = 12


def whole_story(actual: Actual) -> str:
    """The job in a sentence."""
    difference = actual.actual - actual.estimate
    if not difference:
        return f"The job cost {show.money(actual.actual)}, exactly as estimated."
    way = "more" if difference > 0 else "less"
    share = f", {show.percent(abs(difference) / actual.estimate)}" if actual.estimate else ""
    return f"The job cost {show.money(actual.actual)}: {show.money(abs(difference))} {way} than estimated{share}."


def sentences(actual: Actual) -> tuple[str, ...]:
    """Why, material by material and class by class, what moved most money first. What moves less than a cent is left out."""
    found = [
        (abs(money), words)
        for each in actual.variances
        for money, words in (*_quantity(each), *_price(each))
        if round_money(money, show.preferences().places)
    ]
    return tuple(words for _, words in sorted(found, key=lambda pair: -pair[0])[:MOST_SENTENCES])


def amount(quantity: Decimal, unit: str) -> str:
    """A quantity of a variance: stock units, or hours as time."""
    return show.minutes(quantity * 60) if unit == "h" else show.quantity(quantity, unit)


def _quantity(each: Variance) -> Iterator[tuple[Decimal, str]]:
    off = each.actual_quantity - each.standard_quantity
    way, effect = ("more", "cost") if off > 0 else ("less", "saved")
    worked = "worked" if each.unit == "h" else "used"
    if each.standard_quantity:
        part = show.percent(abs(off) / each.standard_quantity, 0)
        words = f"{each.name}: {amount(abs(off), each.unit)} {way} {worked} than planned ({part}); that {effect} "
    else:
        words = f"{each.name}: {amount(abs(off), each.unit)} {worked} that were not planned; that {effect} "
    yield each.quantity, f"{words}{show.money(abs(each.quantity))}."


def _price(each: Variance) -> Iterator[tuple[Decimal, str]]:
    way, effect = ("dearer", "cost") if each.price > 0 else ("cheaper", "saved")
    per = "an hour" if each.unit == "h" else f"per {each.unit}"
    paid = f"{show.money(each.actual_price)} {per} paid, {show.money(each.standard_price)} estimated"
    yield each.price, f"{each.name}: {paid}; being {way} {effect} {show.money(abs(each.price))}."
