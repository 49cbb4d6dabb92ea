"""The stock room: find a lot by its label, see what needs doing on the shelves, and the way to each kind of work."""

from __future__ import annotations

from datetime import timedelta
from urllib.parse import urlencode

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from finishing.models import Shop
from inventory.choices import CountStatus
from inventory.core.gs1 import LONGEST_CODE, Scan, ScanForm, ScanProblem, read_scan, same_gtins
from inventory.counts_due import due_materials
from inventory.forms.moves import today
from inventory.models import Location, Lot, StockCount
from inventory.models.lots import SET_ASIDE
from inventory.selectors_orders import awaited
from inventory.views.common import may


@require_safe
@may("inventory.view")
def stock_room(request: HttpRequest) -> HttpResponse:
    """What waits on the shelves. With ``?label=`` the lot of that label: its page, or the list where several fit."""
    typed = request.GET.get("label", "")[: LONGEST_CODE + 1]
    problem = ""
    if typed.strip():
        found = _find(typed)
        if isinstance(found, HttpResponse):
            return found
        problem = found
    return render(request, "inventory/stock_room.html", {"typed": typed, "problem": problem, **_waiting()})


def _find(typed: str) -> HttpResponse | str:
    """Where the label leads, or why nowhere. The label of a place bears its name; a lot of that number comes first."""
    place = Location.objects.filter(name__iexact=typed.strip()).first()
    if place is not None and not Lot.objects.filter(number__iexact=typed.strip()).exists():
        return redirect(place)
    scan = read_scan(typed, today=today())
    if isinstance(scan, ScanProblem):
        return scan.words
    if not scan.lot:
        return _of_article(scan)
    lots = _lots(scan)
    exact = list(lots[:2])
    if len(exact) == 1:
        return redirect("lot", exact[0].pk)
    if exact or Lot.objects.filter(number__icontains=scan.lot).exists():
        return redirect(f"{reverse('lots')}?{urlencode({'text': scan.lot, 'stock': 'all'})}")
    return f"No lot has the number {scan.lot}. Look for it in the list of lots, or receive it first."


def _lots(scan: Scan) -> QuerySet[Lot]:
    """The lots of this number; those of the article alone where the label names it and some of it has such a lot."""
    lots = Lot.objects.filter(number__iexact=scan.lot)
    if scan.gtin and scan.form is ScanForm.ELEMENTS:
        of_article = lots.filter(material__packs__gtin__in=same_gtins(scan.gtin)).distinct()
        return of_article if of_article.exists() else lots
    return lots


def _of_article(scan: Scan) -> HttpResponse | str:
    """A code that names an article but no lot leads to the lots of its material."""
    lots = Lot.objects.filter(material__packs__gtin__in=same_gtins(scan.gtin)) if scan.gtin else Lot.objects.none()
    first = lots.order_by("-pk").first()
    if first is None:
        return "The code names no lot that was received here. Type the lot number, or receive it first."
    return redirect(f"{reverse('lots')}?{urlencode({'material': first.material_id})}")


def _waiting() -> dict[str, object]:
    on, shop = today(), Shop.current()
    ends = [lot.usable_until for lot in Lot.objects.in_stock().with_state() if lot.usable_until is not None]
    soon = on + timedelta(days=shop.expiring_days)
    return {
        "expired": sum(end < on for end in ends),
        "soon": sum(on <= end <= soon for end in ends),
        "soon_words": f"within {shop.expiring_days} days",
        "set_aside": Lot.objects.in_stock().filter(SET_ASIDE).count(),
        "awaited": awaited(on),
        "counts": StockCount.objects.filter(status=CountStatus.OPEN).count(),
        "due": len(due_materials(on=on)),
    }
