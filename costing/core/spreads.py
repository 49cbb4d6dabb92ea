"""Which inputs of an estimate may be off, and by how much as a rule (costing model, section 8).

Imports no Django and no numpy, so that forms may use it."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

WIDEST = 1.0  # a spread of 100 %


class Uncertain(StrEnum):
    """A kind of input that may be off."""

    EFFICIENCY = "efficiency"  # transfer efficiency, by spray setup; never above 1
    FILM = "film"  # wet film, by coat
    WORK = "work"  # minutes of work, by labour class: the inverse of rates of work
    PRICE = "price"  # prices, by material
    AREA = "area"  # measured area


# Common practice, no source: a shop sets its own on the page.
USUAL_SPREADS: Mapping[Uncertain, float] = {
    Uncertain.EFFICIENCY: 0.15,
    Uncertain.FILM: 0.15,
    Uncertain.WORK: 0.20,
    Uncertain.PRICE: 0.05,
    Uncertain.AREA: 0.03,
}
