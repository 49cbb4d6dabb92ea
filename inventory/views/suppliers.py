"""Suppliers and their terms."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from inventory.filters import SupplierFilter
from inventory.forms.materials import SupplierForm
from inventory.forms.moves import today
from inventory.history import changes_of
from inventory.models import Lot, Pack, PurchaseOrder, Supplier
from inventory.selectors_orders import observed_lead_time
from inventory.tables import SupplierPackTable, SupplierTable
from inventory.tables_orders import OrderTable
from inventory.views.common import crumbs, may, paged, sees_costs

RECENT = 8


@require_safe
@may("inventory.view")
def suppliers(request: HttpRequest) -> HttpResponse:
    """All suppliers."""
    counted = Supplier.objects.annotate(pack_count=Count("packs", filter=Q(packs__is_active=True)))
    chosen = SupplierFilter(request.GET, queryset=counted)
    table = paged(request, SupplierTable(chosen.qs, costs=sees_costs(request)))
    is_empty = not table.rows and not Supplier.objects.exists()
    return render(request, "inventory/suppliers.html", {"table": table, "filter": chosen, "is_empty": is_empty})


@require_safe
@may("inventory.view")
def supplier(request: HttpRequest, pk: int) -> HttpResponse:
    """One supplier: terms, what is bought there, the last lots, what was changed."""
    shown = get_object_or_404(Supplier, pk=pk)
    costs = sees_costs(request)
    packs = Pack.objects.filter(supplier=shown).select_related("material", "supplier").order_by("material__name", "content")
    hidden = () if request.user.has_perm("inventory.change_materials") else ("edit",)
    context = {
        "supplier": shown,
        "costs": costs,
        "packs": paged(request, SupplierPackTable(packs, costs=costs, exclude=("supplier", *hidden), prefix="packs-")),
        "observed": observed_lead_time(shown),
        "orders": _orders(request, shown),
        "lots": Lot.objects.filter(supplier=shown).select_related("material").order_by("-received_on", "-pk")[:RECENT],
        "changes": changes_of(shown, subject="This supplier") if costs else [],
        "crumbs": crumbs(("Suppliers", "suppliers")),
    }
    return render(request, "inventory/supplier.html", context)


def _orders(request: HttpRequest, of: Supplier) -> OrderTable | None:
    """The latest orders, for those who buy."""
    if not request.user.has_perm("inventory.buy"):
        return None
    latest = PurchaseOrder.objects.filter(supplier=of).select_related("supplier").prefetch_related("lines")[:RECENT]
    return OrderTable(latest, on=today(), exclude=("supplier",), orderable=False, prefix="orders-")


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.change_materials")
def supplier_new(request: HttpRequest) -> HttpResponse:
    """Enter a supplier."""
    return _supplier_form(request, Supplier(), "New supplier")


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.change_materials")
def supplier_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a supplier."""
    subject = get_object_or_404(Supplier, pk=pk)
    return _supplier_form(request, subject, f"Change {subject.name}")


def _supplier_form(request: HttpRequest, subject: Supplier, title: str) -> HttpResponse:
    trail = crumbs(("Suppliers", "suppliers"))
    if subject.pk:
        trail.append((subject.name, subject.get_absolute_url()))
    form = SupplierForm(request.POST or None, instance=subject)
    if request.method == "POST" and form.is_valid():
        saved = form.save()
        messages.success(request, f"{saved.name} is saved.")
        return redirect(saved)
    cancel = subject.get_absolute_url() if subject.pk else reverse("suppliers")
    return render(request, "inventory/grouped_form.html", {"form": form, "title": title, "cancel": cancel, "crumbs": trail})
