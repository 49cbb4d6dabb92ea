"""Lots: the list, one lot, and what happens to it besides movements."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from finishing.fields import to_step
from finishing.models import Shop
from finishing.show import day, quantity
from inventory.core.lots import next_container
from inventory.errors import StockError
from inventory.filters import LotFilter
from inventory.forms.moves import OpenContainerForm, OpenForm, QuarantineForm, ReleaseForm, StockForm, today
from inventory.lot_states import mark_of, why_until
from inventory.models import Lot, Movement
from inventory.services.lots import open_lot, quarantine_lot, release_lot
from inventory.services.opening import open_container
from inventory.shown import per_unit
from inventory.tables import LotTable, MovementTable
from inventory.views.common import crumbs, may, paged, person, sees_costs


@require_safe
@may("inventory.view")
def lots(request: HttpRequest) -> HttpResponse:
    """All lots, those in stock first of all."""
    shop = Shop.current()
    every = Lot.objects.with_state().first_expired_first()
    chosen = LotFilter(request.GET, queryset=every, on=today(), shop=shop)
    table = LotTable(chosen.qs, on=today(), window=shop.expiring_days, costs=sees_costs(request))
    context = {
        "table": paged(request, table),
        "filter": chosen,
        "window": shop.expiring_days,
        "is_empty": not table.rows and not Lot.objects.exists(),
    }
    return render(request, "inventory/lots.html", context)


def _lot(pk: int) -> Lot:
    return get_object_or_404(Lot.objects.with_state().select_related("supplier", "split_from__location"), pk=pk)


@require_safe
@may("inventory.view")
def lot(request: HttpRequest, pk: int) -> HttpResponse:
    """One lot: how long it can be used and why, what it is worth, what moved, what can be done with it."""
    shown = _lot(pk)
    moves = Movement.objects.filter(lot=shown).select_related("posting__by", "lot__material")
    costs = sees_costs(request)
    context = {
        "lot": shown,
        "mark": mark_of(shown, on=today(), window=Shop.current().expiring_days),
        "why_until": why_until(shown),
        "unit_cost": per_unit(shown.unit_cost, shown.material),
        "costs": costs,
        "moves": paged(
            request, MovementTable(moves, costs=costs, exclude=("material", "lot", *MovementTable.FEW), prefix="moves-")
        ),
        "events": shown.events.select_related("by", "from_location", "to_location"),
        "parts": shown.parts.select_related("material", "location"),
        "crumbs": crumbs(("Lots", "lots")),
    }
    return render(request, "inventory/lot.html", context)


def act(
    request: HttpRequest,
    of: Lot,
    *,
    form: forms.Form,
    do: Callable[[dict[str, Any]], str],
    title: str,
    button: str,
    words: str = "",
) -> HttpResponse:
    """Show a small form about one lot; when it is sent and right, do it and go back to the lot with what was done."""
    if request.method == "POST" and form.is_valid():
        try:
            done = do(form.cleaned_data)
        except StockError as error:
            words = form.words_for(error) if isinstance(form, StockForm) else str(error)
            form.add_error(error.field if error.field in form.fields else None, words)
        else:
            messages.success(request, done)
            return redirect(of)
    context = {"form": form, "lot": of, "title": title, "button": button, "words": words, "crumbs": lot_crumbs(of)}
    return render(request, "inventory/lot_form.html", context)


def lot_crumbs(of: Lot) -> list[tuple[str, str]]:
    """Below the list of lots and the lot."""
    return [*crumbs(("Lots", "lots")), (f"{of.material.name}, lot {of.number}", of.get_absolute_url())]


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.issue")
def lot_open(request: HttpRequest, pk: int) -> HttpResponse:
    """Note that the container was opened; of a lot in several containers, that one of them was."""
    of = _lot(pk)
    form = _opening(request, of)

    def do(data: dict[str, Any]) -> str:
        by, on = person(request), data["on"]
        if "quantity" in form.fields:
            opened = open_container(key=data["key"], by=by, on=on, lot=of, quantity=data["quantity"])
        else:
            opened = open_lot(lot=of, on=on, by=by)
        what = f"{held(opened)} of lot" if opened.pk != of.pk else "Lot"
        return f"{what} {of.number} counts as opened on {day(on)}. Usable until: {day(opened.usable_until)}."

    life = of.material.open_life_days
    words = f"Once opened it can be used for {life} days." if life else "No open life is entered for this material."
    if "quantity" in form.fields:
        words += f" The lot came in {of.containers} containers."
    return act(request, of, form=form, do=do, title=f"Open lot {of.number}", button="It is open", words=words)


def _opening(request: HttpRequest, of: Lot) -> OpenForm | OpenContainerForm:
    sent = request.POST if request.method == "POST" else None
    if of.containers == 1 or of.opened_on is not None:
        return OpenForm(sent)
    likely = next_container(on_hand=of.on_hand, came=of.came_with, containers=of.containers)
    return OpenContainerForm(sent, lot=of, initial={"quantity": to_step(likely)})


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.quarantine")
def lot_quarantine(request: HttpRequest, pk: int) -> HttpResponse:
    """Set a lot aside, with a reason."""
    of = _lot(pk)

    def do(data: dict[str, Any]) -> str:
        quarantine_lot(lot=of, reason=data["reason"], by=person(request))
        return f"Lot {of.number} is in quarantine. It is not issued until somebody frees it."

    form = QuarantineForm(request.POST or None)
    return act(request, of, form=form, do=do, title=f"Set lot {of.number} aside", button="Put in quarantine")


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.quarantine")
def lot_release(request: HttpRequest, pk: int) -> HttpResponse:
    """Free a lot from quarantine."""
    of = _lot(pk)

    def do(_data: dict[str, Any]) -> str:
        release_lot(lot=of, by=person(request))
        return f"Lot {of.number} is out of quarantine."

    words = f"It was set aside: {of.quarantine_reason}" if of.is_quarantined else ""
    form = ReleaseForm(request.POST if request.method == "POST" else None)
    return act(request, of, form=form, do=do, title=f"Free lot {of.number}", button="Free it", words=words)


def held(of: Lot) -> str:
    """What is left in a lot, in words."""
    return quantity(of.on_hand, of.material.stock_unit)
