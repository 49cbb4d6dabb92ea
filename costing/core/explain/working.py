"""The form of an explanation: quantities, formula, result, and where the formula stands. Imports no Django."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal

MONEY = "money"  # the unit of amounts in the shop's currency
MONEY_PER_HOUR = "money/h"


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A number that went in or came out, with its symbol, its name for people and its unit."""

    symbol: str
    words: str
    value: float | Decimal
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Working:
    """How one figure came about."""

    key: str
    formula: str  # "symbol = expression"
    inputs: tuple[Quantity, ...]
    result: Quantity
    section: str  # "Costing model, section N"
    source: str = ""  # published source of the formula, where there is one
    note: str = ""  # what else a reader should know

    @property
    def words(self) -> str:
        """What the figure is."""
        return self.result.words


def q(symbol: str, words: str, value: float | Decimal, unit: str = "") -> Quantity:
    """A quantity, in one line."""
    return Quantity(symbol=symbol, words=words, value=value, unit=unit)


@dataclass(slots=True)
class Book:
    """Collects workings in reading order while an estimate is retold."""

    workings: dict[str, Working] = field(default_factory=dict)

    def add(
        self,
        key: str,
        result: Quantity,
        expression: str,
        inputs: Sequence[Quantity],
        *,
        section: int,
        source: str = "",
        note: str = "",
    ) -> None:
        """Write down one working; the formula is the result's symbol and the expression."""
        self.workings[key] = Working(
            key=key,
            formula=f"{result.symbol} = {expression}",
            inputs=tuple(inputs),
            result=result,
            section=f"Costing model, section {section}",
            source=source,
            note=note,
        )
