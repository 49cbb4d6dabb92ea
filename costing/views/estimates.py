"""Estimates: the list, and the form that begins or changes one. The page of an estimate stands with its prices."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_safe

from costing.filters import EstimateFilter
from costing.forms.estimates import EstimateForm, NewEstimateForm
from costing.models import Estimate
from costing.services.estimates import change_estimate, create_estimate
from costing.tables.takeoff import EstimateTable
from costing.views.common import FirstStep, form_page, list_page

ESTIMATE = "costing.estimate"


@require_safe
@permission_required("costing.see_costs", raise_exception=True)
def estimates(request: HttpRequest) -> HttpResponse:
    """All estimates, newest first."""
    counted = Estimate.objects.select_related("customer").annotate(
        row_count=Count("rows", distinct=True), system_count=Count("options", distinct=True)
    )
    narrowed = EstimateFilter(request.GET, queryset=counted)
    return list_page(
        request,
        title="Estimates",
        lead="Jobs to be priced: a takeoff under one or more coating systems.",
        table=EstimateTable(narrowed.qs, empty_text="No estimate fits. Show all, or begin a new one."),
        narrowed=narrowed,
        first=FirstStep(
            title="No estimate yet",
            text="Begin with what is to be finished, then type, paste or upload the cut list.",
            link_words="New estimate",
            url=reverse("estimate_new") if request.user.has_perm(ESTIMATE) else "",
        ),
    )


@permission_required(ESTIMATE, raise_exception=True)
def estimate_new(request: HttpRequest) -> HttpResponse:
    """Begin an estimate; the takeoff comes next."""
    form = NewEstimateForm(request.POST or None, initial=_asked_for(request))
    if request.method == "POST" and form.is_valid():
        made = create_estimate(
            form.save(commit=False),
            new_customer=form.cleaned_data["new_customer"],
            systems=form.systems,
            by=request.user,  # type: ignore[arg-type]  # somebody who is signed in
            key=form.cleaned_data["key"],
        )
        messages.success(request, f"{made.number} is begun. Now the takeoff: type the pieces, paste them or upload a file.")
        return redirect("takeoff", made.pk)
    return form_page(
        request,
        form,
        title="New estimate",
        crumbs=[("Estimates", reverse("estimates"))],
        back=reverse("estimates"),
        save_words="Save and go on to the takeoff",
    )


def _asked_for(request: HttpRequest) -> dict[str, Any]:
    """The customer from whose page the estimate is begun."""
    customer = request.GET.get("customer", "")
    return {"customer": int(customer)} if customer.isascii() and customer.isdigit() and len(customer) < 10 else {}


@permission_required(ESTIMATE, raise_exception=True)
def estimate_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the words, the customer, the systems or the margin of an estimate."""
    found = get_object_or_404(Estimate, pk=pk)
    number, back = found.number, found.get_absolute_url()
    form = EstimateForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        change_estimate(form.save(commit=False), new_customer=form.cleaned_data["new_customer"], systems=form.systems)
        messages.success(request, f"{number} is saved.")
        return redirect(found)
    crumbs = [("Estimates", reverse("estimates")), (number, back)]
    return form_page(request, form, title=f"Edit {number}", crumbs=crumbs, back=back)
