"""The form of a pack: what a material is bought in."""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from finishing.forms import MoneyFormField
from finishing.show import preferences
from inventory.choices import StockUnit
from inventory.forms.fields import ContentField, number_box
from inventory.forms.materials import ModelForm
from inventory.models import Material, Pack, Supplier

CONTENT_EXAMPLES = {
    StockUnit.LITRE: "5 L, 1 gal or 5 L can",
    StockUnit.KILOGRAM: "5 kg, 500 g or 10 lb",
    StockUnit.PIECE: "50, or box of 50",
    StockUnit.METRE: "50 m, 180 ft or roll of 50 m",
    StockUnit.SQUARE_METRE: "20 m² or 200 sq ft",
}


class PackForm(ModelForm):
    """A pack of one material: what it holds, what it costs, whether the shop usually buys it."""

    content = ContentField(label="What is in it", error_messages={"required": "Write how much is in one pack."})
    price = MoneyFormField(
        label="Price for one pack", help_text="Without tax.", error_messages={"required": "Write the price, for example 43.50."}
    )

    class Meta:
        model = Pack
        fields = [
            "supplier",
            "content",
            "price",
            "description",
            "supplier_code",
            "gtin",
            "minimum_packs",
            "is_usual",
            "is_active",
        ]
        labels = {"minimum_packs": "Order at least, packs", "gtin": "GTIN (bar code number)"}
        widgets = {"minimum_packs": number_box("packs"), "gtin": forms.TextInput(attrs={"inputmode": "numeric"})}

    def __init__(self, *args: Any, material: Material, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.material = material
        content = self.fields["content"]
        content.use(material.unit, preferences().units)  # type: ignore[attr-defined]
        content.help_text = f"For example: {CONTENT_EXAMPLES[material.unit]}."
        description = self.fields["description"]
        description.required = False
        description.help_text = "How your shop calls it. Empty: what you typed above."
        offered = Supplier.objects.filter(is_active=True)
        if self.instance.supplier_id:
            offered = offered | Supplier.objects.filter(pk=self.instance.supplier_id)
        self.fields["supplier"].queryset = offered  # type: ignore[attr-defined]
        self.fields["supplier"].empty_label = "Choose"  # type: ignore[attr-defined]

    def clean_gtin(self) -> str:
        """Digits; spaces between them are forgiven."""
        return str(self.cleaned_data["gtin"]).replace(" ", "")

    def clean(self) -> dict[str, Any]:
        """Name the pack after its content; only what is on sale can be the usual pack."""
        data = super().clean() or self.cleaned_data
        if not data.get("description") and data.get("content") is not None:
            data["description"] = self._named_by_content()
        if data.get("is_usual") and not data.get("is_active"):
            self.add_error("is_usual", ValidationError("A pack that is not on sale can’t be the one you usually buy."))
        if self._is_entered_already(data):
            self.add_error("content", "This supplier’s pack is entered already. Change it on the page of the material.")
        return data

    def _is_entered_already(self, data: dict[str, Any]) -> bool:
        """The same pack of the same supplier, as a form that is sent twice makes it."""
        named = {name: data.get(name) for name in ("supplier", "content", "description")}
        if None in named.values():
            return False
        same = Pack.objects.filter(material=self.instance.material, supplier_code=data.get("supplier_code", ""), **named)
        return same.exclude(pk=self.instance.pk).exists()

    def _named_by_content(self) -> str:
        typed = " ".join(str(self.data.get(self.add_prefix("content"), "")).split())
        unit = self.fields["content"].unit  # type: ignore[attr-defined]
        return (typed if re.search(r"[^\d.,\s/]", typed) else f"{typed} {unit}")[:60]
