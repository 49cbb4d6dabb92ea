"""The day for which the stock is valued."""

from __future__ import annotations

from django import forms

from inventory.forms.moves import DayField


class ValueForm(forms.Form):
    """One day that has come; today where nobody says."""

    on = DayField(label="At the end of")
