"""Two estimates held side by side, line by line. Imports no Django."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from costing.core.checks import to_decimal
from costing.core.result import Estimate
from costing.core.shown import ShownCost


class Section(StrEnum):
    """Where a line stands."""

    WHOLE = "The whole job"
    GROUPS = "Cost groups"
    MATERIALS = "Materials from stock"
    SPENT = "Cost of materials"
    LABOUR = "Labour by class"
    OPERATIONS = "Labour by operation"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One figure of an estimate: money, min, m², kg, a count, or a quantity in a stock unit."""

    section: Section
    key: str
    words: str
    unit: str
    value: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """The same line of two estimates; None where one has no such line."""

    section: Section
    words: str
    unit: str
    one: Decimal | None
    other: Decimal | None

    @property
    def difference(self) -> Decimal:
        """Other less one; a line that is missing counts as nothing."""
        return (self.other or Decimal(0)) - (self.one or Decimal(0))

    @property
    def share(self) -> Decimal | None:
        """The difference as a share of one; None where one is nothing."""
        return self.difference / self.one if self.one else None


def lines_of(estimate: Estimate, shown: ShownCost, *, price: Decimal) -> Iterator[Line]:
    """Every line of an estimate, in the order of its page. ``price`` is the net price."""
    yield from _whole(estimate, shown, price)
    for group in shown.lines:
        yield Line(section=Section.GROUPS, key=group.group.value, words=group.group.value, unit="money", value=group.amount)
    for need in estimate.needs:
        name = need.material.name
        yield Line(section=Section.MATERIALS, key=need.material.key, words=name, unit=need.unit.value, value=need.quantity)
    spent: dict[str, Decimal] = {}
    for key, cost in (
        *((use.material.key, use.cost) for use in estimate.material_uses),
        *((use.material.key, use.cost) for use in estimate.supply_uses),
    ):
        spent[key] = spent.get(key, Decimal(0)) + cost
    for key, cost in spent.items():
        yield Line(section=Section.SPENT, key=key, words=estimate.materials[key].name, unit="money", value=cost)
    for labour in estimate.labour_uses:
        name = estimate.rates.labour[labour.labour_class].name
        yield Line(section=Section.LABOUR, key=labour.labour_class, words=name, unit="min", value=to_decimal(labour.minutes))
    yield from _operations(estimate)


def _whole(estimate: Estimate, shown: ShownCost, price: Decimal) -> Iterator[Line]:
    figures: tuple[tuple[str, str, str, Decimal], ...] = (
        ("area", "Finished area", "m²", to_decimal(estimate.takeoff.area)),
        ("pieces", "Pieces", "count", Decimal(estimate.takeoff.pieces)),
        ("cost", "True cost", "money", shown.true_cost),
        ("per_m2", "True cost per area", "money/m²", shown.cost_per_m2 or Decimal(0)),
        ("price", "Price before tax", "money", price),
        ("labour", "Labour", "min", to_decimal(estimate.labour_minutes)),
        ("booth", "In the booth", "min", to_decimal(estimate.booth_minutes)),
        ("elapsed", "Elapsed time", "min", to_decimal(estimate.elapsed_minutes)),
        ("voc", "VOC emitted", "kg", to_decimal(estimate.voc_kg)),
    )
    for key, words, unit, value in figures:
        yield Line(section=Section.WHOLE, key=key, words=words, unit=unit, value=value)


def _operations(estimate: Estimate) -> Iterator[Line]:
    """Operations by their name; those of one name are told apart by how many came before."""
    seen: dict[str, int] = {}
    for result in estimate.operations:
        name = result.operation.name
        seen[name] = seen.get(name, 0) + 1
        key = f"{name} {seen[name]}"
        words = name if seen[name] == 1 else key
        yield Line(section=Section.OPERATIONS, key=key, words=words, unit="min", value=to_decimal(result.labour_minutes))


def beside(one: Iterator[Line], other: Iterator[Line]) -> list[Pair]:
    """The lines of both, each once: in the order of the first, what only the other has at the end of its section."""
    first = {(line.section, line.key, line.unit): line for line in one}
    second = {(line.section, line.key, line.unit): line for line in other}
    keys = sorted({**first, **second}, key=lambda key: list(Section).index(key[0]))
    return [
        Pair(
            section=key[0],
            words=(first.get(key) or second[key]).words,
            unit=key[2],
            one=first[key].value if key in first else None,
            other=second[key].value if key in second else None,
        )
        for key in keys
    ]
