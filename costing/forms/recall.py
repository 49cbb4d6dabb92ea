"""Which lots a recall is about: one lot, or a supplier's lot number."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inventory.forms.moves import today
from inventory.models import Lot, Supplier
from inventory.recall import lots_like, lots_meant, same_batch

MOST_NUMBER = 300  # a scanned code holds more than a lot number


class RecallForm(forms.Form):
    """A typed or scanned lot number, of one supplier where one is chosen; or one lot, from its own page."""

    number = forms.CharField(
        label="Lot number",
        max_length=MOST_NUMBER,
        required=False,
        help_text="As on the label, typed or scanned.",
        widget=forms.TextInput(attrs={"type": "search", "autocomplete": "off"}),
    )
    supplier = forms.ModelChoiceField(
        label="Supplier", queryset=Supplier.objects.all(), empty_label="Every supplier", required=False
    )
    lot = forms.IntegerField(required=False, min_value=1, max_value=2**63 - 1, widget=forms.HiddenInput)

    similar: list[Lot] = []  # lots whose number holds what was typed, where none bears it

    def clean(self) -> dict[str, Any]:
        """Look the lots up: ``lots`` is what was found."""
        data: dict[str, Any] = super().clean() or {}
        if "lot" in self.errors:
            del self.errors["lot"]  # nobody typed it: it has no box where an error could stand
            raise ValidationError({"number": "There is no such lot. Type its number."})
        if data.get("lot") is not None:
            data["lots"] = self._one(data["lot"])
        elif "number" in data and not self.errors:
            data["lots"] = self._numbered(data["number"], data.get("supplier"))
        return data

    def _one(self, pk: int) -> list[Lot]:
        lot = Lot.objects.filter(pk=pk).first()
        if lot is None:
            raise ValidationError({"number": "There is no such lot. Type its number."})
        return same_batch(lot)

    def _numbered(self, number: str, supplier: Supplier | None) -> list[Lot]:
        if not number:
            raise ValidationError({"number": "Type or scan the lot number on the label."})
        found = lots_meant(number, today=today())
        if not found:
            self.similar = lots_like(number)
            raise ValidationError({"number": "No lot here bears this number."})
        theirs = [lot for lot in found if supplier is None or lot.supplier_id == supplier.pk]
        if not theirs:
            which = (
                "The lot with this number did not come"
                if len(found) == 1
                else f"None of the {len(found)} lots with this number came"
            )
            raise ValidationError({"supplier": f"{which} from {supplier}."})
        return theirs
