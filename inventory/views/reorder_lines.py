"""One line of the reorder list: what other numbers of packs would do, and the chart of its stock."""

from __future__ import annotations

import math
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from finishing.models import Shop
from inventory.core.reorder import Advice, advise
from inventory.forms.reorder import LineForm
from inventory.models import Material, Pack
from inventory.reorder_cover import cover_of
from inventory.reorder_reads import facts_of
from inventory.reorder_shown import chart_address, in_draft
from inventory.selectors_orders import in_drafts
from inventory.views.common import may

LARGEST_POINT = 1e9


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A material with its packs and what is known of it today."""

    material: Material
    packs: list[Pack]
    advice: Advice


def _line(pk: int) -> Line:
    material = get_object_or_404(Material, pk=pk)
    known = facts_of(material, today=timezone.localdate(), shop=Shop.current())
    return Line(material=material, packs=known.packs.get(pk, []), advice=advise(known.facts[pk]))


@require_safe
@may("inventory.buy")
def reorder_cover(request: HttpRequest, pk: int) -> HttpResponse:
    """What the numbers in the boxes of a line would do, as a part of the page."""
    line, drafts = _line(pk), in_drafts()
    form = LineForm(request.GET, packs=line.packs)
    context: dict[str, object] = {"material": line.material, "form": form}
    if form.is_valid():
        counts = form.counts()
        point = _point(request) or line.advice.point.quantity
        context |= {
            "cover": cover_of(line.material, line.advice, counts, drafts=in_draft(line.packs, drafts)),
            "chart": chart_address(pk, point, counts, drafts),
            "swaps_chart": True,
        }
    return render(request, "inventory/reorder/_cover.html", context)


@require_safe
@may("inventory.buy")
def reorder_chart(request: HttpRequest, pk: int) -> HttpResponse:
    """Usable stock over the next days, an image of its own; with packs in the address also what buying them would do."""
    from finishing.charts import SVG_TYPE, svg
    from inventory.stock_chart import stock_drawing, stock_words

    line = _line(pk)
    form = LineForm(request.GET, packs=line.packs)
    bought = cover_of(line.material, line.advice, form.counts()).cover if form.is_valid() else None
    drawing = stock_drawing(line.material, line.advice, bought=bought, point=_point(request))
    title = f"Usable stock of {line.material.name} over the next {len(line.advice.projection.path)} days"
    return HttpResponse(svg(drawing, title=title, description=stock_words(line.material, line.advice)), content_type=SVG_TYPE)


def _point(request: HttpRequest) -> float | None:
    """The reorder point as the list reckoned it: it takes the weeks of all materials together, the chart only draws it."""
    try:
        point = float(request.GET.get("point", ""))
    except ValueError:
        return None
    return point if math.isfinite(point) and 0 <= point < LARGEST_POINT else None
