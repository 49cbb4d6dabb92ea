"""What the list of quotes can be narrowed by."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

import django_filters
from django import forms
from django.db.models import Q, QuerySet
from django.utils import timezone

from costing.choices import QuoteStatus
from costing.models import Customer, Quote

_OPEN = (QuoteStatus.DRAFT, QuoteStatus.SENT)
STATES: Mapping[str, tuple[str, Callable[[date], Q]]] = {
    "draft": ("Draft", lambda today: Q(status=QuoteStatus.DRAFT, valid_until__gte=today)),
    "sent": ("Awaiting an answer", lambda today: Q(status=QuoteStatus.SENT, valid_until__gte=today)),
    "lapsed": ("Lapsed", lambda today: Q(status__in=_OPEN, valid_until__lt=today)),
    "accepted": ("Accepted", lambda _: Q(status=QuoteStatus.ACCEPTED)),
    "declined": ("Declined", lambda _: Q(status=QuoteStatus.DECLINED)),
    "replaced": ("Replaced by a revision", lambda _: Q(status=QuoteStatus.REPLACED)),
}
"""The states of an offer as people speak of them; lapsed follows from the day."""


class QuoteFilter(django_filters.FilterSet):
    """Quotes by words, state and customer."""

    words = django_filters.CharFilter(
        label="Find a number, title or customer",
        method="find",
        max_length=100,
        strip=True,
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
    )
    state = django_filters.ChoiceFilter(
        label="State", method="by_state", empty_label="Any", choices=[(key, words) for key, (words, _) in STATES.items()]
    )
    customer = django_filters.ModelChoiceFilter(queryset=Customer.objects.all(), label="Customer", empty_label="Everybody")

    class Meta:
        model = Quote
        fields = ["customer"]

    def find(self, queryset: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:  # noqa: ARG002
        """By title, by customer, or by number: Q-0007 and 7 both find the seventh."""
        found = Q(title__icontains=value) | Q(customer__name__icontains=value)
        digits = value.upper().removeprefix("Q").lstrip("-").lstrip("0")
        if digits.isascii() and digits.isdigit() and len(digits) <= 9:
            found |= Q(number=int(digits))
        return queryset.filter(found)

    def by_state(self, queryset: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:  # noqa: ARG002
        """As the choices say, today."""
        return queryset.filter(STATES[value][1](timezone.localdate()))
