"""Coating systems."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from costing.choices import OperationKind
from costing.filters import SystemFilter
from costing.forms.systems import CopySystemForm, SystemForm
from costing.models import CoatingSystem
from costing.services.process_sheet import process_sheet
from costing.services.systems import copy_system
from costing.tables.catalogue import SystemTable
from costing.views.common import FirstStep, form_page, list_page

CHANGE = "costing.change_systems"


@require_safe
@permission_required("costing.view", raise_exception=True)
def systems(request: HttpRequest) -> HttpResponse:
    """All coating systems."""
    counted = CoatingSystem.objects.annotate(
        operation_count=Count("operations"), coat_count=Count("operations", filter=Q(operations__kind=OperationKind.COAT))
    )
    narrowed = SystemFilter(request.GET, queryset=counted)
    return list_page(
        request,
        title="Coating systems",
        lead="The ordered operations that make a finish: preparation, coats, abrading, drying.",
        table=SystemTable(narrowed.qs, empty_text="No system fits. Show all, or write a new one."),
        narrowed=narrowed,
        first=FirstStep(
            title="No coating system yet",
            text="Write down how you make your usual finish, operation by operation. "
            "You need a spray setup, a labour class and the materials first.",
            link_words="New coating system",
            url=reverse("system_new") if request.user.has_perm(CHANGE) else "",
        ),
    )


@require_safe
@permission_required("costing.view", raise_exception=True)
def system(request: HttpRequest, pk: int) -> HttpResponse:
    """One system as a process sheet, with the cautions that its materials call for."""
    found = get_object_or_404(CoatingSystem, pk=pk)
    context = {"system": found, "sheet": process_sheet(found), "crumbs": [("Coating systems", reverse("systems"))]}
    return render(request, "costing/systems/system.html", context)


@permission_required(CHANGE, raise_exception=True)
def system_new(request: HttpRequest) -> HttpResponse:
    """Begin a system; its operations come next."""
    form = SystemForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = form.save()
        messages.success(request, f"{made.name} is saved. Add its operations in the order in which they are done.")
        return redirect(made)
    return form_page(
        request,
        form,
        title="New coating system",
        crumbs=[("Coating systems", reverse("systems"))],
        back=reverse("systems"),
        save_words="Save and go on to its operations",
    )


@permission_required(CHANGE, raise_exception=True)
def system_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change the name and words of a system."""
    found = get_object_or_404(CoatingSystem, pk=pk)
    name, back = found.name, found.get_absolute_url()
    form = SystemForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, f"{found.name} is saved.")
        return redirect(found)
    crumbs = [("Coating systems", reverse("systems")), (name, back)]
    return form_page(request, form, title=f"Edit {name}", crumbs=crumbs, back=back)


@permission_required(CHANGE, raise_exception=True)
def system_copy(request: HttpRequest, pk: int) -> HttpResponse:
    """Begin a new system from another one."""
    found = get_object_or_404(CoatingSystem, pk=pk)
    form = CopySystemForm(request.POST or None, initial={"name": f"{found.name[:90]} (copy)"})
    if request.method == "POST" and form.is_valid():
        made = copy_system(found, name=form.cleaned_data["name"])
        messages.success(request, f"{made.name} is a copy of {found.name}. Change what differs.")
        return redirect(made)
    return form_page(
        request,
        form,
        title=f"Copy {found.name}",
        lead="The copy has the same operations, mixes and lines. The original stays as it is.",
        crumbs=[("Coating systems", reverse("systems")), (found.name, found.get_absolute_url())],
        back=found.get_absolute_url(),
        save_words="Make the copy",
    )
