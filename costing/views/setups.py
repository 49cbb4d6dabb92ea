"""Spray setups."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from costing.forms.setups import SpraySetupForm
from costing.models import CoatingSystem, SpraySetup
from costing.tables.catalogue import SetupTable
from costing.views.common import FirstStep, form_page, list_page

CHANGE = "costing.change_systems"


@require_safe
@permission_required("costing.view", raise_exception=True)
def setups(request: HttpRequest) -> HttpResponse:
    """All spray setups."""
    return list_page(
        request,
        title="Spray setups",
        lead="A gun, its air supply, tip and cup as used together. Coats take their losses and speed from here.",
        table=SetupTable(SpraySetup.objects.all()),
        first=FirstStep(
            title="No spray setup yet",
            text="Describe the gun you spray with most: how much lands on the work, what its cup holds, how fast it goes.",
            link_words="New spray setup",
            url=reverse("setup_new") if request.user.has_perm(CHANGE) else "",
        ),
    )


@require_safe
@permission_required("costing.view", raise_exception=True)
def setup(request: HttpRequest, pk: int) -> HttpResponse:
    """One spray setup, with the systems that use it and the cautions of spraying."""
    found = get_object_or_404(SpraySetup, pk=pk)
    systems = CoatingSystem.objects.filter(operations__setup=found).annotate(coats=Count("operations")).order_by("name")
    return render(
        request,
        "costing/setups/setup.html",
        {"setup": found, "systems": systems, "crumbs": [("Spray setups", reverse("setups"))]},
    )


@permission_required(CHANGE, raise_exception=True)
def setup_new(request: HttpRequest) -> HttpResponse:
    """Describe a new setup."""
    form = SpraySetupForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = form.save()
        messages.success(request, f"{made.name} is saved.")
        return redirect(made)
    crumbs = [("Spray setups", reverse("setups"))]
    return form_page(request, form, title="New spray setup", crumbs=crumbs, back=reverse("setups"))


@permission_required(CHANGE, raise_exception=True)
def setup_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a setup. Jobs keep what they were planned with."""
    found = get_object_or_404(SpraySetup, pk=pk)
    name, back = found.name, found.get_absolute_url()
    form = SpraySetupForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, f"{found.name} is saved. Estimates are priced with it from now on.")
        return redirect(found)
    crumbs = [("Spray setups", reverse("setups")), (name, back)]
    return form_page(request, form, title=f"Edit {name}", crumbs=crumbs, back=back)
