"""Whether a price that was typed is far from the one that is known."""

from __future__ import annotations

from decimal import Decimal

from finishing.show import money

FAR = Decimal("0.3")  # of the known price; a rule of thumb, no source


def price_doubt(paid: Decimal | None, known: Decimal | None) -> str:
    """What to say about the price of one pack before it is booked; empty within 30 % of the known one, or where none is known.

    >>> price_doubt(Decimal("110"), Decimal("100"))
    ''
    """
    if paid is None or not known or abs(paid - known) <= known * FAR:
        return ""
    side = "above" if paid > known else "below"
    return f"{money(paid)} for one pack is far {side} the {money(known)} that is known. Compare it with the paper."
