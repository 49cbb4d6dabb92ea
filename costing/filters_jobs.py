"""What the list of jobs can be narrowed by."""

from __future__ import annotations

from typing import Any

import django_filters
from django import forms
from django.db.models import Q, QuerySet

from costing.choices import JobStatus
from costing.models import Job
from costing.models.jobs import OPEN_STATUSES

OPEN = "open"


class JobFilter(django_filters.FilterSet):
    """Jobs by words, status and first day."""

    words = django_filters.CharFilter(
        label="Find a number, title or customer",
        method="find",
        max_length=100,
        strip=True,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
    )
    status = django_filters.ChoiceFilter(
        label="Status", method="by_status", empty_label="Any", choices=[(OPEN, "Booked or in work"), *JobStatus.choices]
    )
    before = django_filters.DateFilter(
        field_name="starts_on",
        lookup_expr="lte",
        label="Starts by",
        widget=forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"}),
    )

    class Meta:
        model = Job
        fields: list[str] = []

    def find(self, queryset: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:  # noqa: ARG002
        """By title, by customer, or by number: J-0003 and 3 both find the third."""
        found = Q(title__icontains=value) | Q(customer_name__icontains=value)
        digits = value.upper().removeprefix("J").lstrip("-").lstrip("0")
        if digits.isascii() and digits.isdigit() and len(digits) <= 9:
            found |= Q(pk=int(digits))
        return queryset.filter(found)

    def by_status(self, queryset: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:  # noqa: ARG002
        """One status, or all that still have work to do."""
        return queryset.filter(status__in=OPEN_STATUSES) if value == OPEN else queryset.filter(status=value)
