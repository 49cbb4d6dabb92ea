"""The form of a defect."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone

from costing.choices import DefectCause, DefectKind
from costing.forms.material_rows import CLOCK_SLACK, LOCAL_TIME
from finishing import show
from finishing.forms import KeyedForm, MeasureField
from finishing.units import Kind


class DefectForm(KeyedForm):
    """What is wrong, why, on how much of the coat."""

    kind = forms.ChoiceField(label="What is wrong", choices=DefectKind, widget=forms.RadioSelect)
    cause = forms.ChoiceField(label="Why, as far as you know", choices=DefectCause)
    found_at = forms.DateTimeField(
        label="Found at",
        widget=forms.DateTimeInput(format=LOCAL_TIME, attrs={"type": "datetime-local"}),
        input_formats=[LOCAL_TIME, "%Y-%m-%dT%H:%M:%S"],
    )
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(self, data: Mapping[str, Any] | None = None, *, now: datetime) -> None:
        self.now = now
        super().__init__(data, initial={"found_at": timezone.localtime(now).replace(second=0, microsecond=0)})
        self.fields["area"] = MeasureField(
            kind=Kind.AREA,
            system=show.preferences().units,
            label="Area that shows it",
            required=False,
            above=Decimal(0),
            maximum=Decimal(10_000),
        )
        self.order_fields(["kind", "cause", "area", "found_at", "note"])

    def clean_found_at(self) -> datetime:
        """A defect is noted after it was found."""
        found_at: datetime = self.cleaned_data["found_at"]
        if found_at > self.now + CLOCK_SLACK:
            raise forms.ValidationError("This is in the future. Give the time at which it was found.")
        return min(found_at, self.now)
