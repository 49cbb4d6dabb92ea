"""The form of a spray setup."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from costing.forms.fields import CupVolumeField, ShopUnitsMixin, WorkRateField
from costing.forms.groups import Group, GroupedModelForm
from costing.models import SpraySetup
from finishing.forms import MeasureField, PercentField
from finishing.units import Kind

ZERO = Decimal(0)
MOST_CUP = Decimal(100)  # L, a pressure pot
MOST_MINUTES = Decimal(240)


class SpraySetupForm(ShopUnitsMixin, GroupedModelForm):
    """A gun, its air supply, tip and cup as used together."""

    transfer_efficiency = PercentField(
        minimum=Decimal("0.01"),
        maximum=Decimal(1),
        help_text="Share of the sprayed solids that lands on the work. What your own log shows is better than a table.",
    )
    cup_capacity = CupVolumeField(minimum=Decimal("0.01"), maximum=MOST_CUP, help_text="What one filling of the cup holds.")
    residue_per_fill = CupVolumeField(
        minimum=ZERO, maximum=MOST_CUP, initial=ZERO, help_text="What stays in the cup or its liner each time."
    )
    residue_per_batch = CupVolumeField(
        minimum=ZERO, maximum=MOST_CUP, initial=ZERO, help_text="What stays in the mixing vessel and strainer."
    )
    spray_rate = WorkRateField(
        label="Spraying rate", minimum=Decimal("0.1"), maximum=Decimal(2000), help_text="Finished area sprayed in an hour."
    )
    fill_minutes = MeasureField(
        kind=Kind.TIME, places=2, label="Time to load a cup", minimum=ZERO, maximum=MOST_MINUTES, initial=Decimal(2)
    )
    batch_minutes = MeasureField(
        kind=Kind.TIME, places=2, label="Time to mix a batch", minimum=ZERO, maximum=MOST_MINUTES, initial=Decimal(5)
    )
    start_pressure_kpa = MeasureField(
        kind=Kind.PRESSURE,
        places=2,
        label="Pressure to start from",
        minimum=ZERO,
        maximum=Decimal(60_000),
        required=False,
        help_text="Then by trial: temperature, thickness of the material and tip decide.",
    )

    groups = (
        Group(legend="The setup", names=("name", "description")),
        Group(
            legend="What it wastes",
            names=("transfer_efficiency", "cup_capacity", "residue_per_fill", "residue_per_batch"),
            columns=2,
        ),
        Group(legend="How fast it goes", names=("spray_rate", "start_pressure_kpa", "fill_minutes", "batch_minutes"), columns=2),
        Group(legend="Notes", names=("note", "is_active")),
    )

    class Meta:
        model = SpraySetup
        fields = [
            "name",
            "description",
            "transfer_efficiency",
            "cup_capacity",
            "residue_per_fill",
            "residue_per_batch",
            "spray_rate",
            "start_pressure_kpa",
            "fill_minutes",
            "batch_minutes",
            "note",
            "is_active",
        ]
        error_messages = {"name": {"unique": "There is a spray setup of this name already."}}

    def clean(self) -> dict[str, Any]:
        """A cup holds more than what stays in it (C > r_f)."""
        cleaned = super().clean() or self.cleaned_data
        cup, residue = cleaned.get("cup_capacity"), cleaned.get("residue_per_fill")
        if cup is not None and residue is not None and cup <= residue:
            field = self.fields["cup_capacity"]
            shown = field.show(cup) if isinstance(field, MeasureField) else ""
            self.add_error(
                "residue_per_fill",
                f"This fills the whole cup: nothing could be sprayed. Give less than the {shown} that the cup holds, "
                "or a larger cup.",
            )
        return cleaned
