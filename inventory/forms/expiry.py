"""The form of the expiry board: which lots are written off, why, and how they leave the shop."""

from __future__ import annotations

from typing import Any, cast

from django import forms

from finishing.forms import KeyedForm
from inventory.errors import StockError
from inventory.models import Lot

AT = {"lot": "lots"}


class WriteOffExpiredForm(KeyedForm):
    """Write off chosen lots that are out of date. Lots that are good, or gone by now, are refused by the service, in words."""

    lots = forms.ModelMultipleChoiceField(
        queryset=Lot.objects.none(),
        label="Lots",
        error_messages={
            "required": "Choose at least one lot.",
            "invalid_choice": "One of these lots can’t be chosen. Reload the page.",
            "invalid_pk_value": "One of these lots can’t be chosen. Reload the page.",
        },
    )
    reason = forms.CharField(
        max_length=120, label="Reason", initial="Out of date.", error_messages={"required": "Say why it is written off."}
    )
    disposal = forms.CharField(
        max_length=150,
        label="How it leaves the shop",
        help_text="For example the waste collection and the number of its sheet.",
        error_messages={"required": "Say how it leaves the shop."},
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        cast(forms.ModelMultipleChoiceField, self.fields["lots"]).queryset = Lot.objects.with_state()

    @property
    def chosen(self) -> set[str]:
        """The numbers of the lots that are ticked, as the page sends them."""
        return {str(value) for value in self["lots"].value() or ()}

    def refuse(self, error: StockError) -> None:
        """Put the refusal where it can be mended."""
        field = AT.get(error.field, error.field)
        self.add_error(field if field in self.fields else None, str(error))
