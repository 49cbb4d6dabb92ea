"""What is left of the reorder list to order today, once the drafts that were made from it are taken off."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from finishing import show
from finishing.money import round_money
from inventory.models import PurchaseOrderLine
from inventory.reorder import PackLine, ReorderList

Drafts = Mapping[int, Sequence[PurchaseOrderLine]]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToOrder:
    """The short form of the list, for a desk."""

    materials: int
    suppliers: int
    amount: Decimal  # purchase price and delivery charges, without tax
    order_by: date | None  # the earliest day among what is left
    drafts: int  # orders that are written and not sent


def left_of(pack: PackLine, drafts: Drafts) -> int:
    """Packs that are advised and in no draft: pressing twice does not order twice."""
    return max(pack.count - sum(line.packs for line in drafts.get(pack.pack.pk, ())), 0)


def to_order(found: ReorderList, drafts: Drafts) -> ToOrder:
    """How many materials are left to order, from how many suppliers, for how much, by when."""
    places = show.preferences().places
    materials, suppliers, amount, days = 0, 0, Decimal(0), []
    for order in found.orders:
        left = {line.material.pk: [(pack, left_of(pack, drafts)) for pack in line.packs] for line in order.lines}
        wanted = [line for line in order.lines if any(count for _, count in left[line.material.pk])]
        if not wanted:
            continue
        suppliers, materials, amount = suppliers + 1, materials + len(wanted), amount + order.delivery_charge
        days += [line.advice.order_by for line in wanted if line.advice.order_by]
        for pack, count in (pair for line in wanted for pair in left[line.material.pk]):
            amount += round_money(pack.amount / pack.count * count, places)
    written = {line.order_id for lines in drafts.values() for line in lines}
    return ToOrder(materials=materials, suppliers=suppliers, amount=amount, order_by=min(days, default=None), drafts=len(written))
