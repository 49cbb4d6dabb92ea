"""What accepting more work would do to the stock. Reads only, in a constant number of queries, and books nothing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Q

from finishing.models import Shop
from inventory.core.projection import Need
from inventory.core.reorder import Advice, advise_all
from inventory.core.what_if import Effect, can_be_bought, effect
from inventory.models import Material
from inventory.reorder import DRAWS, PackLine, pack_lines
from inventory.reorder_reads import Known, read_facts

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialEffect:
    """What the work does to one material."""

    material: Material
    effect: Effect
    packs: tuple[PackLine, ...]  # to order with the work, as the reorder list would advise
    today: date

    @property
    def amount(self) -> Decimal:
        """Purchase price of these packs."""
        return sum((pack.amount for pack in self.packs), ZERO)

    @property
    def order_by(self) -> date | None:
        """The day by which it must be ordered; None where it need not be."""
        return self.effect.after.order_by if self.effect.after.must_order else None

    @property
    def must_order_today(self) -> bool:
        """Whether every day of waiting leaves somebody short, or is below the reorder point."""
        return self.order_by is not None and self.order_by <= self.today

    @property
    def can_be_bought(self) -> bool:
        """Whether an order is possible at all."""
        return can_be_bought(self.effect.before)


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """What work that starts on a day would do."""

    wished: date
    effects: tuple[MaterialEffect, ...]
    gone: tuple[str, ...] = ()  # names of materials that are no longer in the list

    @property
    def short(self) -> tuple[MaterialEffect, ...]:
        """What runs short because of it."""
        return tuple(one for one in self.effects if one.effect.runs_short)

    @property
    def to_order_today(self) -> tuple[MaterialEffect, ...]:
        """What must be ordered today."""
        return tuple(one for one in self.effects if one.must_order_today)

    @property
    def amount_today(self) -> Decimal:
        """Purchase price of what must be ordered today, without delivery and tax."""
        return sum((one.amount for one in self.to_order_today), ZERO)

    @property
    def unknown(self) -> tuple[MaterialEffect, ...]:
        """What keeps the start from being told: not enough is here or ordered, and nobody sells it."""
        return tuple(one for one in self.effects if one.effect.earliest is None)

    @property
    def earliest(self) -> date | None:
        """The first day on which all of it is here; None where nobody can tell."""
        if self.unknown or self.gone:
            return None
        return max((one.effect.earliest for one in self.effects if one.effect.earliest), default=self.wished)

    @property
    def days_late(self) -> int | None:
        """By how many days the start moves."""
        return None if self.earliest is None else (self.earliest - self.wished).days

    @property
    def held_up_by(self) -> tuple[MaterialEffect, ...]:
        """What the start waits for longest."""
        return tuple(one for one in self.effects if self.days_late and one.effect.earliest == self.earliest)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """The stock ahead as it stands, to be asked about work."""

    today: date
    materials: Mapping[int, Material]
    advice: Mapping[int, Advice]
    known: Known

    def ask(self, needs: Mapping[int, tuple[str, Decimal]], *, on: date) -> WhatIf:
        """What work that needs so much of each material on a day would do; ``needs`` has a name beside each quantity."""
        found, gone = [], []
        for pk, (name, quantity) in needs.items():
            if pk not in self.materials:
                gone.append(name)
                continue
            seen = effect(self.advice[pk], Need(quantity=quantity, on=on))
            choice = seen.after.choice
            packs = pack_lines(choice.lines, {pack.pk: pack for pack in self.known.packs[pk]}) if choice else ()
            found.append(MaterialEffect(material=self.materials[pk], effect=seen, packs=packs, today=self.today))
        return WhatIf(wished=on, effects=tuple(found), gone=tuple(gone))


def look_ahead(needed: set[int], *, today: date, shop: Shop) -> Ahead:
    """Read the stock ahead for these materials. All materials are read: their weeks together make the reorder points."""
    materials = list(Material.objects.filter(Q(is_active=True) | Q(pk__in=needed)))
    known = read_facts(materials, today=today, shop=shop)
    advice = advise_all([known.facts[material.pk] for material in materials], draws=DRAWS)
    by_key = {material.pk: found for material, found in zip(materials, advice, strict=True) if material.pk in needed}
    kept = {material.pk: material for material in materials if material.pk in needed}
    return Ahead(today=today, materials=kept, advice=by_key, known=known)
