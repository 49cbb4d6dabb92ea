"""How figures came about, part by part, in the form that the house template shows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from costing.core.explain import Quantity, Working, explain, explain_price
from costing.services.estimating import PricedOption
from finishing import show
from finishing.units import UnitSystem

_PLACES = 6
_SHOWN: Mapping[str, Callable[[Decimal], str]] = {
    "m²": show.area,
    "L": show.volume,
    "µm": show.film,
    "g/L": show.voc,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownWorking:
    """One figure with its formula and what went into it, ready for ``parts/working.html``."""

    key: str
    words: str
    formula: str
    inputs: tuple[tuple[str, str, str, str], ...]  # symbol, words, value, unit
    result: str
    section: str
    source: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A group of workings under one heading; ``slug`` is the last part of its address."""

    slug: str
    title: str


def _starts(*prefixes: str) -> Callable[[str], bool]:
    return lambda key: key.startswith(prefixes)


PARTS: Mapping[str, tuple[str, Callable[[str], bool]]] = {
    "takeoff": ("Takeoff", lambda key: key == "area" or key.startswith("row.")),
    "operations": ("Operations", _starts("operation.")),
    "coats": ("Coats and mixes", lambda key: key.startswith("coat.") and ".voc_" not in key),
    "materials": ("Coating materials", _starts("material.", "residue_litres", "cleaner_litres")),
    "supplies": ("Supplies", _starts("supply.")),
    "labour": ("Labour", _starts("labour.")),
    "time": ("Time", _starts("labour_minutes", "booth_minutes", "elapsed_minutes")),
    "voc": ("VOC", lambda key: key == "voc_kg" or ".voc_" in key),
    "cost": ("True cost", _starts("group.", "true_cost", "cost_per_m2", "shown.")),
    "price": ("Price", _starts("price.")),
}
"""Which workings stand together; every key of `costing.core.explain` belongs to exactly one part."""


def workings_of(option: PricedOption, slug: str) -> tuple[ShownWorking, ...]:
    """The workings of one part, in reading order. KeyError for an unknown part."""
    _, belongs = PARTS[slug]
    places = show.preferences_of(option.inputs.shop).places
    found = {**explain(option.result, minor_places=places), **explain_price(option.price)}
    return tuple(_shown(working, option) for key, working in found.items() if belongs(key))


def shown_workings(workings: Iterable[Working]) -> tuple[ShownWorking, ...]:
    """Workings of something that has no price, as pages show them."""
    return tuple(_in_words(working, _capital(working.words), currency="") for working in workings)


def _shown(working: Working, option: PricedOption) -> ShownWorking:
    return _in_words(working, _titled(working, option), currency=option.inputs.shop.currency)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _in_words(working: Working, words: str, *, currency: str) -> ShownWorking:
    return ShownWorking(
        key=working.key,
        words=words,
        formula=working.formula,
        inputs=tuple(
            (given.symbol, given.words, show.number(given.value, _PLACES), _unit(given, currency)) for given in working.inputs
        ),
        result=_result(working.result, currency),
        section=working.section.rpartition(" ")[2],
        source=working.source,
        note=working.note,
    )


def _titled(working: Working, option: PricedOption) -> str:
    """What the figure is, with the operation that it belongs to where the words alone do not say."""
    kind, _, rest = working.key.partition(".")
    words = _capital(working.words)
    if kind in {"operation", "coat"}:
        operation = option.result.operations[int(rest.partition(".")[0])].operation
        return words if operation.name in words else f"{operation.name}: {words}"
    return words


def _unit(quantity: Quantity, currency: str) -> str:
    return quantity.unit.replace("money", currency)


def _result(result: Quantity, currency: str) -> str:
    """The answer with its unit; for a shop that reads US units also in those."""
    value = Decimal(str(result.value))
    if result.unit == "money":
        # As the page prints it; what rounding leaves behind stands beside it.
        exact = "" if value == round(value, 2) else f" ({show.number(value, _PLACES)})"
        return f"{show.money(value)}{exact}"
    told = f"{show.number(value, _PLACES)} {_unit(result, currency)}".rstrip()
    in_shop_units = _SHOWN.get(result.unit)
    if in_shop_units is not None and show.preferences().units is UnitSystem.US:
        return f"{told} ({in_shop_units(value)})"
    return told
