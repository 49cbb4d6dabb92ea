"""What the lists of the costing pages can be narrowed by."""

from __future__ import annotations

from typing import Any

import django_filters
from django import forms
from django.db.models import Q, QuerySet

from costing.models import CoatingSystem, Customer, Estimate

_BOX = {"autocomplete": "off"}


def _find_box(label: str) -> django_filters.CharFilter:
    return django_filters.CharFilter(
        label=label, method="find", max_length=100, strip=True, widget=forms.TextInput(attrs={**_BOX, "type": "search"})
    )


class SystemFilter(django_filters.FilterSet):
    """Coating systems by words."""

    words = _find_box("Find")

    class Meta:
        model = CoatingSystem
        fields: list[str] = []

    def find(self, queryset: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:  # noqa: ARG002
        """By name or by the words for the customer."""
        return queryset.filter(Q(name__icontains=value) | Q(customer_text__icontains=value))


class CustomerFilter(django_filters.FilterSet):
    """Customers by words."""

    words = _find_box("Find")

    class Meta:
        model = Customer
        fields: list[str] = []

    def find(self, queryset: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:  # noqa: ARG002
        """By name, contact, address of any kind."""
        return queryset.filter(
            Q(name__icontains=value)
            | Q(contact__icontains=value)
            | Q(email__icontains=value)
            | Q(phone__icontains=value)
            | Q(address__icontains=value)
        )


class EstimateFilter(django_filters.FilterSet):
    """Estimates by words and by customer."""

    words = _find_box("Find a name or number")
    customer = django_filters.ModelChoiceFilter(queryset=Customer.objects.all(), label="Customer", empty_label="Everybody")

    class Meta:
        model = Estimate
        fields = ["customer"]

    def find(self, queryset: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:  # noqa: ARG002
        """By name, by customer, or by number: E-0012 and 12 both find the twelfth."""
        found = Q(name__icontains=value) | Q(customer__name__icontains=value)
        digits = value.upper().removeprefix("E").lstrip("-").lstrip("0")
        if digits.isascii() and digits.isdigit() and len(digits) <= 9:
            found |= Q(pk=int(digits))
        return queryset.filter(found)
