"""A takeoff row from a kind of piece: its factors are worked out from its sizes and explained with a drawing."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from costing.core.errors import CostingError
from costing.core.pieces import SIZES, Template, work_out
from costing.forms.pieces import TEMPLATE_WORDS, PieceForm
from costing.models import Estimate
from costing.services.takeoff import TakeoffError, put_rows
from costing.views.workings import shown_workings

ESTIMATE = "costing.estimate"


def _template(text: str) -> Template:
    try:
        return Template(text)
    except ValueError:
        raise Http404 from None


@permission_required(ESTIMATE, raise_exception=True)
def takeoff_piece(request: HttpRequest, pk: int) -> HttpResponse:
    """Choose a kind, type its sizes, see what they come to, and add the row."""
    estimate = get_object_or_404(Estimate, pk=pk)
    asked = request.POST if request.method == "POST" else request.GET
    template = _template(asked.get("template", Template.SHAKER_DOOR.value))
    if request.method == "POST":
        form = PieceForm(request.POST, template=template)
        if form.is_valid() and "add" in request.POST and _added(estimate, form):
            messages.success(request, f"{form.cleaned_data['label']} is added to the takeoff.")
            return redirect("takeoff", estimate.pk)
    else:
        form = PieceForm(template=template, initial={"seen": estimate.takeoff_key})
    return render(request, "costing/takeoff/piece.html", _context(estimate, form), status=422 if form.errors else 200)


def _added(estimate: Estimate, form: PieceForm) -> bool:
    """Whether the row was put at the end of the takeoff; what keeps it from that stands at the form."""
    count = estimate.rows.count()
    given = form.cleaned_data
    try:
        put_rows(estimate=estimate, rows=[form.row()], start=count, stop=count, key=given["key"], seen=given["seen"])
    except TakeoffError as error:
        form.add_error(None, str(error))
        return False
    return True


def _context(estimate: Estimate, form: PieceForm) -> dict[str, Any]:
    """The form, and what the sizes come to: the typed ones, or the usual ones of a form that was just opened."""
    piece = getattr(form, "piece", None)
    if not form.is_bound:
        piece = work_out(form.template, {size.key: size.usual for size in SIZES[form.template]})
    return {
        "estimate": estimate,
        "form": form,
        "template": form.template.value,
        "templates": [(kind.value, words) for kind, words in TEMPLATE_WORDS.items()],
        "title": TEMPLATE_WORDS[form.template],
        "piece": piece,
        "workings": shown_workings(piece.workings) if piece else [],
        "query": "&".join(f"{key}={value:g}" for key, value in piece.sizes.items()) if piece else "",
        "crumbs": [
            ("Estimates", reverse("estimates")),
            (f"{estimate.number} {estimate.name}", estimate.get_absolute_url()),
            ("Takeoff", reverse("takeoff", args=[estimate.pk])),
        ],
    }


@require_safe
@permission_required(ESTIMATE, raise_exception=True)
def piece_drawing(request: HttpRequest, template: str) -> HttpResponse:
    """The drawing of a kind of piece, in the proportions that the address asks for."""
    from costing.piece_drawing import piece_drawing as draw
    from finishing.charts import SVG_TYPE, svg

    kind = _template(template)
    sizes = {size.key: _number(request.GET.get(size.key, ""), size.usual) for size in SIZES[kind]}
    try:
        piece = work_out(kind, sizes)
    except CostingError:
        raise Http404 from None
    image = svg(draw(piece), title=f"{TEMPLATE_WORDS[kind]} with the letters of its sizes")
    return HttpResponse(image, content_type=SVG_TYPE)


def _number(text: str, usual: float) -> float:
    try:
        return float(text) if text and len(text) < 20 else usual
    except ValueError:
        return usual
