"""What narrows the list of purchase orders."""

from __future__ import annotations

from typing import Any

import django_filters as filters
from django.db.models import Q, QuerySet

from inventory.choices import OrderStatus
from inventory.filters import DefaultsFilterSet
from inventory.models import PurchaseOrder, Supplier
from inventory.selectors_orders import OPEN

NOT_OVER = ("open", "Not over yet")
AWAITED = ("awaited", "Awaited: sent or partly received")
OVERDUE = ("overdue", "Overdue")
ALL = ("all", "All")


class OrderFilter(DefaultsFilterSet):
    """Orders by number, supplier and state."""

    DEFAULTS = {"state": "open"}

    text = filters.CharFilter(method="by_text", label="Number or material")
    supplier = filters.ModelChoiceFilter(queryset=Supplier.objects.all(), empty_label="Every supplier")
    state = filters.ChoiceFilter(
        choices=[NOT_OVER, AWAITED, OVERDUE, *OrderStatus.choices, ALL], method="by_state", label="State", empty_label=None
    )

    class Meta:
        model = PurchaseOrder
        fields: list[str] = []

    def __init__(self, *args: Any, on: Any, **kwargs: Any) -> None:
        self.on = on
        super().__init__(*args, **kwargs)

    def by_text(self, queryset: QuerySet[PurchaseOrder], name: str, value: str) -> QuerySet[PurchaseOrder]:  # noqa: ARG002
        """The number with or without P-, or a part of a material's name."""
        plain = value.strip().lower().removeprefix("p-").lstrip("0")
        number = Q(number=int(plain)) if plain.isascii() and plain.isdecimal() and len(plain) < 10 else Q(pk__in=[])
        holding = PurchaseOrder.objects.filter(lines__material__name__icontains=value)
        return queryset.filter(number | Q(pk__in=holding.values("pk")))

    def by_state(self, queryset: QuerySet[PurchaseOrder], name: str, value: str) -> QuerySet[PurchaseOrder]:  # noqa: ARG002
        """One state, or several that belong together."""
        if value == "all":
            return queryset
        if value == "open":
            return queryset.filter(status__in=[OrderStatus.DRAFT, *OPEN])
        if value == "awaited":
            return queryset.filter(status__in=OPEN)
        if value == "overdue":
            return queryset.filter(status__in=OPEN, promised_on__lt=self.on)
        return queryset.filter(status=value)
