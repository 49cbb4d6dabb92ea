"""What so many packs would do: how long the stock lasts with them, and what of them would go out of date.

Reads only; the figures are the core's, the words are for the line of the reorder list.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from finishing import show
from finishing.money import round_money
from inventory.core.reorder import Advice, Cover
from inventory.models import Material, Pack

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverShown:
    """A purchase and what it would do, for one line."""

    material: Material
    cover: Cover
    amount: Decimal  # purchase price
    spoiled: Decimal  # the part of it that is expected to go out of date
    drafted: bool = False  # packs that drafts hold are counted in

    @property
    def head(self) -> str:
        """How much of it, at what price."""
        if not self.cover.quantity:
            return "Without an order"
        counted = " (drafts counted)" if self.drafted else ""
        return f"With {self._quantity(self.cover.quantity)} for {show.money(self.amount)}{counted}"

    @property
    def lasts(self) -> str:
        """How long the stock lasts."""
        cover, today = self.cover, self.cover.projection.path[0].on
        if not cover.quantity and cover.short_before is not None:
            short: date | None = cover.short_before
        else:
            short = None if cover.days is None else today + timedelta(days=cover.days)
        if short is None:
            return "it lasts for more than two years"
        if short <= today:
            return "it is short from today on"
        return f"it lasts until {show.day(short - timedelta(days=1))}, {_days((short - today).days)} of cover"

    @property
    def expiry(self) -> str:
        """What of the purchase is expected to go out of date unused."""
        if not self.cover.quantity:
            return ""
        if not self.cover.spoils:
            return "None of it is expected to go out of date."
        spoils = self._quantity(round_money(self.cover.spoils, 1 if self.material.stock_unit == "pcs" else 3))
        return f"{spoils} of it, {show.money(self.spoiled)}, is expected to go out of date unused."

    @property
    def gap(self) -> str:
        """What it can't help any more."""
        if self.cover.short_before is None:
            return ""
        short, arrives = show.day(self.cover.short_before), show.day(self.cover.arrives_on)
        if not self.cover.quantity:
            return f"An order of today can be here on {arrives}."
        return f"Short from {short} on until it is here on {arrives}."

    @property
    def words(self) -> str:
        """All of it in a few sentences."""
        return " ".join(part for part in (f"{self.head} {self.lasts}.", self.gap, self.expiry) if part)

    def _quantity(self, value: Decimal) -> str:
        return show.quantity(value, self.material.stock_unit)


def cover_of(
    material: Material, advice: Advice, packs: Iterable[tuple[Pack, int]], *, drafts: Mapping[int, int] | None = None
) -> CoverShown:
    """What buying so many of these packs today would do, with those that ``drafts`` hold, by pack."""
    drafted = drafts or {}
    packs = [(pack, count + drafted.get(pack.pk, 0)) for pack, count in packs]
    bought = [(pack, count) for pack, count in packs if count > 0]
    quantity = sum((pack.content * count for pack, count in bought), ZERO)
    places = show.preferences().places
    amount = sum((round_money(pack.price * count, places) for pack, count in bought), ZERO)
    cover = advice.if_bought(quantity)
    spoiled = amount * cover.spoils / quantity if quantity else ZERO
    counted = any(drafted.get(pack.pk) for pack, _ in packs)
    return CoverShown(material=material, cover=cover, amount=amount, spoiled=spoiled, drafted=counted)


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
