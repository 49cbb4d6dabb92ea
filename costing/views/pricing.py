"""An estimate's pages: the systems side by side, the whole breakdown of one, and how every figure came about."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.contrib.auth.decorators import permission_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from costing.cautions import cautions_for, cautions_of
from costing.core.takeoff import Takeoff
from costing.models import Estimate
from costing.services.estimating import (
    CannotPriceError,
    PricedOption,
    UnpricedOption,
    measure,
    price,
    price_all,
)
from costing.services.freezing import freeze
from costing.snapshots import Snapshot
from costing.views import breakdown, figures
from costing.views.workings import PARTS, workings_of
from costing.wording import CHART_PARTS, LIMIT_NOTE
from finishing.models import Shop

CHART_WIDTH = 880
SEE_COSTS = permission_required("costing.see_costs", raise_exception=True)


@require_safe
@SEE_COSTS
def estimate(request: HttpRequest, pk: int) -> HttpResponse:
    """The takeoff in short and the systems side by side."""
    found = get_object_or_404(Estimate.objects.select_related("customer"), pk=pk)
    shop = Shop.current()
    options = price_all(found, shop=shop)
    priced = [option for option in options if isinstance(option, PricedOption)]
    unpriced = [option for option in options if isinstance(option, UnpricedOption)]
    takeoff = priced[0].result.takeoff if priced else _measured(found)
    context = {
        "estimate": found,
        "takeoff": takeoff,
        "takeoff_table": figures.takeoff_table(takeoff) if takeoff and takeoff.rows else None,
        "has_options": bool(options),
        "priced": priced,
        "unpriced": unpriced,
        "quotes": found.quotes.order_by("-number", "-revision"),
        "crumbs": [("Estimates", reverse("estimates"))],
        **(_comparison(priced, shop) if priced and takeoff and takeoff.area else {}),
    }
    return render(request, "costing/pricing/estimate.html", context)


def _measured(found: Estimate) -> Takeoff | None:
    try:
        return measure(found)
    except CannotPriceError:
        return None


def _comparison(priced: Sequence[PricedOption], shop: Shop) -> dict[str, Any]:
    """Everything that stands side by side."""
    return {
        "comparison": figures.comparison_table(priced, shop),
        "groups": figures.groups_table(priced),
        "voc": figures.voc_table(priced, shop),
        "limit_note": LIMIT_NOTE,
        "warnings": figures.warnings_of(priced),
        "cautions": cautions_for(material for option in priced for material in option.materials),
    }


@require_safe
@SEE_COSTS
def estimate_chart(request: HttpRequest, pk: int) -> HttpResponse:  # noqa: ARG001 - the framework's signature
    """The cost of the systems as stacked bars, an image of its own."""
    from finishing.charts import SVG_TYPE, Bar, bar_chart, svg

    found = get_object_or_404(Estimate, pk=pk)
    shop = Shop.current()
    priced = [option for option in price_all(found, shop=shop) if isinstance(option, PricedOption)]
    bars = []
    for option in priced:
        amounts = {line.group: line.amount for line in option.shown.lines}
        bars.append(
            Bar(
                words=option.system.name,
                amounts=tuple(float(sum(amounts[group] for group in groups)) for _, groups in CHART_PARTS),
            )
        )
    drawing = bar_chart(bars, [words for words, _ in CHART_PARTS], unit=shop.currency, width=CHART_WIDTH)
    image = svg(
        drawing,
        title="True cost of each coating system by cost group",
        description="The figures stand in the table beside the chart.",
    )
    return HttpResponse(image, content_type=SVG_TYPE)


def _option(pk: int, system_pk: int) -> tuple[Estimate, PricedOption]:
    """One system of an estimate, priced; 404 for a system that is not among its options. Raises CannotPriceError."""
    found = get_object_or_404(Estimate.objects.select_related("customer"), pk=pk)
    option = get_object_or_404(found.options.select_related("system"), system=system_pk)
    return found, price(found, option.system)


@require_safe
@SEE_COSTS
def estimate_option(request: HttpRequest, pk: int, system_pk: int) -> HttpResponse:
    """The whole breakdown of one system."""
    try:
        found, option = _option(pk, system_pk)
    except CannotPriceError:
        return redirect("estimate", pk)
    shop = option.inputs.shop
    context = {
        "estimate": found,
        "option": option,
        "shop": shop,
        "voc_kg": figures.voc_kg(option),
        "days": figures.days_words(option, shop),
        "breakdown": breakdown.breakdown_table(option),
        "price_steps": breakdown.price_table(option, shop.tax_name),
        "operations": breakdown.operations_table(option),
        "coats": breakdown.coats_table(option),
        "mixes": breakdown.mixes_table(option),
        "materials": breakdown.materials_table(option),
        "supplies": breakdown.supplies_table(option),
        "bought": breakdown.bought_table(option),
        "labour": breakdown.labour_table(option),
        "schedule_table": breakdown.schedule_table(figures.laid_out(option, shop)),
        "voc": figures.voc_table([option], shop),
        "limit_note": LIMIT_NOTE,
        "cautions": cautions_for(option.materials),
        "crumbs": [("Estimates", reverse("estimates")), (found.name, reverse("estimate", args=[pk]))],
    }
    return render(request, "costing/pricing/option.html", context)


@require_safe
@SEE_COSTS
def estimate_schedule(request: HttpRequest, pk: int, system_pk: int) -> HttpResponse:  # noqa: ARG001 - the framework's signature
    """The operations as bars over the working days, an image of its own."""
    from costing.schedule_chart import schedule_chart
    from finishing.charts import SVG_TYPE, svg

    try:
        _, option = _option(pk, system_pk)
    except CannotPriceError:
        return redirect("estimate", pk)
    drawing = schedule_chart(figures.laid_out(option, option.inputs.shop), width=CHART_WIDTH)
    image = svg(drawing, title="Operations over the working days", description="The table beside the chart has the times.")
    return HttpResponse(image, content_type=SVG_TYPE)


@require_safe
@SEE_COSTS
def estimate_workings(request: HttpRequest, pk: int, system_pk: int, part: str) -> HttpResponse:
    """How the figures of one part came about; a page of its own, or the piece that the breakdown asks for."""
    if part not in PARTS:
        raise Http404
    try:
        found, option = _option(pk, system_pk)
    except CannotPriceError:
        return redirect("estimate", pk)
    context = {
        "estimate": found,
        "option": option,
        "part": part,
        "title": PARTS[part][0],
        "parts": [(slug, title) for slug, (title, _) in PARTS.items()],
        "workings": workings_of(option, part),
        "crumbs": [
            ("Estimates", reverse("estimates")),
            (found.name, reverse("estimate", args=[pk])),
            (option.system.name, reverse("estimate_option", args=[pk, system_pk])),
        ],
    }
    return render(request, "costing/pricing/workings.html", context)


def _snapshot(pk: int, system_pk: int) -> tuple[Snapshot, Shop]:
    _, option = _option(pk, system_pk)
    return freeze(option, on=timezone.localdate()), option.inputs.shop


@require_safe
@SEE_COSTS
def cost_sheet_pdf(request: HttpRequest, pk: int, system_pk: int) -> HttpResponse:  # noqa: ARG001 - the framework's signature
    """The cost sheet of one system at today's prices, as PDF."""
    from costing.documents.cost_sheet_pdf import cost_sheet_pdf as make
    from costing.documents.files import cost_sheet_name, pdf_response

    try:
        snapshot, shop = _snapshot(pk, system_pk)
    except CannotPriceError:
        return redirect("estimate", pk)
    return pdf_response(make(snapshot, shop, cautions=cautions_of(snapshot)), cost_sheet_name(snapshot, "pdf"))


@require_safe
@SEE_COSTS
def cost_sheet_xlsx(request: HttpRequest, pk: int, system_pk: int) -> HttpResponse:  # noqa: ARG001 - the framework's signature
    """The cost sheet of one system at today's prices, as a spreadsheet."""
    from costing.documents.cost_sheet_xlsx import cost_sheet_xlsx as make
    from costing.documents.files import cost_sheet_name, sheet_response

    try:
        snapshot, shop = _snapshot(pk, system_pk)
    except CannotPriceError:
        return redirect("estimate", pk)
    return sheet_response(make(snapshot, shop), cost_sheet_name(snapshot, "xlsx"))
