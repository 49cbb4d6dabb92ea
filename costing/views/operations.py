"""The operations of a coating system."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from costing.forms.operation_rows import OperationPage
from costing.models import CoatingSystem, Operation
from costing.services.systems import delete_operation, move_operation
from costing.views.common import Crumbs, form_page

CHANGE = "costing.change_systems"


@permission_required(CHANGE, raise_exception=True)
def operation_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Add an operation at the end of a system."""
    system = get_object_or_404(CoatingSystem, pk=pk)
    page = OperationPage(request.POST if request.method == "POST" else None, system=system)
    if request.method == "POST" and page.is_valid():
        made = page.save()
        messages.success(request, f"{made.name} is added to {system.name}.")
        return redirect(_place(made))
    return _show(request, page, system, title="New operation")


@permission_required(CHANGE, raise_exception=True)
def operation_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change an operation with its mix and lines."""
    operation = get_object_or_404(Operation.objects.select_related("system"), pk=pk)
    system, name = operation.system, operation.name
    page = OperationPage(request.POST if request.method == "POST" else None, system=system, operation=operation)
    if request.method == "POST" and page.is_valid():
        saved = page.save()
        messages.success(request, f"{saved.name} is saved. Estimates are priced with it from now on.")
        return redirect(_place(saved))
    return _show(request, page, system, title=f"Edit {name}")


@require_POST
@permission_required(CHANGE, raise_exception=True)
def operation_move(request: HttpRequest, pk: int) -> HttpResponse:
    """Move an operation one place up or down."""
    operation = get_object_or_404(Operation, pk=pk)
    move_operation(operation, up=request.POST.get("to") == "up")
    return redirect(_place(operation))


@permission_required(CHANGE, raise_exception=True)
def operation_delete(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask, then remove an operation."""
    operation = get_object_or_404(Operation.objects.select_related("system"), pk=pk)
    if request.method == "POST":
        delete_operation(operation)
        messages.success(request, f"{operation.name} is removed from {operation.system.name}.")
        return redirect(operation.system)
    return render(
        request,
        "costing/systems/operation_delete.html",
        {"operation": operation, "system": operation.system, "crumbs": _crumbs(operation.system)},
    )


def _crumbs(system: CoatingSystem) -> Crumbs:
    return [("Coating systems", reverse("systems")), (system.name, system.get_absolute_url())]


def _place(operation: Operation) -> str:
    """The operation on its system's page."""
    return reverse("system", args=[operation.system_id], fragment=f"operation-{operation.pk}")


def _show(request: HttpRequest, page: OperationPage, system: CoatingSystem, *, title: str) -> HttpResponse:
    return form_page(
        request,
        page,
        title=title,
        lead=f"Part of {system.name}.",
        crumbs=_crumbs(system),
        back=system.get_absolute_url(),
        template="costing/systems/operation.html",
        page=page,
    )
