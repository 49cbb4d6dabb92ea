"""Whether a quote's cost has moved since it was written. The quote itself never changes. Reads only."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from costing.models import Quote, QuoteOption
from costing.services.estimating import PricedOption, price_all
from finishing.models import Shop


@dataclass(frozen=True, slots=True, kw_only=True)
class CostMove:
    """An option whose cost is another today."""

    option: QuoteOption
    cost: Decimal  # true cost today, as shown

    @property
    def share(self) -> Decimal:
        """The move as a share of the cost that was frozen."""
        return (self.cost - self.option.cost) / self.option.cost

    @property
    def margin(self) -> Decimal | None:
        """What the offered price would leave of itself today; None for a price of 0."""
        return (self.option.net - self.cost) / self.option.net if self.option.net else None


def moved_costs(quote: Quote, *, share: Decimal) -> list[CostMove]:
    """Options that cost more or less than when they were frozen, by more than ``share`` of that.

    What the estimate no longer prices is left out, and so is a quote in a currency that the shop has left.
    """
    if quote.currency != Shop.current().currency:
        return []
    today = {option.system.pk: option for option in price_all(quote.estimate) if isinstance(option, PricedOption)}
    moves = [
        CostMove(option=option, cost=today[option.system_id].shown.true_cost)
        for option in quote.options.all()
        if option.system_id in today and option.cost
    ]
    return [move for move in moves if abs(move.share) > share]
