"""Puts the inputs of a `Working` into its formula, so that a test can compare what comes out with the result shown.

A formula is arithmetic over symbols, with ⌈ ⌉, max( , ) and Σ( ) over all inputs that share a symbol.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal

from costing.core.checks import ceiling
from costing.core.explain import Working


def evaluate(working: Working) -> float:
    """What the formula gives with the inputs as shown."""
    symbol, expression = working.formula.split(" = ", 1)
    assert symbol == working.result.symbol
    values: dict[str, list[float]] = {}
    for quantity in working.inputs:
        values.setdefault(quantity.symbol, []).append(float(quantity.value))
    used = set(re.findall(r"[^\W\d]\w*", re.sub(r"\bmax\(", "(", expression))) - {"Σ"}
    assert set(values) <= used, f"{working.key} lists {set(values) - used}, which {expression} does not use"
    return float(_value(expression, values))


def _value(expression: str, values: dict[str, list[float]]) -> float:
    """The value of an expression; sums are worked out first, term by term."""
    while "Σ(" in expression:
        start = expression.rindex("Σ(")
        end = _closing(expression, start + 1)
        total = _sum(expression[start + 2 : end], values)
        expression = f"{expression[:start]}({total!r}){expression[end + 1 :]}"
    single = {symbol: found[0] for symbol, found in values.items() if len(found) == 1}
    return _arithmetic(expression, single)


def _sum(term: str, values: dict[str, list[float]]) -> float:
    """Σ of a term over the inputs that share its symbols: none listed, nothing to add."""
    symbols = [symbol for symbol in re.findall(r"[^\W\d]\w*", term) if symbol in values]
    lengths = {len(values[symbol]) for symbol in symbols} or {0}
    assert len(lengths) == 1, f"{term} runs over lists of different lengths"
    return sum(_arithmetic(term, {symbol: values[symbol][i] for symbol in symbols}) for i in range(lengths.pop()))


def _arithmetic(expression: str, values: dict[str, float]) -> float:
    code = expression.replace("×", "*").replace("−", "-").replace("⌈", "ceiling(").replace("⌉", ")").replace("10⁶", "1e6")
    known: dict[str, Callable[..., float]] = {"ceiling": ceiling, "max": max}
    return eval(code, {"__builtins__": {}}, {**known, **values})  # noqa: S307 (formulas of our own)


def _closing(text: str, opening: int) -> int:
    depth = 0
    for position in range(opening, len(text)):
        depth += {"(": 1, ")": -1}.get(text[position], 0)
        if depth == 0:
            return position
    raise AssertionError(f"no closing bracket in {text}")


def number(value: float | Decimal) -> float:
    """A result as float, for a comparison."""
    return float(value)
