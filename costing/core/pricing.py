"""From true cost to price (costing model, section 5). Imports no Django.

Which cost a price starts from: the *shown* true cost, that is the sum of the cost groups each rounded to the
currency's minor unit (`costing.core.shown.shown_lines`). So whoever holds a cost sheet can check the price from the
figures printed on it, and the page, the PDF and a recalculated spreadsheet agree to the cent. The exact sum
(`Estimate.true_cost`) differs from it by half a cent a row at most; comparisons and statistics use the exact one.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from costing.core.checks import set_decimal
from costing.core.errors import OutOfRangeError
from finishing.money import round_money, round_up_to_step


class PriceBasis(StrEnum):
    """How a price is reckoned from cost."""

    MARGIN = "margin"  # share of the price
    MARKUP = "markup"  # share of the cost


def price_by_margin(cost: Decimal, margin: Decimal) -> Decimal:
    """Price of which ``margin`` is left after the cost: cost / (1 - m).

    >>> price_by_margin(Decimal(65), Decimal("0.35"))
    Decimal('1E+2')
    """
    _check_margin(margin)
    return cost / (1 - margin)


def price_by_markup(cost: Decimal, markup: Decimal) -> Decimal:
    """Cost with ``markup`` on top: cost (1 + u).

    Source: OpenStax, Principles of Accounting, vol. 2, section 9.4.

    >>> price_by_markup(Decimal(10), Decimal("0.30"))
    Decimal('13.00')
    """
    return cost * (1 + markup)


_PRICE_BY = {PriceBasis.MARGIN: price_by_margin, PriceBasis.MARKUP: price_by_markup}


def margin_of_markup(markup: Decimal) -> Decimal:
    """The margin that a markup amounts to: u / (1 + u)."""
    return markup / (1 + markup)


def markup_of_margin(margin: Decimal) -> Decimal:
    """The markup that a margin asks for: m / (1 - m)."""
    _check_margin(margin)
    return margin / (1 - margin)


def predetermined_rate(overhead: Decimal, base: Decimal) -> Decimal:
    """Overhead rate of a year: its overhead over its base (labour money, or hours), as planned.

    Source: OpenStax, Principles of Accounting, vol. 2, section 4.4.

    >>> predetermined_rate(Decimal(250000), Decimal(100000))
    Decimal('2.5')
    """
    if base <= 0:
        raise OutOfRangeError(field="base", value=base, words="base of the rate", right="give more than 0")
    return overhead / base


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceTerms:
    """How the shop makes a price of a cost."""

    basis: PriceBasis
    rate: Decimal  # m or u, a fraction: 0.35 is 35 %
    minimum_charge: Decimal = Decimal(0)
    price_step: Decimal = Decimal(0)  # the net price is a multiple of it; 0: no step
    tax_rate: Decimal = Decimal(0)  # a fraction of the net price

    def __post_init__(self) -> None:
        if self.basis is PriceBasis.MARGIN:
            set_decimal(self, "rate", words="margin", most=None)
            _check_margin(self.rate, field="rate")
        else:
            set_decimal(self, "rate", words="markup", most=Decimal(100))
        set_decimal(self, "minimum_charge")
        set_decimal(self, "price_step")
        set_decimal(self, "tax_rate", most=Decimal(1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """A price and the steps that led to it, in the model's order."""

    terms: PriceTerms
    cost: Decimal  # the true cost that it started from
    calculated: Decimal  # by margin or markup, unrounded
    after_minimum: Decimal  # not below the minimum charge
    net: Decimal  # rounded up to the price step
    tax: Decimal  # rounded half up to the minor unit
    total: Decimal  # net + tax

    @property
    def contribution(self) -> Decimal:
        """What the net price leaves over the cost; below 0 the job loses money."""
        return self.net - self.cost

    @property
    def margin(self) -> Decimal | None:
        """What the net price leaves, as a share of it; None for a price of 0."""
        return self.contribution / self.net if self.net else None


def price(cost: Decimal, terms: PriceTerms, *, places: int = 2) -> Price:
    """Margin or markup, then minimum charge, then up to the price step, then tax.

    ``places`` are the decimals of the currency's minor unit. Without a price step the net price is rounded half up
    to that unit, because nobody can pay less than it. Hand in the shown true cost (see the module's docstring).

    >>> terms = PriceTerms(basis=PriceBasis.MARGIN, rate=Decimal("0.4"), price_step=Decimal(5), tax_rate=Decimal("0.19"))
    >>> step = price(Decimal("601.00"), terms)
    >>> step.net, step.tax, step.total
    (Decimal('1005.00'), Decimal('190.95'), Decimal('1195.95'))
    """
    coin = Decimal(1).scaleb(-places)
    if terms.price_step % coin:
        raise OutOfRangeError(field="price_step", value=terms.price_step, right=f"give 0 or a multiple of {coin}")
    calculated = _PRICE_BY[terms.basis](cost, terms.rate)
    after_minimum = max(calculated, terms.minimum_charge)
    net = round_money(round_up_to_step(after_minimum, terms.price_step), places)
    tax = round_money(net * terms.tax_rate, places)
    return Price(
        terms=terms,
        cost=cost,
        calculated=calculated,
        after_minimum=after_minimum,
        net=net,
        tax=tax,
        total=net + tax,
    )


def _check_margin(margin: Decimal, field: str = "margin") -> None:
    if margin >= 1:
        raise OutOfRangeError(
            field=field,
            value=margin * 100,
            unit="%",
            words="margin",
            right="give less than 100 %, the cost needs a share of the price too",
        )
