"""The buying desk: what the office has to look at today."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from finishing.models import Shop
from inventory.choices import CountStatus, PostingKind
from inventory.forms.moves import today
from inventory.models import Lot, Material, Pack, Posting, StockCount, Supplier
from inventory.place_loads import over_their_limit
from inventory.selectors import StockLine, stock_lines
from inventory.selectors_orders import awaited
from inventory.views.common import may, sees_costs, with_movement_count

SHOWN = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class LotGroup:
    """Lots that need the same thing done: the first of them, how many there are, and what they are worth."""

    lots: Sequence[Lot]

    @property
    def first(self) -> Sequence[Lot]:
        """As many as the desk shows."""
        return self.lots[:SHOWN]

    @property
    def count(self) -> int:
        """How many there are."""
        return len(self.lots)

    @property
    def words(self) -> str:
        """What is counted."""
        return "lot" if self.count == 1 else "lots"

    @property
    def more(self) -> int:
        """How many the desk leaves to the list."""
        return max(len(self.lots) - SHOWN, 0)

    @property
    def value(self) -> Decimal:
        """At the lots' own cost."""
        return sum((lot.value for lot in self.lots), Decimal(0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Short:
    """A material of which less is usable than jobs still need."""

    material: Material
    line: StockLine

    @property
    def missing(self) -> Decimal:
        """In the stock unit."""
        return self.line.booked - self.line.usable


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to do before the shop's stock is in the books."""

    words: str
    note: str
    address: str
    is_done: bool
    state: str = "later"


@require_safe
@may("inventory.buy")
def desk_buying(request: HttpRequest) -> HttpResponse:
    """Expired and expiring lots, materials short of what is booked, gaps in the master data, the last deliveries."""
    on, shop = today(), Shop.current()
    lots = list(Lot.objects.in_stock().with_state().first_expired_first())
    lines, soon_until = stock_lines(on, lots=lots), on + timedelta(days=shop.expiring_days)
    materials = {material.pk: material for material in Material.objects.all()}
    unpriced = Material.objects.filter(is_active=True).exclude(packs__in=Pack.objects.filter(is_usual=True))
    received = with_movement_count(Posting.objects.filter(kind=PostingKind.RECEIPT).select_related("by"))
    steps, short = _first_steps(), _short(materials, lines)
    context = {
        "costs": sees_costs(request),
        "shop": shop,
        "expired": _ending(lots, date.min, on - timedelta(days=1)),
        "soon": _ending(lots, on, soon_until),
        "quarantined": LotGroup(lots=[lot for lot in lots if lot.is_set_aside]),
        "short": short[:SHOWN],
        "short_count": len(short),
        "short_words": "material" if len(short) == 1 else "materials",
        "awaited": awaited(on),
        "open_counts": StockCount.objects.filter(status=CountStatus.OPEN).count(),
        "over_limit": over_their_limit(lots=lots),
        "value": sum((line.value for line in lines.values()), Decimal(0)),
        "unpriced": unpriced[:SHOWN],
        "unpriced_more": max(unpriced.count() - SHOWN, 0),
        "deliveries": received.order_by("-on", "-pk")[:SHOWN],
        "steps": steps,
        "next_step": next((step for step in steps if step.state == "now"), None),
    }
    return render(request, "inventory/desk_buying.html", context)


def _ending(lots: Sequence[Lot], first: date, last: date) -> LotGroup:
    """Those whose last day of use lies between two days."""
    return LotGroup(lots=[lot for lot in lots if lot.usable_until is not None and first <= lot.usable_until <= last])


def _short(materials: dict[int, Material], lines: dict[int, StockLine]) -> list[Short]:
    return [
        Short(material=material, line=lines[pk])
        for pk, material in materials.items()
        if pk in lines and lines[pk].usable < lines[pk].booked
    ]


def _first_steps() -> list[Step]:
    """What a shop that has just begun does first; nothing once it has stock. At most four queries."""
    if Lot.objects.exists():
        return []
    steps = [
        Step(
            words="Enter a supplier",
            note="With the days a delivery takes.",
            address=reverse("supplier_new"),
            is_done=Supplier.objects.exists(),
        ),
        Step(
            words="Enter your materials",
            note="Coatings, hardeners, thinners, supplies.",
            address=reverse("material_new"),
            is_done=Material.objects.exists(),
        ),
        Step(
            words="Give each its packs",
            note="Open a material and add the packs you buy.",
            address=reverse("materials"),
            is_done=Pack.objects.exists(),
        ),
        Step(
            words="Book what is on the shelf",
            note="As a delivery from nobody.",
            address=reverse("receive"),
            is_done=False,
        ),
    ]
    now = next(place for place, step in enumerate(steps) if not step.is_done)
    return [
        Step(
            words=step.words,
            note=step.note,
            address=step.address,
            is_done=step.is_done,
            state="done" if step.is_done else "now" if place == now else "later",
        )
        for place, step in enumerate(steps)
    ]
