"""Workings of a price (costing model, section 5). Imports no Django."""

from __future__ import annotations

from costing.core.explain.working import MONEY, Book, Working, q
from costing.core.pricing import Price, PriceBasis

MARKUP_SOURCE = "OpenStax, Principles of Accounting, vol. 2, section 9.4"


def explain_price(price: Price) -> dict[str, Working]:
    """The working of each step from true cost to the total with tax, by key."""
    book = Book()
    terms = price.terms
    cost = q("K", "true cost as shown", price.cost, MONEY)
    calculated = q("P", f"price by {terms.basis}", price.calculated, MONEY)
    if terms.basis is PriceBasis.MARGIN:
        rate = q("m", "margin, share of the price", terms.rate)
        book.add("price.calculated", calculated, "K / (1 − m)", [cost, rate], section=5)
    else:
        rate = q("u", "markup, share of the cost", terms.rate)
        book.add("price.calculated", calculated, "K × (1 + u)", [cost, rate], section=5, source=MARKUP_SOURCE)
    minimum = q("P_min", "minimum charge", terms.minimum_charge, MONEY)
    after = q("P_1", "price, not below the minimum charge", price.after_minimum, MONEY)
    book.add("price.after_minimum", after, "max(P, P_min)", [calculated, minimum], section=5)
    net = q("P_net", "net price", price.net, MONEY)
    if terms.price_step:
        step = q("s", "price step", terms.price_step, MONEY)
        book.add("price.net", net, "⌈P_1 / s⌉ × s", [after, step], section=5, note="Rounded up to the price step.")
    else:
        book.add("price.net", net, "P_1", [after], section=5, note="Rounded half up to the smallest coin.")
    tax = q("tax", "tax", price.tax, MONEY)
    rate = q("r", "tax rate", terms.tax_rate)
    book.add("price.tax", tax, "P_net × r", [net, rate], section=5, note="Rounded half up to the smallest coin.")
    book.add("price.total", q("P_total", "total with tax", price.total, MONEY), "P_net + tax", [net, tax], section=5)
    return book.workings
