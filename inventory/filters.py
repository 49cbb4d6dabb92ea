"""What narrows the lists of the inventory. The address holds the filter, so that it can be kept and shared."""

from __future__ import annotations

from datetime import date
from typing import Any

import django_filters as filters
from django import forms
from django.db.models import Q, QuerySet

from finishing.models import Shop
from inventory.choices import LocationKind, MaterialKind, PostingKind
from inventory.forms.fields import day_box
from inventory.lot_states import LotState, in_state, open_lives
from inventory.models import Location, Lot, Material, Posting, Supplier

IN_USE = (("yes", "In use"), ("no", "Not in use"), ("all", "All"))
STOCK = (("yes", "In stock"), ("no", "Used up"), ("all", "All"))


def _search_box() -> forms.TextInput:
    return forms.TextInput(attrs={"type": "search", "autocomplete": "off"})


class DefaultsFilterSet(filters.FilterSet):
    """A filter whose choices without a word of the person have a default: ``DEFAULTS`` by field name."""

    DEFAULTS: dict[str, str] = {}

    def filter_queryset(self, queryset: QuerySet[Any]) -> QuerySet[Any]:
        """Fill in what nobody chose; the select boxes show the default first."""
        for name, default in self.DEFAULTS.items():
            self.form.cleaned_data[name] = self.form.cleaned_data.get(name) or default
        narrowed: QuerySet[Any] = super().filter_queryset(queryset)
        return narrowed


def _by_use(queryset: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
    return queryset if value == "all" else queryset.filter(**{name: value == "yes"})


class MaterialFilter(DefaultsFilterSet):
    """Materials by name, kind and use."""

    DEFAULTS = {"is_active": "yes"}

    text = filters.CharFilter(method="by_text", label="Name or code", widget=_search_box())
    kind = filters.ChoiceFilter(choices=MaterialKind.choices, empty_label="Every kind")
    is_active = filters.ChoiceFilter(choices=IN_USE, method=_by_use, label="Use", empty_label=None)

    class Meta:
        model = Material
        fields: list[str] = []

    def by_text(self, queryset: QuerySet[Material], name: str, value: str) -> QuerySet[Material]:  # noqa: ARG002
        """Part of the name, the code or the note."""
        return queryset.filter(Q(name__icontains=value) | Q(code__icontains=value) | Q(note__icontains=value))


class SupplierFilter(DefaultsFilterSet):
    """Suppliers by name and use."""

    DEFAULTS = {"is_active": "yes"}

    text = filters.CharFilter(field_name="name", lookup_expr="icontains", label="Name", widget=_search_box())
    is_active = filters.ChoiceFilter(choices=IN_USE, method=_by_use, label="Use", empty_label=None)

    class Meta:
        model = Supplier
        fields: list[str] = []


class LocationFilter(DefaultsFilterSet):
    """Places by name, kind and use."""

    DEFAULTS = {"is_active": "yes"}

    text = filters.CharFilter(field_name="name", lookup_expr="icontains", label="Name", widget=_search_box())
    kind = filters.ChoiceFilter(choices=LocationKind.choices, empty_label="Every kind")
    is_active = filters.ChoiceFilter(choices=IN_USE, method=_by_use, label="Use", empty_label=None)

    class Meta:
        model = Location
        fields: list[str] = []


class LotFilter(DefaultsFilterSet):
    """Lots by number, material, state, place and stock."""

    DEFAULTS = {"stock": "yes"}

    text = filters.CharFilter(method="by_text", label="Lot, material or place", widget=_search_box())
    material = filters.ModelChoiceFilter(queryset=Material.objects.all(), empty_label="Every material")
    location = filters.ModelChoiceFilter(queryset=Location.objects.all(), empty_label="Every place", label="Place")
    state = filters.ChoiceFilter(choices=LotState.choices, method="by_state", label="State", empty_label="Every state")
    stock = filters.ChoiceFilter(choices=STOCK, method="by_stock", label="Stock", empty_label=None)

    class Meta:
        model = Lot
        fields: list[str] = []

    def __init__(self, *args: Any, on: date, shop: Shop, **kwargs: Any) -> None:
        self.on, self.shop = on, shop
        super().__init__(*args, **kwargs)

    def by_text(self, queryset: QuerySet[Lot], name: str, value: str) -> QuerySet[Lot]:  # noqa: ARG002
        """Part of the lot number, of the material's name or of the place."""
        return queryset.filter(
            Q(number__icontains=value) | Q(material__name__icontains=value) | Q(location__name__icontains=value)
        )

    def by_state(self, queryset: QuerySet[Lot], name: str, value: str) -> QuerySet[Lot]:  # noqa: ARG002
        """The state on the day of the list."""
        return queryset.filter(in_state(value, on=self.on, window=self.shop.expiring_days, lives=open_lives()))

    def by_stock(self, queryset: QuerySet[Lot], name: str, value: str) -> QuerySet[Lot]:  # noqa: ARG002
        """With something left, or used up."""
        return queryset if value == "all" else queryset.filter(**{"on_hand__gt" if value == "yes" else "on_hand": 0})


class PostingFilter(filters.FilterSet):
    """Postings by kind, reference and days."""

    text = filters.CharFilter(method="by_text", label="Reference, lot or material", widget=_search_box())
    kind = filters.ChoiceFilter(choices=PostingKind.choices, empty_label="Every kind")
    since = filters.DateFilter(field_name="on", lookup_expr="gte", label="From", widget=day_box())
    until = filters.DateFilter(field_name="on", lookup_expr="lte", label="To", widget=day_box())

    class Meta:
        model = Posting
        fields: list[str] = []

    def by_text(self, queryset: QuerySet[Posting], name: str, value: str) -> QuerySet[Posting]:  # noqa: ARG002
        """Part of the reference, of a lot number or of a material's name."""
        moved = Lot.objects.filter(Q(number__icontains=value) | Q(material__name__icontains=value))
        return queryset.filter(Q(reference__icontains=value) | Q(movements__lot__in=moved)).distinct()
