"""Coating systems compared over job sizes: the page, its charts, and the same as PDF and spreadsheet."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from costing.comparison_shown import ShownTable, bars_chart, lines_chart, tables_of
from costing.comparison_words import basis, headline, what_would_change_it
from costing.forms.comparison import ComparisonForm
from costing.models import CoatingSystem
from costing.services.comparing import Compared, compare_systems
from costing.services.inputs import PricingProblemError
from costing.tables.pricing import FixedTable, plain_table
from finishing.models import Shop

SEE_COSTS = permission_required("costing.see_costs", raise_exception=True)


@require_safe
@SEE_COSTS
def comparison(request: HttpRequest) -> HttpResponse:
    """The question, the answer in words, and everything it stands on."""
    form = ComparisonForm(request.GET, today=timezone.localdate())
    context: dict[str, Any] = {"form": form, "has_systems": CoatingSystem.objects.filter(is_active=True).exists()}
    if context["has_systems"] and form.is_valid():
        try:
            compared = _compared(form)
        except PricingProblemError as error:
            context["problems"] = error.problems
        else:
            context.update(_answer(compared, form.asked.urlencode()))
    return render(request, "costing/comparison/comparison.html", context, status=422 if form.errors and request.GET else 200)


def _compared(form: ComparisonForm) -> Compared:
    return compare_systems(form.question(), shop=Shop.current(), today=timezone.localdate())


def _answer(compared: Compared, query: str) -> dict[str, Any]:
    return {
        "compared": compared,
        "headline": headline(compared),
        "changes": what_would_change_it(compared),
        "basis": basis(compared),
        "tables": [(table, _page_table(table)) for table in tables_of(compared)],
        "unpriced": compared.unpriced,
        "query": query,
    }


def _page_table(table: ShownTable) -> FixedTable:
    return plain_table(
        table.columns, table.rows, caption=table.title, prefix=f"{table.slug}-", empty=table.empty, hide_caption=True
    )


def _asked(request: HttpRequest) -> Compared | None:
    """The comparison that an address asks for; None where it can't be answered."""
    form = ComparisonForm(request.GET, today=timezone.localdate())
    if not form.is_valid():
        return None
    try:
        compared = _compared(form)
    except PricingProblemError:
        return None
    return compared if compared.comparison is not None else None


@require_safe
@SEE_COSTS
def comparison_chart(request: HttpRequest, kind: str) -> HttpResponse:
    """One of the two charts, an image of its own."""
    from finishing.charts import SVG_TYPE, svg

    compared = _asked(request)
    if compared is None:
        return _back(request)
    drawing = lines_chart(compared) if kind == "lines" else bars_chart(compared)
    title = "True cost per area by job size" if kind == "lines" else "True cost per area by cost group"
    image = svg(drawing, title=title, description="The figures stand in the tables below the chart.")
    return HttpResponse(image, content_type=SVG_TYPE)


def _back(request: HttpRequest) -> HttpResponse:
    """To the page, which says what is wrong with the question."""
    query = request.GET.urlencode()
    return redirect(f"{reverse('comparison')}?{query}" if query else reverse("comparison"))


@require_safe
@SEE_COSTS
def comparison_pdf(request: HttpRequest) -> HttpResponse:
    """The comparison as PDF."""
    from costing.documents.comparison_pdf import comparison_pdf as make
    from costing.documents.files import pdf_response

    compared = _asked(request)
    if compared is None:
        return _back(request)
    return pdf_response(make(compared, on=timezone.localdate()), "comparison.pdf")


@require_safe
@SEE_COSTS
def comparison_xlsx(request: HttpRequest) -> HttpResponse:
    """The comparison as a spreadsheet."""
    from costing.documents.comparison_xlsx import comparison_xlsx as make
    from costing.documents.files import sheet_response

    compared = _asked(request)
    if compared is None:
        return _back(request)
    return sheet_response(make(compared, on=timezone.localdate()), "comparison.xlsx")
