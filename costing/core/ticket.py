"""How much of each component to measure or weigh for one batch (costing model, section 4: V_i = V_mix p_i / Σ p).

Imports no Django. Litres and kilograms; a mass is the volume times the density of the component.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal

from costing.core.plan import share_of_mix

ZERO = Decimal(0)
SHOWN = Decimal("0.001")  # a millilitre: a cup is read no finer (common practice, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A component as it is mixed."""

    parts: Decimal  # by volume
    density: Decimal | None = None  # kg/L; None where its sheet does not give it
    usable: Decimal | None = None  # L that can be poured into the mix today; None: not asked


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What to measure or weigh of a component."""

    litres: Decimal
    kilograms: Decimal | None  # None without a density
    up_to_litres: Decimal  # the level in the vessel once it is in
    up_to_kilograms: Decimal | None  # the scale's reading once it is in; None once a density before it is not known


def measure(litres: Decimal, parts: Sequence[Part]) -> tuple[Measured, ...]:
    """Each component of so many litres of mix, in the order given, with the reading of vessel and scale as they are added.

    Mixed volumes are taken as additive (costing model, section 2). ValueError for no litres or a mix without parts.

    >>> base, hardener = measure(Decimal("1.1"), (Part(parts=Decimal(10), density=Decimal("1.2")), Part(parts=Decimal(1))))
    >>> base.litres, base.kilograms, hardener.litres, hardener.up_to_litres, hardener.up_to_kilograms
    (Decimal('1.0'), Decimal('1.20'), Decimal('0.1'), Decimal('1.1'), None)
    """
    if litres <= 0:
        raise ValueError("a batch holds more than 0 L")
    found, level, weight = [], ZERO, ZERO
    weighable = True
    for part, share in zip(parts, share_of_mix(litres, [part.parts for part in parts]), strict=True):
        mass = None if part.density is None else share * part.density
        weighable = weighable and mass is not None
        level += share
        weight += mass or ZERO
        found.append(Measured(litres=share, kilograms=mass, up_to_litres=level, up_to_kilograms=weight if weighable else None))
    return tuple(found)


def most_litres(parts: Sequence[Part]) -> Decimal | None:
    """The largest batch that the scarcest component allows, L; None where nothing is known of what is usable.

    >>> most_litres((Part(parts=Decimal(10), usable=Decimal(2)), Part(parts=Decimal(1), usable=Decimal("0.1"))))
    Decimal('1.1')
    """
    whole = sum((part.parts for part in parts), ZERO)
    limits = [part.usable * whole / part.parts for part in parts if part.usable is not None]
    return min(limits) if limits else None


def at_most(litres: Decimal) -> Decimal:
    """Rounded down to a millilitre: a batch that is limited by a can must not ask for more than it holds.

    >>> at_most(Decimal("1.3519"))
    Decimal('1.351')
    """
    return litres.quantize(SHOWN, rounding=ROUND_DOWN)
