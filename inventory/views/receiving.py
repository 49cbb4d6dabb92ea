"""Receive a delivery."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from inventory.choices import PostingKind
from inventory.errors import StockError
from inventory.forms.moves import today
from inventory.forms.receiving import Delivery
from inventory.models import Material, Posting
from inventory.selectors_orders import awaited
from inventory.services.deliveries import ask_first, receive_delivery
from inventory.views.common import earlier_posting, may, person, to_posting

CHECK = "check"


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.receive")
def receive(request: HttpRequest) -> HttpResponse:
    """Type a delivery, have it read back, book it: each row becomes a lot."""
    delivery = Delivery(request.POST if request.method == "POST" else None)
    earlier = earlier_posting(request, PostingKind.RECEIPT) if request.method == "POST" else None
    read_back = False
    if request.method == "POST" and delivery.is_valid():
        done = _checked(delivery) if request.POST.get("step") == CHECK else _booked(request, delivery)
        if isinstance(done, Posting):
            return to_posting(request, done, again=earlier is not None)
        read_back = done
    elif earlier is not None:
        return to_posting(request, earlier, again=True)
    context = {
        "delivery": delivery,
        "awaited": awaited(today()),
        "understood": delivery.understood() if read_back else [],
        "is_empty": not Material.objects.filter(is_active=True).exists(),
    }
    return render(request, "inventory/receive.html", context)


def _checked(delivery: Delivery) -> bool:
    """Whether the delivery can be read back; else the form asks why its note is in the books already."""
    data = delivery.head.cleaned_data
    try:
        ask_first(key=data["key"], supplier=data["supplier"], reference=data["reference"], knowing=delivery.head.knowing)
    except StockError as error:
        delivery.refuse(error)
        return False
    return True


def _booked(request: HttpRequest, delivery: Delivery) -> Posting | bool:
    """The posting; False when it was refused and the form says why."""
    data = delivery.head.cleaned_data
    try:
        return receive_delivery(
            key=data["key"],
            by=person(request),
            on=data["on"],
            supplier=data["supplier"],
            reference=data["reference"],
            lines=delivery.lines,
            accept_expired_reason=data["accept_expired_reason"],
            knowing=delivery.head.knowing,
        )
    except StockError as error:
        delivery.refuse(error)
        return False
