"""The reorder list as its page shows it: every pack with its box, its drafts, and what the numbers in the boxes would do."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from django.forms import BoundField
from django.urls import reverse

from inventory.forms.reorder import PREFIX, OrderFromListForm
from inventory.models import Pack, PurchaseOrderLine
from inventory.reorder import PackLine, ReorderLine, ReorderList, SupplierOrder
from inventory.reorder_cover import CoverShown, cover_of

Drafts = Mapping[int, Sequence[PurchaseOrderLine]]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownPack:
    """A pack that is proposed, the box for another number, and the drafts that hold it already."""

    pack: PackLine
    box: BoundField
    drafts: Sequence[PurchaseOrderLine]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownLine:
    """A line with its packs, and what the numbers in their boxes would do."""

    line: ReorderLine
    packs: Sequence[ShownPack]
    cover: CoverShown | None  # None: a number that can't be read stands in one of the boxes
    chart: str  # address


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownOrder:
    """What to order from one supplier, as the page shows it."""

    order: SupplierOrder
    lines: Sequence[ShownLine]


def shown_orders(found: ReorderList, form: OrderFromListForm, drafts: Drafts) -> list[ShownOrder]:
    """Every order of the list with its boxes."""
    return [ShownOrder(order=order, lines=[_shown_line(line, form, drafts) for line in order.lines]) for order in found.orders]


def _shown_line(line: ReorderLine, form: OrderFromListForm, drafts: Drafts) -> ShownLine:
    packs = [ShownPack(pack=pack, box=form.field_of(pack.pack), drafts=drafts.get(pack.pack.pk, ())) for pack in line.packs]
    counts = [(pack.pack, form.count_of(pack.pack)) for pack in line.packs]
    read = [(pack, count) for pack, count in counts if count is not None]
    cover = None
    if len(read) == len(counts):
        cover = cover_of(line.material, line.advice, read, drafts=in_draft([pack for pack, _ in read], drafts))
    chart = chart_address(line.material.pk, line.advice.point.quantity, read, drafts)
    return ShownLine(line=line, packs=packs, cover=cover, chart=chart)


def in_draft(packs: Iterable[Pack], drafts: Drafts) -> dict[int, int]:
    """Packs that drafts hold: they are on their way to being ordered, so they count with what stands in the boxes."""
    return {pack.pk: sum(line.packs for line in drafts[pack.pk]) for pack in packs if pack.pk in drafts}


def chart_address(material: int, point: float, counts: Sequence[tuple[Pack, int]], drafts: Drafts) -> str:
    """Where the chart of a line is drawn, with so many packs bought besides those in drafts."""
    drafted = in_draft([pack for pack, _ in counts], drafts)
    query = {f"{PREFIX}{pack.pk}": count + drafted.get(pack.pk, 0) for pack, count in counts}
    return reverse("reorder_chart", args=[material], query={"point": f"{point:.6g}", **query})
