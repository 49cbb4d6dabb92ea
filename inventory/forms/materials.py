"""Forms for materials, suppliers and packs."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.db.models import Q
from django.forms import BoundField

from finishing.forms import MeasureField, MoneyFormField, PercentField
from finishing.show import preferences
from finishing.units import Kind, plain_number
from inventory.choices import StockUnit
from inventory.forms.fields import DaysField, DensityField, StockQuantityField, WholeMinutesField, number_box
from inventory.models import Location, Material, Supplier

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldGroup:
    """Fields that belong together on a page, under one heading."""

    legend: str
    words: str
    fields: tuple[BoundField, ...]


if TYPE_CHECKING:
    ModelForm = forms.ModelForm[Any]
else:
    ModelForm = forms.ModelForm


class GroupedForm(ModelForm):
    """A model form whose fields are shown in groups: ``GROUPS`` lists (heading, words, field names)."""

    GROUPS: tuple[tuple[str, str, tuple[str, ...]], ...] = ()

    def groups(self) -> Iterator[FieldGroup]:
        """The groups in order."""
        for legend, words, names in self.GROUPS:
            yield FieldGroup(legend=legend, words=words, fields=tuple(self[name] for name in names))


class PlainDecimalField(forms.DecimalField):
    """A number that is shown without needless zeros."""

    def prepare_value(self, value: Any) -> Any:
        """Stored numbers short, typed text as it was typed."""
        return plain_number(value) if isinstance(value, Decimal) else value


def _percent(label: str) -> PlainDecimalField:
    return PlainDecimalField(
        required=False,
        label=label,
        widget=number_box("%"),
        min_value=ZERO,
        max_value=Decimal(100),
        max_digits=6,
        decimal_places=3,
    )


class HCodesField(forms.CharField):
    """H-codes in any case, separated by commas or spaces; each is kept once."""

    def to_python(self, value: Any) -> str:
        """Codes as labels write them."""
        text = super().to_python(value) or ""
        codes = re.sub(r"\bh(?=\d)", "H", text).replace(";", ",").replace(",", " ").split()
        return ", ".join(dict.fromkeys(codes))


class MaterialForm(GroupedForm):
    """A material with its technical data, typed in the shop's units."""

    GROUPS = (
        ("What it is", "", ("name", "code", "kind", "stock_unit", "usual_location", "is_active", "note")),
        (
            "Film",
            "From the technical data sheet. Needed for everything that is sprayed.",
            ("density", "volume_solids", "mass_solids", "yield_fraction"),
        ),
        (
            "VOC",
            "The actual content as supplied, and the shares of water and exempt compounds by volume.",
            ("voc", "water_fraction", "exempt_fraction"),
        ),
        ("Life", "", ("shelf_life_days", "open_life_days", "pot_life_min", "opens_on_issue")),
        (
            "Hazards",
            "Copied from the safety data sheet, which decides; nothing is worked out here.",
            ("signal_word", "h_codes", "flammable_category", "sds_reference"),
        ),
        (
            "Use",
            "A first guess for the reorder list, until the log has taught the real rate.",
            ("weekly_use", "weekly_use_sd", "service_level"),
        ),
    )

    density = DensityField(required=False, label="Density")
    volume_solids = _percent("Volume solids")
    mass_solids = _percent("Mass solids")
    voc = MeasureField(kind=Kind.VOC, required=False, label="VOC as supplied", minimum=ZERO, maximum=Decimal(2000), places=3)
    water_fraction = PercentField(required=False, label="Water by volume")
    exempt_fraction = PercentField(required=False, label="Exempt compounds by volume")
    yield_fraction = PercentField(
        required=False,
        label="Yield of a can",
        minimum=Decimal("0.01"),
        help_text="What can be poured out: 98 leaves a heel of 2 %.",
    )
    service_level = PercentField(
        required=False,
        label="Service target",
        minimum=Decimal("0.5"),
        maximum=Decimal("0.999"),
        help_text="Share of order cycles in which nothing runs out. Empty: the shop’s own target.",
    )
    pot_life_min = WholeMinutesField(
        required=False,
        label="Pot life once mixed",
        help_text="For a base or hardener of a two-component mix: minutes, or for example 4 h.",
    )
    shelf_life_days = DaysField(required=False, label="Shelf life", help_text="From the day it was made, unopened.")
    open_life_days = DaysField(required=False, label="Open life", help_text="Once the container has been opened.")
    h_codes = HCodesField(
        required=False, label="H-codes", max_length=120, help_text="From the safety data sheet, for example H225, H317."
    )
    weekly_use = StockQuantityField(required=False, label="Expected use per week", above=None, minimum=ZERO)
    weekly_use_sd = StockQuantityField(
        required=False,
        label="Spread of weekly use",
        above=None,
        minimum=ZERO,
        help_text="Standard deviation. Empty: half the weekly use is assumed.",
    )

    class Meta:
        model = Material
        fields = [
            "name",
            "code",
            "kind",
            "stock_unit",
            "usual_location",
            "is_active",
            "note",
            "density",
            "volume_solids",
            "mass_solids",
            "yield_fraction",
            "voc",
            "water_fraction",
            "exempt_fraction",
            "shelf_life_days",
            "open_life_days",
            "pot_life_min",
            "opens_on_issue",
            "signal_word",
            "h_codes",
            "flammable_category",
            "sds_reference",
            "weekly_use",
            "weekly_use_sd",
            "service_level",
        ]
        error_messages = {"code": {"unique": "Another material has this code."}}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        units = preferences().units
        for name in ("density", "voc"):
            self.fields[name].set_system(units)  # type: ignore[attr-defined]
        self._fix_stock_unit()
        self._offer_places()
        _say_choose(self.fields["kind"], "Choose")
        _say_choose(self.fields["flammable_category"], "none stated")
        for name in ("weekly_use", "weekly_use_sd"):
            self.fields[name].use(self._stock_unit(), units)  # type: ignore[attr-defined]

    def _offer_places(self) -> None:
        """The places in use, and the one that the material has already."""
        field = cast(forms.ModelChoiceField, self.fields["usual_location"])
        field.queryset = Location.objects.filter(Q(is_active=True) | Q(pk=self.instance.usual_location_id))
        field.empty_label = "none"

    def _fix_stock_unit(self) -> None:
        """Quantities that are stored already were counted in the present unit."""
        held = self.instance
        if held.pk and (held.lots.exists() or held.packs.exists() or held.bookings.exists()):
            field = self.fields["stock_unit"]
            field.disabled = True
            field.help_text = "Fixed: there are lots, packs or bookings in this unit."

    def _stock_unit(self) -> StockUnit:
        typed = "" if self.fields["stock_unit"].disabled else str(self.data.get(self.add_prefix("stock_unit"), ""))
        return StockUnit(typed if typed in StockUnit.values else self.instance.stock_unit)

    def clean_water_fraction(self) -> Decimal:
        """Nothing typed means none."""
        return self.cleaned_data["water_fraction"] or ZERO

    def clean_exempt_fraction(self) -> Decimal:
        """Nothing typed means none."""
        return self.cleaned_data["exempt_fraction"] or ZERO

    def clean_yield_fraction(self) -> Decimal:
        """Nothing typed means that all can be poured out."""
        return self.cleaned_data["yield_fraction"] or Decimal(1)

    def clean(self) -> dict[str, Any]:
        """Water and exempt compounds are parts of one volume."""
        data = super().clean() or self.cleaned_data
        water, exempt = data.get("water_fraction"), data.get("exempt_fraction")
        if water is not None and exempt is not None and water + exempt > 1:
            self.add_error("exempt_fraction", "Water and exempt compounds together are at most 100 %.")
        return data


def _say_choose(field: Any, words: str) -> None:
    """Words in place of the framework's dashes for the empty choice."""
    field.choices = [("", words), *(choice for choice in field.choices if choice[0] not in ("", None))]


class SupplierForm(GroupedForm):
    """Somebody the shop buys from."""

    GROUPS = (
        ("Who", "", ("name", "contact", "email", "phone", "account_number", "is_active", "note")),
        ("Terms", "", ("lead_time_days", "lead_time_sd_days", "minimum_order", "delivery_charge")),
    )

    minimum_order = MoneyFormField(required=False, label="Minimum order value")
    delivery_charge = MoneyFormField(required=False, label="Delivery charge")

    class Meta:
        model = Supplier
        fields = [
            "name",
            "contact",
            "email",
            "phone",
            "account_number",
            "is_active",
            "note",
            "lead_time_days",
            "lead_time_sd_days",
            "minimum_order",
            "delivery_charge",
        ]
        labels = {"lead_time_days": "Lead time", "lead_time_sd_days": "Spread of the lead time"}
        help_texts = {"lead_time_sd_days": "Standard deviation: how much the lead time varies."}
        widgets = {"lead_time_days": number_box("days"), "lead_time_sd_days": number_box("days")}
        error_messages = {"name": {"unique": "There is a supplier of this name already."}}

    def clean_minimum_order(self) -> Decimal:
        """Nothing typed means none."""
        return self.cleaned_data["minimum_order"] or ZERO

    def clean_delivery_charge(self) -> Decimal:
        """Nothing typed means none."""
        return self.cleaned_data["delivery_charge"] or ZERO
