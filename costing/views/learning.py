"""What the log teaches about a spray setup: figures, points, and the decision about them."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import cast
from uuid import UUID, uuid4

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe
from reportlab.graphics.shapes import Drawing

from costing.choices import LearntFate, LearntKind
from costing.learning import Figure, SetupLearning, as_setting, changes_by_adopting, learning_of, setting_of
from costing.models import LearntDecision, SpraySetup
from costing.services.learnt import decide, words_of
from costing.services.work_errors import WorkError
from costing.tables.pricing import FixedTable, plain_table
from finishing import show
from finishing.charts import SVG_TYPE, Series, line_chart, svg
from finishing.models import User
from inventory.errors import StockError

SEE = "costing.see_costs"
CHANGE = "costing.change_systems"
_FIGURE, _TEXT = True, False
LISTED = 60


@require_safe
@permission_required(SEE, raise_exception=True)
def setup_learning(request: HttpRequest, pk: int) -> HttpResponse:
    """What logged coats say of a setup, with every coat as a point."""
    setup = get_object_or_404(SpraySetup, pk=pk)
    found = learning_of(setup)
    context = {
        "setup": setup,
        "found": found,
        "figures": [_shown(figure, setup) for figure in found.figures],
        "by_system": _system_table(found),
        "points": _points_table(found),
        "line": found.line,
        "decisions": LearntDecision.objects.filter(setup=setup).select_related("by")[:10],
        "may_decide": request.user.has_perm(CHANGE),
        "crumbs": [("Spray setups", reverse("setups")), (setup.name, setup.get_absolute_url())],
    }
    return render(request, "costing/setups/learning.html", context)


def _shown(figure: Figure, setup: SpraySetup) -> dict[str, object]:
    value = as_setting(figure.learnt.value, figure.kind)
    return {
        "kind": figure.kind,
        "title": figure.kind.label,
        "key": uuid4(),
        "value": value,
        "words": words_of(value, figure.kind),
        "low": words_of(figure.learnt.low, figure.kind),
        "high": words_of(figure.learnt.high, figure.kind),
        "setting": words_of(setting_of(setup, figure.kind), figure.kind),
        "count": figure.learnt.count,
        "outliers": len(figure.outliers),
        "says_otherwise": figure.learnt.says_otherwise,
        "prior": words_of(figure.learnt.prior, figure.kind),
        "usable": figure.learnt.is_usable,
        "is_set": value == setting_of(setup, figure.kind),
        "has_chart": len(figure.points) > 1,
        "changes": changes_by_adopting(setup, figure.kind, value) if figure.learnt.count else (),
    }


def _system_table(found: SetupLearning) -> FixedTable:
    rows = []
    for entry in found.systems:
        row = {"system": entry.system}
        for figure in entry.figures:
            learnt = figure.learnt
            row[figure.kind] = (
                f"{words_of(learnt.value, figure.kind)} ({words_of(learnt.low, figure.kind)} to "
                f"{words_of(learnt.high, figure.kind)}), {learnt.count} coats"
            )
        rows.append(row)
    columns = (("system", "Coating system", _TEXT), *((kind, kind.label, _TEXT) for kind in LearntKind))
    return plain_table(columns, rows, caption="By coating system", prefix="systems-", hide_caption=True, empty="No coat yet.")


def _points_table(found: SetupLearning) -> FixedTable:
    far = {figure.kind: figure.outliers for figure in found.figures}
    rows = []
    for point in reversed(found.points[-LISTED:]):
        marks = [kind.label.lower() for kind in LearntKind if point.step.pk in far[kind]]
        if point.is_impossible and LearntKind.EFFICIENCY.label.lower() not in marks:
            marks.insert(0, LearntKind.EFFICIENCY.label.lower())
        rows.append(
            {
                "job": f"{point.step.job.number} {point.step.name}",
                "day": show.day(point.done_at),
                "area": show.area(point.area),
                "efficiency": show.percent(point.efficiency) if point.efficiency else "–",
                "rate": f"{show.area(point.rate)}/h" if point.rate else "–",
                "film": "measured" if point.measured else "assumed as stated: teaches the rate only",
                "mark": f"outlier: {' and '.join(marks)}" if marks else "",
            }
        )
    columns = (
        ("job", "Coat", _TEXT),
        ("day", "Day", _TEXT),
        ("area", "Area", _FIGURE),
        ("efficiency", "Transfer efficiency", _FIGURE),
        ("rate", "Spraying rate", _FIGURE),
        ("film", "Wet film", _TEXT),
        ("mark", "Marked", _TEXT),
    )
    return plain_table(columns, rows, caption="Logged coats", prefix="points-", hide_caption=True, empty="No finished coat yet.")


@require_safe
@permission_required(SEE, raise_exception=True)
def setup_learning_chart(request: HttpRequest, pk: int, kind: str) -> HttpResponse:  # noqa: ARG001 - the address says all
    """One figure as an image: each coat in order, the learnt value with its interval, and the present setting."""
    setup = get_object_or_404(SpraySetup, pk=pk)
    wanted = LearntKind(kind) if kind in LearntKind.values else LearntKind.EFFICIENCY
    figure = learning_of(setup).figure(wanted)
    if len(figure.points) < 2:
        return HttpResponse(svg(_nothing(), title="Too few coats"), content_type=SVG_TYPE)
    factor = 100.0 if wanted == LearntKind.EFFICIENCY else 1.0
    last = float(len(figure.points))
    flat = (("learnt", figure.learnt.value), ("90 % from", figure.learnt.low), ("90 % to", figure.learnt.high))
    series = [
        *_dots(figure, factor),
        *(Series(words=words, points=((1.0, value * factor), (last, value * factor))) for words, value in flat),
        Series(words="set now", points=((1.0, figure.learnt.setting * factor), (last, figure.learnt.setting * factor))),
    ]
    drawing = line_chart(series, x_words="coats in order of time", y_words="%" if factor == 100 else "m²/h")
    return HttpResponse(
        svg(drawing, title=wanted.label, description="The figures stand in the table of coats."), content_type=SVG_TYPE
    )


def _dots(figure: Figure, factor: float) -> list[Series]:
    """Every coat as a point, outliers hollow."""
    placed = [
        (float(place), value * factor, point.step.pk in figure.outliers)
        for place, (point, value) in enumerate(zip(figure.points, figure.values, strict=True), start=1)
    ]
    both = (("each coat", False), ("outlier, left out", True))
    return [
        Series(words=words, points=tuple((x, y) for x, y, far in placed if far is is_far), dots=True, hollow=is_far)
        for words, is_far in both
        if any(far is is_far for _, _, far in placed)
    ]


def _nothing() -> Drawing:
    return line_chart([Series(words="no coat yet", points=((0.0, 0.0), (1.0, 0.0)))], x_words="", y_words="")


@require_POST
@permission_required(CHANGE, raise_exception=True)
def setup_learnt(request: HttpRequest, pk: int) -> HttpResponse:
    """Adopt or refuse a learnt figure."""
    setup = get_object_or_404(SpraySetup, pk=pk)
    back = redirect("setup_learning", pk=setup.pk)
    try:
        key, shown = UUID(request.POST.get("key", "")), Decimal(request.POST.get("shown", ""))
        kind, fate = LearntKind(request.POST.get("kind", "")), LearntFate(request.POST.get("fate", ""))
    except (ValueError, InvalidOperation):
        messages.error(request, "This form is out of date. Look at the figures and decide again; nothing was changed.")
        return back
    try:
        made = decide(key=key, by=cast(User, request.user), setup=setup, kind=kind, fate=fate, shown=shown)
    except (WorkError, StockError) as error:
        messages.error(request, str(error))
        return back
    if made.fate == LearntFate.ADOPTED:
        messages.success(request, f"{setup} reckons with {words_of(made.value, kind)} from now on. Sent quotes stay as they are.")
    else:
        messages.success(request, f"Left at {words_of(made.before, kind)}. The figure stays here as more coats are logged.")
    return back
