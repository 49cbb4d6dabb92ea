"""Usage and VOC by month and over rolling twelve months, as applied (costing model, section 7).

Imports no Django. Litres, kilograms of VOC. Nothing here states compliance: what counts, and against which limit, is for the
permit and the inspector to say.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

ZERO = Decimal(0)
YEAR = 12


@dataclass(frozen=True, slots=True, order=True)
class Month:
    """A calendar month."""

    year: int
    number: int  # 1 to 12

    def __post_init__(self) -> None:
        if not 1 <= self.number <= YEAR:
            raise ValueError(f"a month has a number from 1 to 12, not {self.number}")

    @classmethod
    def of(cls, day: date) -> Month:
        """The month of a day."""
        return cls(day.year, day.month)

    def plus(self, months: int) -> Month:
        """So many months later, or before for a number below 0.

        >>> Month(2030, 1).plus(-1)
        Month(year=2029, number=12)
        """
        place = self.year * YEAR + self.number - 1 + months
        return Month(place // YEAR, place % YEAR + 1)

    @property
    def first(self) -> date:
        """Its first day."""
        return date(self.year, self.number, 1)

    @property
    def after(self) -> date:
        """The first day of the next month."""
        return self.plus(1).first


def months_to(last: Month, count: int) -> tuple[Month, ...]:
    """``count`` months that end with ``last``, in order."""
    return tuple(last.plus(place - count + 1) for place in range(count))


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """What was used of one liquid in one month."""

    material: str
    month: Month
    litres: Decimal
    voc_g_per_l: Decimal | None  # as supplied, as the shop entered it; None: not known


@dataclass(frozen=True, slots=True, kw_only=True)
class Total:
    """Litres and VOC of something over some months. ``unknown`` names liquids whose VOC content is not entered."""

    litres: Decimal
    voc_kg: Decimal
    unknown: frozenset[str]


def total(used: Iterable[Used], *, recovered: Decimal = ZERO) -> Total:
    """Litres, and emitted mass: Σ litres × VOC content, less the recovered fraction.

    >>> jan = Month(2030, 1)
    >>> found = total((Used(material="base", month=jan, litres=Decimal(10), voc_g_per_l=Decimal(420)),
    ...                Used(material="thinner", month=jan, litres=Decimal(2), voc_g_per_l=Decimal(870))))
    >>> found.litres, found.voc_kg
    (Decimal('12'), Decimal('5.94'))
    """
    litres, grams, unknown = ZERO, ZERO, set()
    for each in used:
        litres += each.litres
        if each.voc_g_per_l is None:
            unknown.add(each.material)
        else:
            grams += each.litres * each.voc_g_per_l
    return Total(litres=litres, voc_kg=grams / 1000 * (1 - recovered), unknown=frozenset(unknown))


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthLine:
    """A month of the record, with the twelve months that end with it."""

    month: Month
    own: Total
    rolling: Total


def by_month(used: Sequence[Used], months: Sequence[Month], *, recovered: Decimal = ZERO) -> tuple[MonthLine, ...]:
    """Each month and its rolling twelve months. ``used`` must reach eleven months back before the first of ``months``."""
    held: dict[Month, list[Used]] = {}
    for each in used:
        held.setdefault(each.month, []).append(each)
    return tuple(
        MonthLine(
            month=month,
            own=total(held.get(month, ()), recovered=recovered),
            rolling=total((each for one in months_to(month, YEAR) for each in held.get(one, ())), recovered=recovered),
        )
        for month in months
    )


def by_material(used: Iterable[Used], *, recovered: Decimal = ZERO) -> Mapping[str, Total]:
    """Summed by material, the most VOC first."""
    held: dict[str, list[Used]] = {}
    for each in used:
        held.setdefault(each.material, []).append(each)
    summed = {name: total(rows, recovered=recovered) for name, rows in held.items()}
    return dict(sorted(summed.items(), key=lambda pair: (-pair[1].voc_kg, pair[0])))
