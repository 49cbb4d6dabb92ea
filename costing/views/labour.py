"""Labour classes."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_safe

from costing.forms.labour import LabourClassForm
from costing.models import LabourClass
from costing.tables.catalogue import LabourTable, LabourTableToRead
from costing.views.common import FirstStep, form_page, list_page

CHANGE = "costing.change_systems"


@require_safe
@permission_required("costing.see_costs", raise_exception=True)
def labour_classes(request: HttpRequest) -> HttpResponse:
    """All labour classes with wage, burden and loaded rate."""
    may_change = request.user.has_perm(CHANGE)
    table = LabourTable if may_change else LabourTableToRead
    return list_page(
        request,
        title="Labour classes",
        lead="A kind of work and what an hour of it costs: the wage, and what comes on top of it.",
        table=table(LabourClass.objects.all()),
        first=FirstStep(
            title="No labour class yet",
            text="Enter at least one, for example “Finisher”, with the wage per hour. Every operation of a system names one.",
            link_words="New labour class",
            url=reverse("labour_class_new") if may_change else "",
        ),
    )


@permission_required(CHANGE, raise_exception=True)
def labour_class_new(request: HttpRequest) -> HttpResponse:
    """Enter a labour class."""
    form = LabourClassForm(request.POST or None)
    return _save(request, form, title="New labour class")


@permission_required(CHANGE, raise_exception=True)
def labour_class_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a labour class."""
    found = get_object_or_404(LabourClass, pk=pk)
    title = f"Edit {found.name}"
    return _save(request, LabourClassForm(request.POST or None, instance=found), title=title)


def _save(request: HttpRequest, form: LabourClassForm, *, title: str) -> HttpResponse:
    here = reverse("labour_classes")
    if request.method == "POST" and form.is_valid():
        made = form.save()
        messages.success(request, f"{made.name} is saved.")
        return redirect(here)
    return form_page(request, form, title=title, crumbs=[("Labour classes", here)], back=here)
