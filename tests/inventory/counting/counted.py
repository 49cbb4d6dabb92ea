"""Short ways to count: each goes through the real services."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import uuid4

from finishing.models import User
from inventory.counts import lines_of, reckon
from inventory.models import CountLine, Lot, StockCount
from inventory.services.count_posting import Posted, post_count
from inventory.services.counting import Entered, Entry, enter_lines, open_count

D = Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """Who counts, and who posts."""

    counts: User
    posts: User

    def open(self, **what: Any) -> StockCount:
        """An open count."""
        return open_count(key=uuid4(), by=self.counts, **what)

    def line(self, count: StockCount, lot: Lot) -> CountLine:
        """The line of a lot as it is stored."""
        return count.lines.select_related("lot__material").get(lot=lot)

    def enter(self, count: StockCount, lot: Lot, found: str | None, *, at: datetime | None = None, **more: Any) -> Entered:
        """Note what was found of a lot."""
        entry = Entry(line=self.line(count, lot).pk, counted=None if found is None else D(found), **more)
        return enter_lines(count=count, by=self.counts, entries=[entry], counted_at=at)

    def seen(self, count: StockCount) -> str:
        """What a page of the differences would send back."""
        return reckon(lines_of(count)).fingerprint

    def post(self, count: StockCount, *, seen: str | None = None, why: str = "found so", by: User | None = None) -> Posted:
        """Post all differences, with one reason for all."""
        reasons = {line.pk: why for line in count.lines.all()}
        shown = self.seen(count) if seen is None else seen
        return post_count(key=uuid4(), by=by or self.posts, count=count, seen=shown, reasons=reasons)


def on_hand(lot: Lot) -> Decimal:
    """What the books say now."""
    return Lot.objects.get(pk=lot.pk).on_hand
