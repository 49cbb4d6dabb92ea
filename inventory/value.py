"""What the stock was worth at the end of a day, by lot, kind and place: rebuilt from movements.

* The quantity of a lot on a day is the sum of its movements whose postings count for that day or an earlier one. A
  counter-movement counts on its own day: until then the books said what it took back.
* Its value is that quantity at the lot's own unit cost, unrounded.
* Its place is told by its records of moves: where its first move after that day began, or where it stands when it was not
  moved since.

Something entered late counts on the day that it names, so a past day's value can still change. A late entry may even leave a
lot below nothing on a day in between; such lots are named.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import Sum

from finishing.money import round_money
from inventory.choices import LotEventKind, MaterialKind
from inventory.models import Lot, LotEvent, Movement

ZERO = Decimal(0)
NO_PLACE = "No place noted"
AT_ONCE = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueLine:
    """One lot on a day."""

    pk: int
    number: str
    material_id: int
    material: str
    kind: str
    stock_unit: str
    received_on: date
    place: str  # where it stood on that day
    quantity: Decimal  # stock units on that day
    unit_cost: Decimal  # money per stock unit

    @property
    def value(self) -> Decimal:
        """The quantity at the lot's cost, unrounded."""
        return self.quantity * self.unit_cost

    @property
    def kind_words(self) -> str:
        """What the material is for."""
        return MaterialKind(self.kind).label


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueGroup:
    """Lots that have something in common."""

    words: str
    lots: int
    value: Decimal  # money, unrounded


@dataclass(frozen=True, slots=True, kw_only=True)
class StockValue:
    """The stock at the end of a day: the lots that held something then, by material and age."""

    on: date
    lines: tuple[ValueLine, ...]

    @property
    def total(self) -> Decimal:
        """All of it, unrounded, as ``verify_ledger`` adds it up."""
        return sum((line.value for line in self.lines), ZERO)

    @property
    def by_kind(self) -> tuple[ValueGroup, ...]:
        """In the order in which kinds are listed everywhere."""
        order = [kind.label for kind in MaterialKind]
        return tuple(sorted(_groups(self.lines, lambda line: line.kind_words), key=lambda group: order.index(group.words)))

    @property
    def by_place(self) -> tuple[ValueGroup, ...]:
        """By name; lots without a place come last."""
        found = _groups(self.lines, lambda line: line.place)
        return tuple(sorted(found, key=lambda group: (group.words == NO_PLACE, group.words.casefold())))

    @property
    def below_nothing(self) -> tuple[ValueLine, ...]:
        """Lots that a late entry leaves below nothing on this day."""
        return tuple(line for line in self.lines if line.quantity < 0)


def stock_value(on: date) -> StockValue:
    """The value of the stock at the end of a day, in the shop's currency.

    Three queries at any length of the ledger; one more for every ``AT_ONCE`` lots that held something.
    """
    held = quantities_at(on)
    moved = _places_before_moves(on)
    lines = [
        ValueLine(
            pk=pk,
            number=number,
            material_id=material_id,
            material=material,
            kind=kind,
            stock_unit=unit,
            received_on=received_on,
            place=moved.get(pk, place) or NO_PLACE,
            quantity=held[pk],
            unit_cost=unit_cost,
        )
        for pk, number, material_id, material, kind, unit, received_on, place, unit_cost in _about(list(held))
    ]
    lines.sort(key=lambda line: (line.material, line.received_on, line.pk))
    return StockValue(on=on, lines=tuple(lines))


def _about(lots: Sequence[int]) -> Iterator[tuple[Any, ...]]:
    """What a line tells of each lot besides its quantity. Read in parts, since a query takes so many numbers only."""
    columns = (
        *("pk", "number", "material_id", "material__name", "material__kind", "material__stock_unit"),
        *("received_on", "location__name", "unit_cost"),
    )
    for start in range(0, len(lots), AT_ONCE):
        yield from Lot.objects.filter(pk__in=lots[start : start + AT_ONCE]).order_by().values_list(*columns)


def rounding(values: Iterable[Decimal], *, places: int) -> Decimal:
    """What separates the rounded sum of unrounded values from the sum of the rounded ones: 0, or a few minor units.

    A list that prints each value rounded adds it as a row of its own, so that its total is that of the books and still the
    sum of the rows above it.

    >>> rounding([Decimal("0.005"), Decimal("0.005")], places=2)
    Decimal('-0.01')
    """
    kept = list(values)
    return round_money(sum(kept, ZERO), places) - sum((round_money(value, places) for value in kept), ZERO)


def quantities_at(on: date) -> Mapping[int, Decimal]:
    """By lot: what it held at the end of a day, in stock units; lots that held nothing are left out. One query."""
    sums = Movement.objects.filter(posting__on__lte=on).order_by().values_list("lot").annotate(total=Sum("quantity"))
    return dict(sums.exclude(total=0))


def _places_before_moves(on: date) -> Mapping[int, str | None]:
    """By lot that was moved after a day: the name of the place where the first of those moves began. One query."""
    moves = LotEvent.objects.filter(kind=LotEventKind.MOVED, on__gt=on).order_by("-on", "-pk")
    return dict(moves.values_list("lot", "from_location__name"))  # the first move comes last and stays


def _groups(lines: Iterable[ValueLine], words_of: Callable[[ValueLine], str]) -> list[ValueGroup]:
    together: dict[str, list[ValueLine]] = {}
    for line in lines:
        together.setdefault(words_of(line), []).append(line)
    return [ValueGroup(words=words, lots=len(of), value=sum((line.value for line in of), ZERO)) for words, of in together.items()]
