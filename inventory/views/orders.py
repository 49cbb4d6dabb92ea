"""Purchase orders: the list, writing one, its page, its way, its documents."""

from __future__ import annotations

from collections.abc import Callable
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from finishing.models import Shop
from finishing.show import day
from inventory.choices import OrderStatus
from inventory.errors import StockError
from inventory.filters_orders import OrderFilter
from inventory.forms.moves import today
from inventory.forms.orders import ChooseSupplierForm, Draft, EndForm, PromiseForm, SendForm
from inventory.models import PurchaseOrder, Supplier
from inventory.selectors_orders import OPEN, lots_of, standings
from inventory.services import orders as service
from inventory.tables_orders import OrderLineTable, OrderRow, OrderTable, is_overdue, is_short, state_badge, total_of
from inventory.views.common import crumbs, may, paged, person

BUY = may("inventory.buy")
TRAIL = ("Purchase orders", "purchase_orders")
PDF = "application/pdf"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@require_safe
@BUY
def purchase_orders(request: HttpRequest) -> HttpResponse:
    """All orders, those that are not over first of all."""
    every = PurchaseOrder.objects.select_related("supplier").prefetch_related("lines")
    chosen = OrderFilter(request.GET, queryset=every, on=today())
    table = paged(request, OrderTable(chosen.qs, on=today()))
    is_empty = not table.rows and not PurchaseOrder.objects.exists()
    return render(request, "inventory/orders/list.html", {"table": table, "filter": chosen, "is_empty": is_empty})


# ---------------------------------------------------------------- writing one


@require_http_methods(["GET", "HEAD", "POST"])
@BUY
def purchase_order_new(request: HttpRequest) -> HttpResponse:
    """Write an order by hand: first whom to order from, then what."""
    chosen = request.GET.get("supplier")
    form = ChooseSupplierForm({"supplier": chosen} if chosen is not None else None)
    if chosen is None or not form.is_valid():
        is_empty = not Supplier.objects.filter(is_active=True).exists()
        return render(request, "inventory/orders/choose.html", {"form": form, "is_empty": is_empty, "crumbs": crumbs(TRAIL)})
    supplier = form.cleaned_data["supplier"]
    draft = Draft(supplier, request.POST if request.method == "POST" else None)
    earlier = _made_before(request)
    if request.method == "POST" and draft.is_valid():
        data = draft.head.cleaned_data
        try:
            made = service.create_order(
                key=data["key"],
                by=person(request),
                supplier=supplier,
                lines=draft.lines,
                wished_on=data["wished_on"],
                note=data["note"],
            )
        except StockError as error:
            draft.refuse(error)
        else:
            return _to_draft(request, made, again=earlier is not None)
    elif earlier is not None:
        return _to_draft(request, earlier, again=True)
    return _draft_page(request, draft, f"Order from {supplier.name}", reverse("purchase_orders"))


def _made_before(request: HttpRequest) -> PurchaseOrder | None:
    """The order that this very form made before, when this person sends it again."""
    try:
        key = UUID(request.POST.get("key", ""))
    except ValueError:
        return None
    return PurchaseOrder.objects.filter(key=key, created_by=person(request)).first()


def _to_draft(request: HttpRequest, made: PurchaseOrder, *, again: bool) -> HttpResponse:
    if again:
        messages.info(request, f"This form was sent before and made {made.label}. Nothing was made again.")
    else:
        messages.success(request, f"{made.label} is a draft now. Look at its PDF, send it, then mark it as sent.")
    return redirect(made)


def _draft_page(request: HttpRequest, draft: Draft, title: str, cancel: str) -> HttpResponse:
    context = {"draft": draft, "title": title, "cancel": cancel, "crumbs": crumbs(TRAIL)}
    return render(request, "inventory/orders/draft.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@BUY
def purchase_order_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a draft."""
    order = _find(pk)
    if order.status != OrderStatus.DRAFT:
        messages.error(request, f"{service.state_words(order)} Its lines can’t be changed any more.")
        return redirect(order)
    draft = Draft(order.supplier, request.POST if request.method == "POST" else None, order=order)
    if request.method == "POST" and draft.is_valid():
        data = draft.head.cleaned_data
        try:
            service.update_draft(order=order, lines=draft.lines, wished_on=data["wished_on"], note=data["note"])
        except service.OrderStateError as error:
            messages.error(request, str(error))
            return redirect(order)
        except StockError as error:
            draft.refuse(error)
        else:
            messages.success(request, f"{order.label} is saved.")
            return redirect(order)
    return _draft_page(request, draft, f"Change {order.label}", order.get_absolute_url())


# -------------------------------------------------------------------- its page


@require_safe
@BUY
def purchase_order(request: HttpRequest, pk: int) -> HttpResponse:
    """One order: what is on it, what came, where it stands, what can be done with it."""
    return _page(request, _find(pk))


def _find(pk: int) -> PurchaseOrder:
    return get_object_or_404(PurchaseOrder.objects.select_related("supplier", "created_by", "sent_by", "closed_by"), pk=pk)


def _page(
    request: HttpRequest,
    order: PurchaseOrder,
    *,
    send: SendForm | None = None,
    promise: PromiseForm | None = None,
    end: EndForm | None = None,
) -> HttpResponse:
    """The order's page, with the form that was refused in its place."""
    is_draft, is_open = order.status == OrderStatus.DRAFT, order.status in OPEN
    lines = standings(order)
    total = total_of([standing.line for standing in lines])
    rows = [OrderRow(standing=one, is_draft=is_draft, is_over=not is_draft and not is_open) for one in lines]
    context = {
        "order": order,
        "badge": state_badge(order, today()),
        "overdue": is_overdue(order, today()),
        "short": is_short(order),
        "table": OrderLineTable(rows, exclude=("came", "state") if is_draft else (), prefix="lines-"),
        "lines": rows,
        "total": total,
        "missing": max(order.supplier.minimum_order - total, 0) if is_draft else 0,
        "changed_prices": [one.line for one in lines if is_draft and one.line.price != one.line.pack.price],
        "lots": lots_of(order),
        "is_draft": is_draft,
        "is_open": is_open,
        "may_cancel": order.status in (OrderStatus.DRAFT, OrderStatus.SENT),
        "may_close": order.status == OrderStatus.PARTLY,
        "send": send or SendForm(supplier=order.supplier),
        "promise": promise or PromiseForm(initial={"promised_on": order.promised_on}),
        "end": end or EndForm(),
        "crumbs": crumbs(TRAIL),
    }
    refused = any(form is not None for form in (send, promise, end))
    return render(request, "inventory/orders/order.html", context, status=422 if refused else 200)


def _act(request: HttpRequest, order: PurchaseOrder, act: Callable[[], str]) -> HttpResponse | StockError:
    """Do something with an order: go to its page with what was done, or with why its state does not allow it."""
    try:
        messages.success(request, act())
    except service.OrderStateError as error:
        messages.error(request, str(error))
    except StockError as error:
        return error
    return redirect(order)


@require_POST
@BUY
def purchase_order_send(request: HttpRequest, pk: int) -> HttpResponse:
    """Note that a draft went out."""
    order = _find(pk)
    form = SendForm(request.POST, supplier=order.supplier)
    if not form.is_valid():
        return _page(request, order, send=form)
    data = form.cleaned_data

    def act() -> str:
        sent = service.send_order(order=order, by=person(request), on=data["sent_on"], promised_on=data["promised_on"])
        return f"{sent.label} is marked as sent. It is promised for {day(sent.promised_on)}."

    done = _act(request, order, act)
    if isinstance(done, StockError):
        form.refuse(done)
        return _page(request, order, send=form)
    return done


@require_POST
@BUY
def purchase_order_promise(request: HttpRequest, pk: int) -> HttpResponse:
    """Note another day for which an order is promised."""
    order = _find(pk)
    form = PromiseForm(request.POST)
    if not form.is_valid():
        return _page(request, order, promise=form)
    promised_on = form.cleaned_data["promised_on"]

    def act() -> str:
        service.set_promise(order=order, promised_on=promised_on)
        return f"{order.label} is promised for {day(promised_on)} now."

    done = _act(request, order, act)
    if isinstance(done, StockError):
        form.refuse(done)
        return _page(request, order, promise=form)
    return done


@require_POST
@BUY
def purchase_order_close(request: HttpRequest, pk: int) -> HttpResponse:
    """Wait no longer for the rest of an order."""
    return _finish(request, _find(pk), service.close_order, "{} is closed. What did not come is no longer awaited.")


@require_POST
@BUY
def purchase_order_cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Cancel an order of which nothing came."""
    return _finish(request, _find(pk), service.cancel_order, "{} is cancelled.")


def _finish(request: HttpRequest, order: PurchaseOrder, end: Callable[..., PurchaseOrder], words: str) -> HttpResponse:
    form = EndForm(request.POST)
    if not form.is_valid():
        return _page(request, order, end=form)

    def act() -> str:
        return words.format(end(order=order, by=person(request), on=today(), reason=form.cleaned_data["reason"]).label)

    done = _act(request, order, act)
    if isinstance(done, StockError):
        form.refuse(done)
        return _page(request, order, end=form)
    return done


# ------------------------------------------------------------------- documents


@require_safe
@BUY
def purchase_order_pdf(request: HttpRequest, pk: int) -> HttpResponse:  # noqa: ARG001
    """The order for the supplier, as PDF."""
    from inventory.documents.order_pdf import order_pdf

    order = _find(pk)
    return _file(order_pdf(order, shop=Shop.current(), on=today()), PDF, f"purchase-order-{order.label}.pdf")


@require_safe
@BUY
def purchase_order_xlsx(request: HttpRequest, pk: int) -> HttpResponse:  # noqa: ARG001
    """The order for the supplier, as a spreadsheet."""
    from inventory.documents.order_xlsx import order_xlsx

    order = _find(pk)
    return _file(order_xlsx(order, shop=Shop.current(), on=today()), XLSX, f"purchase-order-{order.label}.xlsx")


def _file(content: bytes, content_type: str, name: str) -> HttpResponse:
    disposition = content_disposition_header(as_attachment=True, filename=name) or "attachment"
    return HttpResponse(content, content_type=content_type, headers={"Content-Disposition": disposition})
