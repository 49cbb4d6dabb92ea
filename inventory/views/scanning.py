"""Codes: read one into the delivery that is being typed, and enter an unknown GTIN on its pack."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from finishing.show import day
from inventory.core.gs1 import GS, ScanProblem, is_gtin
from inventory.forms.moves import today
from inventory.forms.scanned import DeliveryBeingTyped, GtinForm, Placed, place, typed_rows
from inventory.models import Supplier
from inventory.selectors_orders import awaited
from inventory.services.scanning import Understood, enter_gtin, understand
from inventory.services.scanning_orders import OnOrder
from inventory.views.common import crumbs, may

LONGEST_SHOWN = 120
FULL = "Every row of this delivery is filled. Book it, and begin another for the rest."


@require_POST
@may("inventory.receive")
def scan(request: HttpRequest) -> HttpResponse:
    """Read one code. Who asks for JSON gets what was understood; else the delivery comes back with the code in its row.

    Nothing is checked or booked, and nothing that was typed is lost.
    """
    found = understand(request.POST.get("scan", ""), today=today())
    if request.accepts("application/json") and not request.accepts("text/html"):
        return JsonResponse(_as_data(found), status=400 if isinstance(found, ScanProblem) else 200)
    rows = typed_rows(request.POST)
    if isinstance(found, ScanProblem):
        said = refused(request, found)
    else:
        said = _in_words(found, place(rows, found), request.POST.get("supplier", ""))
    context: dict[str, Any] = {
        "delivery": DeliveryBeingTyped(request.POST, rows, sold_by=_sold_by(found)),
        "awaited": awaited(today()),
        "scanned": said,
        "understood": [],
        "is_empty": False,
    }
    return render(request, "inventory/receive.html", context)


def refused(request: HttpRequest, problem: ScanProblem) -> dict[str, Any]:
    """Why, and what came: the box itself is emptied, since the next scan is typed into it."""
    came = request.POST.get("scan", "").replace(GS, "␝")
    return {"problem": problem.words, "text": came if len(came) <= LONGEST_SHOWN else f"{came[:LONGEST_SHOWN]}…"}


def _sold_by(found: Understood | ScanProblem) -> Supplier | None:
    """Who sells the pack that was scanned, so that nobody has to choose."""
    if isinstance(found, ScanProblem) or found.pack is None or not found.item.startswith("pack:"):
        return None
    return found.pack.supplier if found.pack.supplier.is_active else None


def _another(sold_by: Supplier | None, chosen: str) -> list[str]:
    """That the pack is not sold by the supplier who is chosen."""
    if sold_by is None or not chosen or chosen == str(sold_by.pk):
        return []
    other = f"This pack is sold by {sold_by}, but another supplier is chosen below."
    return [f"{other} Choose {sold_by}, or the amount instead of the pack."]


def _in_words(found: Understood, placed: Placed, chosen: str) -> dict[str, Any]:
    """What the page says about a code that was read."""
    if placed.row is None:
        return {"problem": FULL}
    return {
        "row": placed.row,
        "added": (found.amount or "1") if placed.added else "",
        "words": read_words(found),
        "notes": [*_another(_sold_by(found), chosen), *found.notes],
        "unknown": found.gtin if found.is_unknown_article else "",
    }


def read_words(found: Understood | OnOrder) -> str:
    """What was read, to be compared with the label."""
    parts = [found.pack.material.name if found.pack else "", str(found.pack) if found.pack else ""]
    parts += [f"lot {found.lot_number}" if found.lot_number else ""]
    parts += [
        f"made {day(found.made_on)}" if found.made_on else "",
        f"expires {day(found.expires_on)}" if found.expires_on else "",
    ]
    return ", ".join(part for part in parts if part)


def _as_data(found: Understood | ScanProblem) -> dict[str, Any]:
    if isinstance(found, ScanProblem):
        return {"problem": found.words, "trouble": found.trouble.value, "found": found.found}
    return {
        "form": found.scan.form.value,
        "gtin": found.gtin,
        "item": found.item,
        "material": str(found.material or ""),
        "pack": str(found.pack or ""),
        "amount": found.amount,
        "lot_number": found.lot_number,
        "made_on": found.made_on,
        "expires_on": found.expires_on,
        "best_before": found.scan.best_before,
        "notes": found.notes,
    }


@require_http_methods(["GET", "HEAD", "POST"])
@may("inventory.change_materials")
def gtin_new(request: HttpRequest, gtin: str) -> HttpResponse:
    """Choose the pack that a scanned GTIN belongs to."""
    if not is_gtin(gtin):
        raise Http404
    form = GtinForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            pack = enter_gtin(pack=form.cleaned_data["pack"], gtin=gtin)
        except ValidationError as error:
            form.add_error("pack", error)
        else:
            messages.success(request, f"{pack} of {pack.material.name} has the GTIN {gtin} now. Scan the code again.")
            return redirect(pack.material)
    context = {"form": form, "gtin": gtin, "crumbs": crumbs(("Receive a delivery", "receive"))}
    return render(request, "inventory/labels/gtin.html", context)
