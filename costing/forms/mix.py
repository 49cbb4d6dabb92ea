"""The forms of a batch: how much to make a ticket for, mixing it, and what becomes of its rest."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone

from costing.choices import RestCause, RestFate
from costing.forms.booth import DeviceClock, MomentField
from costing.forms.material_rows import CLOCK_SLACK, LOCAL_TIME, MaterialForm, readable_litres
from costing.models import Batch
from costing.work import StepView
from finishing import show
from finishing.forms import KeyedForm
from finishing.models import User
from inventory.choices import StockUnit
from inventory.forms.fields import StockQuantityField
from inventory.models import Lot

TIMES = [LOCAL_TIME, "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M", "%Y-%m-%d %H:%M:%S"]


class TicketForm(forms.Form):
    """For how much a ticket is wanted."""

    def __init__(self, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data)
        self.fields["litres"] = StockQuantityField(
            stock_unit=StockUnit.LITRE, system=show.preferences().units, label="Another amount", maximum=Decimal(1000)
        )


class MixForm(MaterialForm):
    """A batch that has been mixed: how much, from which lots, when."""

    device_now = MomentField()
    device_done = MomentField()
    mixed_at = forms.DateTimeField(
        label="Mixed at", widget=forms.DateTimeInput(format=LOCAL_TIME, attrs={"type": "datetime-local"}), input_formats=TIMES
    )
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        view: StepView,
        lots: Mapping[int, list[Lot]],
        by: User,
        now: datetime,
        litres: Decimal,
    ) -> None:
        self.clock_words = ""
        initial = {"mixed": readable_litres(litres), "mixed_at": timezone.localtime(now).replace(second=0, microsecond=0)}
        super().__init__(data, view=view, lots=lots, by=by, now=now, initial=initial)
        system = show.preferences().units
        self.fields["mixed"] = StockQuantityField(stock_unit=StockUnit.LITRE, system=system, label="Mixed", maximum=Decimal(1000))
        self.add_materials([line for line in view.materials if line.is_component], system)

    def clean_mixed_at(self) -> datetime:
        """A batch is logged after it was mixed; a moment that the tablet noted itself is mended by its clock."""
        sent, noted = self.cleaned_data.get("device_now"), self.cleaned_data.get("device_done")
        clock = None if sent is None else DeviceClock(device_now=sent, server_now=self.now)
        if clock is not None and clock.is_off:
            self.clock_words = clock.words
        if clock is not None and noted is not None:
            return clock.mend(noted)
        mixed_at: datetime = self.cleaned_data["mixed_at"]
        if mixed_at > self.now + CLOCK_SLACK:
            raise forms.ValidationError("This is in the future. Give the time at which it was mixed.")
        return min(mixed_at, self.now)


class RestForm(KeyedForm):
    """What becomes of what is left of a batch."""

    def __init__(self, data: Mapping[str, Any] | None = None, *, batch: Batch, is_one_part: bool) -> None:
        super().__init__(data)
        fates = [(fate.value, fate.label) for fate in RestFate if fate is not RestFate.RETURNED or is_one_part]
        self.fields["fate"] = forms.ChoiceField(
            label="What becomes of it", choices=fates, initial=RestFate.THROWN, widget=forms.RadioSelect
        )
        self.fields["cause"] = forms.ChoiceField(
            label="Why", choices=RestCause, initial=_likely(batch), help_text="Of what is thrown away."
        )
        self.fields["litres"] = StockQuantityField(
            stock_unit=StockUnit.LITRE,
            system=show.preferences().units,
            label="How much",
            required=False,
            maximum=Decimal(1000),
            help_text=f"Empty: all {show.pour(batch.left)} that is left.",
        )
        self.fields["note"] = forms.CharField(label="Note", max_length=300, required=False)


def _likely(batch: Batch) -> RestCause:
    return RestCause.POT_LIFE if batch.is_expired(timezone.now()) else RestCause.LEFT_OVER
