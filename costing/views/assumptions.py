"""The assumptions of an estimate: seen beside the shop's own, changed for this job alone, and put back."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from costing.forms.assumptions import AssumptionsForm
from costing.models import Estimate
from costing.services.assumptions import assumptions_of, set_assumptions
from costing.services.inputs import load_inputs


@permission_required("costing.estimate", raise_exception=True)
def estimate_assumptions(request: HttpRequest, pk: int) -> HttpResponse:
    """One field for each assumption of the estimate's systems; an empty one leaves the shop's figure."""
    found = get_object_or_404(Estimate.objects.select_related("customer"), pk=pk)
    chosen = found.options.order_by("position", "pk").values_list("system_id", flat=True)
    inputs = load_inputs(found, chosen, shop=None, on=timezone.localdate())
    listed = assumptions_of(inputs, inputs.systems)
    if request.method == "POST" and "put_back" in request.POST:
        set_assumptions(estimate=found, listed=(), values={})
        messages.success(request, "Every assumption is as the shop has it.")
        return redirect("estimate_assumptions", pk)
    form = AssumptionsForm(request.POST if request.method == "POST" else None, listed=listed)
    if form.is_bound and form.is_valid():
        count = set_assumptions(estimate=found, listed=listed, values=form.values())
        words = "Every assumption is as the shop has it." if not count else f"{count} assumptions hold for this job alone."
        messages.success(request, "1 assumption holds for this job alone." if count == 1 else words)
        return redirect(found)
    context = {
        "estimate": found,
        "form": form,
        "has_own": bool(inputs.own),
        "crumbs": [("Estimates", reverse("estimates")), (f"{found.number} {found.name}", found.get_absolute_url())],
    }
    return render(request, "costing/pricing/assumptions.html", context, status=422 if form.errors else 200)
