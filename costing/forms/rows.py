"""Sets of rows that take the place of the stored ones when they are saved."""

from __future__ import annotations

from typing import Any

from django import forms


class RowsFormSet(forms.BaseFormSet):
    """Rows below a form: stored ones first, then empty ones to fill. A row is kept unless it is ticked or left empty."""

    def kept(self) -> list[forms.Form]:
        """The rows that are to be saved."""
        stored = self.initial_form_count()
        return [
            form
            for number, form in enumerate(self.forms)
            if (number < stored or form.has_changed()) and not self.is_removed(form)
        ]

    def is_removed(self, form: forms.Form) -> bool:
        """True for a row that was ticked for removal."""
        return bool(getattr(form, "cleaned_data", {}).get("DELETE"))


def row_set(row: type[forms.Form], *, extra: int, most: int) -> type[Any]:
    """A formset class for rows of this form."""
    return forms.formset_factory(
        row,
        formset=RowsFormSet,
        extra=extra,
        can_delete=True,
        can_delete_extra=True,
        max_num=most,
        absolute_max=most + 500,
        validate_max=True,
    )
