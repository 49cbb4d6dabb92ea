"""What narrows the list of counts."""

from __future__ import annotations

import django_filters as filters

from inventory.choices import CountStatus
from inventory.models import Location, StockCount


class CountFilter(filters.FilterSet):
    """Counts by state and place."""

    status = filters.ChoiceFilter(choices=CountStatus.choices, label="State", empty_label="All")
    location = filters.ModelChoiceFilter(queryset=Location.objects.all(), label="Place", empty_label="Every place")

    class Meta:
        model = StockCount
        fields: list[str] = []
