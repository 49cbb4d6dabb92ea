"""Customers."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth.decorators import permission_required
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_safe

from costing.filters import CustomerFilter
from costing.forms.customers import CustomerForm, NewCustomerForm
from costing.models import Customer
from costing.services.once import create_once
from costing.tables.catalogue import CustomerTable
from costing.views.common import FirstStep, form_page, list_page

QUOTE = "costing.quote"


@require_safe
@permission_required(QUOTE, raise_exception=True)
def customers(request: HttpRequest) -> HttpResponse:
    """All customers."""
    narrowed = CustomerFilter(request.GET, queryset=Customer.objects.annotate(estimate_count=Count("estimates")))
    return list_page(
        request,
        title="Customers",
        lead="Who the shop works for. Name and address are printed on their quotes.",
        table=CustomerTable(narrowed.qs, empty_text="No customer fits. Show all, or enter a new one."),
        narrowed=narrowed,
        first=FirstStep(
            title="No customer yet",
            text="Enter one here, or give the name when you begin an estimate.",
            link_words="New customer",
            url=reverse("customer_new"),
        ),
    )


@require_safe
@permission_required(QUOTE, raise_exception=True)
def customer(request: HttpRequest, pk: int) -> HttpResponse:
    """One customer with estimates and quotes."""
    found = get_object_or_404(Customer, pk=pk)
    context = {
        "customer": found,
        "estimates": found.estimates.all()[:20],
        "quotes": found.quotes.all()[:20],
        "crumbs": [("Customers", reverse("customers"))],
    }
    return render(request, "costing/customers/customer.html", context)


@permission_required(QUOTE, raise_exception=True)
def customer_new(request: HttpRequest) -> HttpResponse:
    """Enter a customer."""
    form = NewCustomerForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = create_once(form.save(commit=False), key=form.cleaned_data["key"])
        messages.success(request, f"{made.name} is saved.")
        return redirect(made)
    crumbs = [("Customers", reverse("customers"))]
    return form_page(request, form, title="New customer", crumbs=crumbs, back=reverse("customers"))


@permission_required(QUOTE, raise_exception=True)
def customer_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a customer. Quotes that are written keep the words they were written with."""
    found = get_object_or_404(Customer, pk=pk)
    name, back = found.name, found.get_absolute_url()
    form = CustomerForm(request.POST or None, instance=found)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, f"{found.name} is saved. Quotes written before keep the old words.")
        return redirect(found)
    crumbs = [("Customers", reverse("customers")), (name, back)]
    return form_page(request, form, title=f"Edit {name}", crumbs=crumbs, back=back)
