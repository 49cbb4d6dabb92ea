"""Materials and their packs."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from finishing.models import Shop
from finishing.show import money
from inventory.choices import PriceSource
from inventory.core.hazards import SOURCE, hazards
from inventory.filters import MaterialFilter
from inventory.forms.materials import MaterialForm
from inventory.forms.moves import today
from inventory.forms.packs import PackForm
from inventory.history import Change, changes_of, changes_of_each
from inventory.models import Booking, Lot, Material, Movement, Pack, PackPrice
from inventory.selectors import StockLine, stock_lines
from inventory.services.packs import save_pack
from inventory.services.prices import paid_for
from inventory.shown import per_unit
from inventory.tables import LotTable, MaterialTable, MovementTable, PackTable, StockRow
from inventory.tables_orders import PaidPrice, PriceTable
from inventory.views.common import crumbs, may, paged, person, sees_costs
from inventory.views.facts import fact_groups, hazard_facts

RECENT = 10
PRICES = 30


@require_safe
@may("inventory.view")
def materials(request: HttpRequest) -> HttpResponse:
    """All materials with their stock."""
    chosen = MaterialFilter(request.GET, queryset=Material.objects.all())
    stock = stock_lines(today())
    rows = [_row(material, stock.get(material.pk)) for material in chosen.qs]
    table = paged(request, MaterialTable(rows, costs=sees_costs(request)))
    is_empty = not rows and not Material.objects.exists()
    return render(request, "inventory/materials.html", {"table": table, "filter": chosen, "is_empty": is_empty})


def _row(material: Material, line: StockLine | None) -> StockRow:
    return StockRow(
        pk=material.pk,
        name=material.name,
        material=material,
        kind=material.get_kind_display(),
        on_hand=line.on_hand if line else Decimal(0),
        usable=line.usable if line else Decimal(0),
        booked=line.booked if line else Decimal(0),
        value=line.value if line else Decimal(0),
        next_expiry=line.next_expiry if line else None,
    )


@require_safe
@may("inventory.view")
def material(request: HttpRequest, pk: int) -> HttpResponse:
    """One material: its technical data, hazards, stock by lot, packs, what moved and what was changed."""
    shown = get_object_or_404(Material.objects.select_related("usual_location"), pk=pk)
    costs = sees_costs(request)
    lots = Lot.objects.filter(material=shown).in_stock().with_state().first_expired_first()
    window = Shop.current().expiring_days
    packs = Pack.objects.filter(material=shown).select_related("supplier", "material")
    moves = Movement.objects.filter(lot__material=shown).select_related("posting__by", "lot__material")[:RECENT]
    edits = request.user.has_perm("inventory.change_materials")
    row = _row(shown, stock_lines(today()).get(shown.pk))
    context = {
        "material": shown,
        "row": row,
        "worth": f"worth {money(row.value)}" if costs else "",
        "groups": fact_groups(shown),
        "hazard_facts": hazard_facts(shown),
        "hazards": hazards(shown.h_code_list),
        "hazard_source": SOURCE,
        "costs": costs,
        "lots": LotTable(lots, on=today(), window=window, costs=costs, exclude=("material",), orderable=False, prefix="lots-"),
        "packs": PackTable(packs, costs=costs, exclude=() if edits else ("edit",), prefix="packs-"),
        "prices": _prices(shown) if costs else None,
        "usual": next((pack for pack in packs if pack.is_usual), None),
        "moves": MovementTable(moves, costs=costs, exclude=("material", *MovementTable.FEW), prefix="moves-"),
        "bookings": Booking.objects.open().filter(material=shown).with_remaining(),
        "changes": _history(shown, packs, costs=costs),
        "crumbs": crumbs(("Materials", "materials")),
    }
    return render(request, "inventory/material.html", context)


def _prices(of: Material) -> PriceTable:
    """What its packs cost over time and what was paid for each lot in packs, the newest first.

    A price that was taken over from a delivery stands there once, as the price.
    """
    kept = PackPrice.objects.filter(pack__material=of).select_related("pack__supplier", "pack__material", "by")
    known = list(kept.order_by("-valid_from", "-pk")[:PRICES])
    taken = {(row.pack_id, row.valid_from, row.price) for row in known if row.source == PriceSource.RECEIPT}
    paid = [PaidPrice(paid=one) for one in paid_for(of, most=PRICES) if (one.pack.pk, one.on, one.price) not in taken]
    rows: list[PackPrice | PaidPrice] = [*known, *paid]
    return PriceTable(sorted(rows, key=lambda row: row.valid_from, reverse=True)[:PRICES], prefix="prices-")


def _history(shown: Material, packs: Any, *, costs: bool) -> list[Change]:
    """Changes of the material, and of its packs for those who may see prices."""
    changes = changes_of(shown, subject="This material")
    if costs:
        changes += changes_of_each(Pack, [pack.pk for pack in packs], subject_of=lambda pack: f"Pack {pack.description}")
    return sorted(changes, key=lambda change: change.when, reverse=True)[:20]


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.change_materials")
def material_new(request: HttpRequest) -> HttpResponse:
    """Enter a material."""
    return _material_form(request, Material())


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.change_materials")
def material_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a material."""
    return _material_form(request, get_object_or_404(Material, pk=pk))


def _material_form(request: HttpRequest, subject: Material) -> HttpResponse:
    is_new, trail = subject.pk is None, crumbs(("Materials", "materials"))
    title = "New material" if is_new else f"Change {subject.name}"
    if not is_new:
        trail.append((subject.name, subject.get_absolute_url()))
    form = MaterialForm(request.POST or None, instance=subject)
    if request.method == "POST" and form.is_valid():
        saved = form.save()
        messages.success(request, f"{saved.name} is saved.")
        return redirect(saved)
    cancel = reverse("materials") if is_new else subject.get_absolute_url()
    return render(request, "inventory/grouped_form.html", {"form": form, "title": title, "cancel": cancel, "crumbs": trail})


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.change_materials")
def pack_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter a pack of a material; the first one is offered as the usual pack."""
    of = get_object_or_404(Material, pk=pk)
    first = not of.packs.filter(is_usual=True).exists()
    return _pack_form(request, Pack(material=of, is_usual=first), of)


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.change_materials")
def pack_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a pack."""
    pack = get_object_or_404(Pack.objects.select_related("material"), pk=pk)
    return _pack_form(request, pack, pack.material)


def _pack_form(request: HttpRequest, pack: Pack, of: Material) -> HttpResponse:
    is_new, name = pack.pk is None, pack.description
    form = PackForm(request.POST or None, instance=pack, material=of)
    if request.method == "POST" and form.is_valid():
        try:
            saved = save_pack(pack=form.save(commit=False), by=person(request))
        except ValidationError as error:
            form.add_error(None, error)
        else:
            messages.success(request, f"{saved.description} is saved: {per_unit(saved.unit_price, of)}.")
            return redirect(saved)
    context = {
        "form": form,
        "material": of,
        "title": f"New pack of {of.name}" if is_new else f"Change {name}",
        "cancel": pack.get_absolute_url(),
        "crumbs": [*crumbs(("Materials", "materials")), (of.name, of.get_absolute_url())],
    }
    return render(request, "inventory/pack_form.html", context)


@require_safe
@may("inventory.change_materials")
def pack_price(request: HttpRequest, pk: int) -> HttpResponse:
    """What the content and price in the address come to per unit: a line of the pack form, filled while one types."""
    of = get_object_or_404(Material, pk=pk)
    form = PackForm(request.GET, material=of)
    form.full_clean()
    content, price = form.cleaned_data.get("content"), form.cleaned_data.get("price")
    words = per_unit(price / content, of) if content and price is not None else ""
    return render(request, "inventory/_pack_price.html", {"words": words})
