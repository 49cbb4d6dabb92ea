"""Forms for places, and for moving lots between them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, cast

from django import forms

from finishing.fields import to_step
from finishing.forms import MeasureField
from finishing.show import preferences
from finishing.units import Kind, UnitSystem, convert
from inventory.choices import LocationKind
from inventory.core.flammables import (
    CABINET_GALLONS_1_TO_3,
    CABINET_GALLONS_ALL,
    CABINET_LITRES_1_TO_3,
    CABINET_LITRES_ALL,
)
from inventory.forms.fields import StockQuantityField
from inventory.forms.materials import GroupedForm
from inventory.forms.moves import HOW_MUCH, DayField, LotQuantityForm, all_when_shown_so
from inventory.models import Location, Lot

MOST_LITRES = Decimal(100_000)  # more than any finishing department keeps in one place: a slip of the hand
LIMITS = ("limit_category_1_to_3", "limit_category_4")


def cabinet_limits(units: UnitSystem) -> dict[str, Decimal]:
    """The limits of a storage cabinet as the rule prints them: whole gallons, or litres with one decimal. In litres."""
    if units is UnitSystem.US:
        figures = (CABINET_GALLONS_1_TO_3, CABINET_GALLONS_ALL)
        exact = [convert(gallons, from_unit="gal", to_unit="L") for gallons in figures]
        values = [to_step(Decimal(one.numerator) / Decimal(one.denominator)) for one in exact]
    else:
        values = [CABINET_LITRES_1_TO_3, CABINET_LITRES_ALL]
    return dict(zip(LIMITS, values, strict=True))


def _limit(label: str, help_text: str) -> MeasureField:
    return MeasureField(
        kind=Kind.VOLUME, required=False, label=label, help_text=help_text, minimum=Decimal(0), maximum=MOST_LITRES
    )


class LocationForm(GroupedForm):
    """A place with its limits, typed in the shop's units."""

    GROUPS = (
        ("The place", "", ("name", "kind", "is_active", "note")),
        ("Flammable liquids", "", LIMITS),
    )

    limit_category_1_to_3 = _limit("Limit for categories 1 to 3", "Together. Empty: no limit entered.")
    limit_category_4 = _limit("Limit for all categories", "Categories 1 to 4 together. Empty: no limit entered.")

    class Meta:
        model = Location
        fields = ["name", "kind", "is_active", "note", *LIMITS]
        error_messages = {"name": {"required": "Give the place a name.", "unique": "There is a place of this name already."}}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in LIMITS:
            cast(MeasureField, self.fields[name]).set_system(preferences().units)

    def clean_name(self) -> str:
        """Two places whose names differ in capitals only would be taken for each other."""
        name: str = self.cleaned_data["name"]
        if Location.objects.filter(name__iexact=name).exclude(pk=self.instance.pk).exists():
            raise forms.ValidationError("There is a place of this name already.")
        return name

    def clean_is_active(self) -> bool:
        """A place goes out of use once nothing stands there and nothing belongs there."""
        is_active: bool = self.cleaned_data["is_active"]
        if is_active or self.instance.pk is None:
            return is_active
        standing = self.instance.lots.in_stock().count()
        belonging = self.instance.materials.filter(is_active=True).count()
        if standing:
            raise forms.ValidationError(f"{_counted(standing, 'lot')} still in it. Move what stands here first.")
        if belonging:
            words = _counted(belonging, "material")
            raise forms.ValidationError(f"It is the usual place: {words} in use. Give them another usual place first.")
        return is_active

    def clean(self) -> dict[str, Any]:
        """All categories together can't be held to less than three of them."""
        data = super().clean() or self.cleaned_data
        some, together = (data.get(name) for name in LIMITS)
        if some is not None and together is not None and together < some:
            self.add_error("limit_category_4", "This counts categories 1 to 3 as well, so it can’t be less than their own limit.")
        return data


def _counted(number: int, word: str) -> str:
    return f"{number} {word} is" if number == 1 else f"{number} {word}s are"


class MoveForm(LotQuantityForm):
    """Move a lot, or a part of it, to another place."""

    to_location = forms.ModelChoiceField(
        queryset=Location.objects.none(),
        label="To",
        empty_label="Choose",
        error_messages={"required": "Choose where it goes.", "invalid_choice": "This place can’t be chosen."},
    )
    quantity = StockQuantityField(
        label="How much",
        error_messages={"required": HOW_MUCH},
        help_text="All that is left moves the lot. Less than that makes a lot of its own there, with the same number and dates.",
    )
    on = DayField()
    reason = forms.CharField(required=False, max_length=200, label="Remark")

    def __init__(self, *args: Any, lot: Lot, may_set_aside: bool, **kwargs: Any) -> None:
        super().__init__(*args, lot=lot, **kwargs)
        places = Location.objects.filter(is_active=True).exclude(pk=lot.location_id or 0)
        if not may_set_aside:
            places = places.exclude(kind=LocationKind.QUARANTINE)
        cast(forms.ModelChoiceField, self.fields["to_location"]).queryset = places

    def clean_quantity(self) -> Decimal:
        """What the page shows as all that is left is all of it."""
        return all_when_shown_so(self.cleaned_data["quantity"], self.lot.on_hand, self.material.unit)
