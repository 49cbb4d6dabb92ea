"""What a job makes the shop buy, beside what it uses: whole packs, and what is left of them. Imports no Django.

An estimate charges what is used (costing model, section 5). What is left over stays in stock and serves other jobs, or expires.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from costing.core.checks import ceiling
from costing.core.result import MaterialNeed


@dataclass(frozen=True, slots=True, kw_only=True)
class PackFacts:
    """The pack that the shop buys as a rule."""

    content: Decimal  # stock units
    price: Decimal  # money for the pack


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """Whole packs for the need of one material, as if the shelf were empty. Quantities in stock units."""

    need: MaterialNeed
    pack: PackFacts
    packs: int

    @property
    def bought(self) -> Decimal:
        """What the packs hold."""
        return self.packs * self.pack.content

    @property
    def left(self) -> Decimal:
        """What the job leaves in them."""
        return self.bought - self.need.quantity

    @property
    def outlay(self) -> Decimal:
        """What the packs cost."""
        return self.packs * self.pack.price

    @property
    def used_value(self) -> Decimal:
        """What the job uses of that, at the pack's price."""
        return self.need.quantity * self.pack.price / self.pack.content

    @property
    def left_value(self) -> Decimal:
        """What is left, at the pack's price."""
        return self.outlay - self.used_value


def purchases(needs: Sequence[MaterialNeed], packs: Mapping[str, PackFacts]) -> tuple[Purchase, ...]:
    """Each need in whole packs; a material without a pack is left out."""
    return tuple(
        Purchase(need=need, pack=pack, packs=ceiling(float(need.quantity / pack.content)))
        for need in needs
        if (pack := packs.get(need.material.key)) is not None
    )
