"""The reorder list for people: page, PDF and spreadsheet, and the orders that are made from it."""

from __future__ import annotations

from collections.abc import Sequence

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.db.models import Max
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from finishing.models import Shop
from inventory.errors import StockError
from inventory.forms.reorder import OrderFromListForm
from inventory.models import Pack, PurchaseOrder, PurchaseOrderLine
from inventory.reorder import ReorderList, reorder_list
from inventory.reorder_shown import shown_orders
from inventory.selectors_orders import in_drafts
from inventory.services.orders import create_orders
from inventory.to_order import left_of, to_order
from inventory.views.common import person

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@require_safe
@permission_required("inventory.buy", raise_exception=True)
def reorder_page(request: HttpRequest) -> HttpResponse:
    """What to buy today, with the reasons."""
    found, drafts = _found(), in_drafts()
    return _page(request, found, OrderFromListForm(proposed=_proposed(found, drafts)), drafts)


def _found() -> ReorderList:
    return reorder_list(today=timezone.localdate(), shop=Shop.current())


Drafts = dict[int, list[PurchaseOrderLine]]


def _proposed(found: ReorderList, drafts: Drafts) -> list[tuple[Pack, int]]:
    """What is advised, less what drafts hold already: pressing twice does not order twice."""
    return [(pack.pack, left_of(pack, drafts)) for order in found.orders for line in order.lines for pack in line.packs]


def _page(
    request: HttpRequest, found: ReorderList, form: OrderFromListForm, drafts: Drafts, *, status: int = 200
) -> HttpResponse:
    context = {"found": found, "left": to_order(found, drafts), "shown": shown_orders(found, form, drafts), "form": form}
    return render(request, "inventory/reorder/list.html", context, status=status)


@require_POST
@permission_required("inventory.buy", raise_exception=True)
def reorder_order(request: HttpRequest) -> HttpResponse:
    """Make a draft for each supplier from the list as sent, or for the one whose button was pressed.

    With ``look`` nothing is made: the page comes back and says what the numbers as typed would do.
    """
    found, drafts = _found(), in_drafts()
    form = OrderFromListForm(request.POST, proposed=_proposed(found, drafts))
    if not form.is_valid() or "look" in request.POST:
        return _page(request, found, form, drafts, status=422 if form.errors else 200)
    chosen = request.POST.get("supplier", "")
    lines = form.wanted(int(chosen) if chosen.isascii() and chosen.isdecimal() and len(chosen) < 18 else None)
    latest = PurchaseOrder.objects.aggregate(latest=Max("pk"))["latest"] or 0
    try:
        made = create_orders(key=form.cleaned_data["key"], by=person(request), lines=lines)
    except StockError as error:
        form.refuse(error, lines)
        return _page(request, found, form, drafts, status=422)
    return _to_made(request, made, new=[order for order in made if order.pk > latest])


def _to_made(request: HttpRequest, made: Sequence[PurchaseOrder], *, new: Sequence[PurchaseOrder]) -> HttpResponse:
    """Show the one order, or all of them."""
    old = [order.label for order in made if order not in new]
    if old:
        messages.info(request, f"This list was sent before and made {', '.join(old)}. Nothing was made again.")
    if new:
        words = ", ".join(f"{order.label} to {order.supplier.name}" for order in new)
        messages.success(request, f"Made as draft: {words}. Look at the PDF, send it, then mark it as sent.")
    return redirect(made[0]) if len(made) == 1 else redirect("purchase_orders")


@require_safe
@permission_required("inventory.buy", raise_exception=True)
def reorder_tile(request: HttpRequest) -> HttpResponse:
    """What is left to order today in one tile. A desk fetches it by itself, so that it need not wait for the list."""
    return render(request, "inventory/reorder/_tile.html", {"left": to_order(_found(), in_drafts())})


@require_safe
@permission_required("inventory.buy", raise_exception=True)
def reorder_pdf(request: HttpRequest) -> HttpResponse:  # noqa: ARG001
    """The list as a PDF."""
    from inventory.documents.reorder_pdf import reorder_pdf as write

    shop = Shop.current()
    found = reorder_list(today=timezone.localdate(), shop=shop)
    return _file(write(found, shop=shop), "application/pdf", f"reorder-list-{found.on.isoformat()}.pdf")


@require_safe
@permission_required("inventory.buy", raise_exception=True)
def reorder_xlsx(request: HttpRequest) -> HttpResponse:  # noqa: ARG001
    """The list as a spreadsheet."""
    from inventory.documents.reorder_xlsx import reorder_xlsx as write

    shop = Shop.current()
    found = reorder_list(today=timezone.localdate(), shop=shop)
    return _file(write(found, shop=shop), XLSX, f"reorder-list-{found.on.isoformat()}.xlsx")


def _file(content: bytes, content_type: str, name: str) -> HttpResponse:
    return HttpResponse(content, content_type=content_type, headers={"Content-Disposition": f'attachment; filename="{name}"'})
