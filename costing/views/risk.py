"""How sure an estimate is: its cost in good and bad jobs, the chance of a loss, and what drives the spread."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from costing.forms.risk import RiskForm
from costing.models import Estimate
from costing.services.estimating import CannotPriceError, PricedOption, price
from costing.services.risk import Assessed, assess
from costing.tables.pricing import FixedTable, plain_table
from finishing import show

CHART_WIDTH = 880
LISTED = 8  # influences that are drawn one by one
SEE_COSTS = permission_required("costing.see_costs", raise_exception=True)


def _option(pk: int, system_pk: int) -> tuple[Estimate, PricedOption]:
    found = get_object_or_404(Estimate.objects.select_related("customer"), pk=pk)
    chosen = get_object_or_404(found.options.select_related("system"), system=system_pk)
    return found, price(found, chosen.system)


@require_safe
@SEE_COSTS
def estimate_risk(request: HttpRequest, pk: int, system_pk: int) -> HttpResponse:
    """P10, P50 and P90, the chance of a loss, and the inputs that drive the spread."""
    try:
        found, option = _option(pk, system_pk)
    except CannotPriceError:
        return redirect("estimate", pk)
    form = RiskForm(request.GET)
    context: dict[str, Any] = {
        "estimate": found,
        "option": option,
        "form": form,
        "crumbs": [
            ("Estimates", reverse("estimates")),
            (found.name, reverse("estimate", args=[pk])),
            (option.system.name, reverse("estimate_option", args=[pk, system_pk])),
        ],
    }
    if form.is_valid():
        risk = _assessed(option, form)
        context.update(risk=risk, sentence=sentence(risk), influences=_table(risk), query=form.asked.urlencode())
    return render(request, "costing/pricing/risk.html", context, status=422 if form.errors else 200)


def _assessed(option: PricedOption, form: RiskForm) -> Assessed:
    return assess(option, spreads=form.spreads(), price=form.cleaned_data["price_tested"])


def sentence(risk: Assessed) -> str:
    """The answer in words."""
    costs = f"Eight of ten such jobs cost between {show.money(risk.p10)} and {show.money(risk.p90)}, half of them up to "
    costs += f"{show.money(risk.p50)}."
    loss = f"At {show.money(risk.price)} before tax, {show.percent(risk.loss)} of them would lose money."
    if not risk.influences:
        return f"Nothing is uncertain here: every such job costs {show.money(risk.p50)}. {loss}"
    first = risk.influences[0]
    return f"{costs} {loss} Most of the spread comes from {first.words}: {show.percent(first.share, 0)} of it."


def _table(risk: Assessed) -> FixedTable:
    rows = [{"words": _capital(one.words), "share": show.percent(one.share)} for one in risk.influences]
    rows.append(
        {"words": "Steps of fills, batches and supplies, and inputs acting together", "share": show.percent(risk.unexplained)}
    )
    columns = (("words", "Input", False), ("share", "Share of the variance", True))
    return plain_table(columns, rows, caption="What drives the spread", prefix="drivers-", hide_caption=True)


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


@require_safe
@SEE_COSTS
def estimate_risk_chart(request: HttpRequest, pk: int, system_pk: int, kind: str) -> HttpResponse:
    """The curve of chances, or the drivers, as an image of its own."""
    from finishing.charts import SVG_TYPE, svg

    try:
        _, option = _option(pk, system_pk)
    except CannotPriceError:
        return redirect("estimate", pk)
    form = RiskForm(request.GET)
    if not form.is_valid():
        return redirect(f"{reverse('estimate_risk', args=[pk, system_pk])}?{request.GET.urlencode()}")
    risk = _assessed(option, form)
    drawing, title = (_curve(risk), "How often the cost stays below an amount") if kind == "chances" else (_bars(risk), "Drivers")
    image = svg(drawing, title=title, description="The figures stand beside the chart.")
    return HttpResponse(image, content_type=SVG_TYPE)


def _curve(risk: Assessed) -> Any:
    """The share of jobs that cost no more than an amount, with P10, P50, P90 and the price as upright lines."""
    from finishing.charts import Series, line_chart

    marks = (("P10", risk.p10), ("P50", risk.p50), ("P90", risk.p90), ("price", risk.price))
    lines = [Series(words="share of jobs that cost no more", points=risk.curve)]
    lines += [Series(words=words, points=((float(amount), 0.0), (float(amount), 100.0))) for words, amount in marks]
    currency = risk.option.inputs.shop.currency
    return line_chart(lines, x_words=f"true cost, {currency}", y_words="% of jobs", width=CHART_WIDTH, height=320)


def _bars(risk: Assessed) -> Any:
    from finishing.charts import Bar, bar_chart

    first, rest = risk.influences[:LISTED], risk.influences[LISTED:]
    others = sum(one.share for one in rest) + risk.unexplained
    bars = [Bar(words=_capital(one.words), amounts=(100 * one.share,)) for one in first]
    bars.append(Bar(words="Everything else", amounts=(100 * others,)))
    return bar_chart(bars, ["share of the variance, %"], unit="%", width=CHART_WIDTH, bar_height=18)
