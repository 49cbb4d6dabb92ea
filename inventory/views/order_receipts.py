"""Receiving against a purchase order, and taking over a price that was paid."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods, require_POST

from finishing.show import day, money
from inventory.choices import PostingKind
from inventory.errors import StockError
from inventory.forms.order_receipts import Arrival
from inventory.models import Lot, Posting, PurchaseOrder
from inventory.selectors_orders import OPEN, standings
from inventory.services.deliveries import ask_first
from inventory.services.order_receipts import receive_order
from inventory.services.orders import OrderStateError, state_words
from inventory.services.prices import take_over_price
from inventory.views.common import crumbs, earlier_posting, may, person
from inventory.views.orders import TRAIL

CHECK = "check"


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.receive")
def purchase_order_receive(request: HttpRequest, pk: int) -> HttpResponse:
    """Count what came of an order, have it read back, book it: each row becomes a lot."""
    order = get_object_or_404(PurchaseOrder.objects.select_related("supplier"), pk=pk)
    earlier = earlier_posting(request, PostingKind.RECEIPT) if request.method == "POST" else None
    if order.status not in OPEN and earlier is None:
        messages.error(request, f"{state_words(order)} Nothing is awaited of it.")
        return redirect(order)
    arrival = Arrival(standings(order), request.POST if request.method == "POST" else None)
    read_back = False
    if request.method == "POST" and arrival.is_valid():
        if request.POST.get("step") == CHECK:
            read_back = _may_be_read_back(order, arrival)
        else:
            done = _book(request, order, arrival, again=earlier is not None)
            if done is not None:
                return done
    elif earlier is not None:
        return _booked(request, order, earlier, again=True)
    context = {**receive_page(order, arrival), "read_back": arrival.read_back() if read_back else []}
    return render(request, "inventory/orders/receive.html", context)


def receive_page(order: PurchaseOrder, arrival: Arrival) -> dict[str, Any]:
    """What the page of a delivery against an order shows, however it came about."""
    return {"order": order, "arrival": arrival, "crumbs": [*crumbs(TRAIL), (order.label, order.get_absolute_url())]}


def _may_be_read_back(order: PurchaseOrder, arrival: Arrival) -> bool:
    """False when the delivery note was booked before: then the form asks first."""
    data = arrival.head.cleaned_data
    try:
        ask_first(key=data["key"], supplier=order.supplier, reference=data["reference"], knowing=arrival.head.knowing)
    except StockError as error:
        arrival.refuse(error)
        return False
    return True


def _book(request: HttpRequest, order: PurchaseOrder, arrival: Arrival, *, again: bool) -> HttpResponse | None:
    """Book the delivery; nothing when it was refused and the form says why."""
    data = arrival.head.cleaned_data
    try:
        posting = receive_order(
            key=data["key"],
            by=person(request),
            on=data["on"],
            order=order,
            reference=data["reference"],
            lines=arrival.lines,
            accept_expired_reason=data["accept_expired_reason"],
            knowing=arrival.head.knowing,
        )
    except OrderStateError as error:
        messages.error(request, str(error))
        return redirect(order)
    except StockError as error:
        arrival.refuse(error)
        return None
    return _booked(request, order, posting, again=again)


def _booked(request: HttpRequest, order: PurchaseOrder, posting: Posting, *, again: bool) -> HttpResponse:
    """The page of what was booked, with how the order stands now in plain words."""
    if again:
        messages.info(request, "This form was booked before. Here is what it booked; nothing was booked again.")
        return redirect("posting", posting.pk)
    order.refresh_from_db(fields=["status"])
    uneven = [one for one in standings(order) if one.to_come or one.extra]
    lines = "; ".join(f"{one.line.material.name}, {one.line.pack.description}: {one.words}" for one in uneven)
    state = str(order.get_status_display()).lower()
    messages.success(request, f"{posting} is booked; {order.label} is {state}. {lines or 'All of it is here'}.")
    return redirect("posting", posting.pk)


@require_POST
@may("inventory.change_materials")
def price_take_over(request: HttpRequest, pk: int) -> HttpResponse:
    """Let a pack cost from now on what was paid for this lot."""
    lot = get_object_or_404(Lot.objects.select_related("material", "pack__material", "order_line"), pk=pk)
    try:
        row = take_over_price(lot=lot, by=person(request))
    except StockError as error:
        messages.error(request, str(error))
    else:
        if row is None:
            messages.info(request, "The pack has this price already. Nothing was changed.")
        else:
            words = f"{row.pack.description} of {lot.material.name} costs {money(row.price)} from {day(row.valid_from)} on."
            messages.success(request, words)
    back = request.POST.get("back", "")
    is_ours = url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()}, require_https=request.is_secure())
    return redirect(back if is_ours else reverse("lot", args=[lot.pk]))
