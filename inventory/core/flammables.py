"""How much flammable liquid stands in a place, by category, beside the limits that the shop entered. Pure: no Django, no clock.

The category of a liquid is what its safety data sheet says; nothing is classed here. The program compares two figures: it
never says that an amount is allowed or safe. The local fire code decides.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

ZERO = Decimal(0)
CATEGORIES = (1, 2, 3, 4)
STRICT = (1, 2, 3)  # the categories that share the lower limit
NOT_FLAMMABLE = 0  # the sheet says that the liquid is not classed
CRUMB = Decimal("0.0005")  # L: gallons kept as litres are rounded, and twelve pails of 5 gal are not more than 60 gal

CABINET_GALLONS_1_TO_3 = Decimal(60)
CABINET_GALLONS_ALL = Decimal(120)
CABINET_LITRES_1_TO_3 = Decimal("227.1")
CABINET_LITRES_ALL = Decimal("454.2")
CABINET_SOURCE = (
    "29 CFR 1910.106(d)(3)(i), read in a reprint: a storage cabinet holds at most 60 gal (227.1 L) of Category 1, 2 or 3, "
    "nor more than 120 gal (454.2 L) of Category 4. California, 8 CCR 5533(a), counts 120 gal in all, of which 60 gal of "
    "Category 1 to 3."
)
BOOTH_SOURCE = (
    "29 CFR 1910.107(e)(2), read in a reprint: near spraying, the least amount that the work needs, ordinarily for one day "
    "or one shift. It names no figure."
)
OPEN_SOURCE = (
    "29 CFR 1910.106(e)(2)(ii)(b), read in a reprint, its category words from memory: outside a "
    "cabinet or storage room, in one fire area, at most 25 gal (94.6 L) of Category 1 and 120 gal (454.2 L) of Category 2, 3 "
    "and 4 in containers."
)
CABINET_READING = "The second limit counts all four categories together, which is the stricter of the two readings."


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A liquid in a place."""

    name: str
    litres: Decimal | None  # None: its volume is not known
    category: int | None  # 1 to 4; 0: not classed as flammable; None: nobody has entered what the sheet says

    def __post_init__(self) -> None:
        if self.category is not None and self.category not in (NOT_FLAMMABLE, *CATEGORIES):
            raise ValueError(f"there is no category {self.category} of flammable liquids")
        if self.litres is not None and (not self.litres.is_finite() or self.litres < 0):
            raise ValueError(f"{self.name} can’t fill {self.litres} L")


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What a place holds against one limit, in litres."""

    categories: tuple[int, ...]
    litres: Decimal
    limit: Decimal | None  # None: the shop entered none

    @property
    def over(self) -> Decimal:
        """How much more than the limit is there; 0 within it or without one."""
        more = ZERO if self.limit is None else self.litres - self.limit
        return more if more > CRUMB else ZERO


@dataclass(frozen=True, slots=True, kw_only=True)
class Flammables:
    """The flammable liquids of one place."""

    by_category: Mapping[int, Decimal]  # litres of each of the four categories
    strict: Load  # categories 1 to 3
    all: Load  # categories 1 to 4
    unknown: tuple[str, ...]  # liquids without a category: they count nowhere
    unmeasured: tuple[str, ...]  # flammable liquids whose volume is not known: they count nowhere

    @property
    def is_over(self) -> bool:
        """True when either limit is passed."""
        return self.strict.over > 0 or self.all.over > 0


def litres_of(quantity: Decimal, *, unit: str, density: Decimal | None) -> Decimal | None:
    """The volume in L of what is kept in litres or kilograms (density in kg/L); None where it can't be known.

    >>> litres_of(Decimal("4.35"), unit="kg", density=Decimal("0.87"))
    Decimal('5')
    """
    if unit == "L":
        return quantity
    return quantity / density if unit == "kg" and density else None


def flammables(held: Iterable[Held], *, limit_1_to_3: Decimal | None, limit_all: Decimal | None) -> Flammables:
    """Add up what a place holds, by category, and set it beside the limits (both in L).

    >>> found = flammables([Held(name="thinner", litres=Decimal(38), category=2)], limit_1_to_3=Decimal(30), limit_all=None)
    >>> found.strict.litres, found.strict.over, found.is_over
    (Decimal('38'), Decimal('8'), True)
    """
    sums = dict.fromkeys(CATEGORIES, ZERO)
    unknown, unmeasured = set(), set()
    for liquid in held:
        if liquid.category is None:
            unknown.add(liquid.name)
        elif liquid.category == NOT_FLAMMABLE:
            continue
        elif liquid.litres is None:
            unmeasured.add(liquid.name)
        else:
            sums[liquid.category] += liquid.litres
    return Flammables(
        by_category=sums,
        strict=Load(categories=STRICT, litres=sum((sums[one] for one in STRICT), ZERO), limit=limit_1_to_3),
        all=Load(categories=CATEGORIES, litres=sum(sums.values(), ZERO), limit=limit_all),
        unknown=tuple(sorted(unknown)),
        unmeasured=tuple(sorted(unmeasured)),
    )
