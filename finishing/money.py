"""Money: where amounts are rounded, and how a sum is split without losing a cent.

Pure: no Django. Rounding has this one home. Amounts are ``Decimal`` in the shop's one currency; a shown amount is rounded
half up to the currency's minor unit, and a total on a document is the sum of the rounded lines above it.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal


def round_money(amount: Decimal, places: int = 2) -> Decimal:
    """Round half up (away from zero for negative amounts) to ``places`` decimals, the currency's minor unit.

    >>> round_money(Decimal("2.675"))
    Decimal('2.68')
    """
    return amount.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)


def round_up_to_step(amount: Decimal, step: Decimal) -> Decimal:
    """The next multiple of ``step`` that is not below ``amount``; a step of 0 changes nothing.

    >>> round_up_to_step(Decimal("1201.20"), Decimal("5"))
    Decimal('1205')
    """
    if step < 0:
        raise ValueError("a price step can't be below 0")
    if step == 0:
        return amount
    return (amount / step).to_integral_value(rounding=ROUND_CEILING) * step


def split_by_weight(amount: Decimal, weights: Sequence[Decimal], places: int = 2) -> tuple[Decimal, ...]:
    """Split ``amount`` in proportion to ``weights``; the parts are whole minor units and add up to the rounded amount.

    The cents left over after rounding down go to the parts that lost most by it.
    """
    if not weights or any(weight < 0 for weight in weights) or not sum(weights):
        raise ValueError("a split needs weights that are not all 0 and none below 0")
    total, unit = round_money(amount, places), Decimal(1).scaleb(-places)
    whole = sum(weights, Decimal(0))
    exact = [total * weight / whole for weight in weights]
    parts = [(share / unit).to_integral_value(rounding="ROUND_FLOOR") * unit for share in exact]
    missing = int((total - sum(parts, Decimal(0))) / unit)
    by_loss = sorted(range(len(parts)), key=lambda i: exact[i] - parts[i], reverse=True)
    for index in by_loss[:missing]:
        parts[index] += unit
    return tuple(parts)
