"""Forms of a coating system and of its copy."""

from __future__ import annotations

from django import forms

from costing.forms.groups import Group, GroupedForm, GroupedModelForm
from costing.models import CoatingSystem

TAKEN = "There is a coating system of this name already."


class SystemForm(GroupedModelForm):
    """Name and words of a system; its operations are added on its page."""

    groups = (Group(legend="", names=("name", "customer_text", "note", "is_active")),)

    class Meta:
        model = CoatingSystem
        fields = ["name", "customer_text", "note", "is_active"]
        error_messages = {"name": {"unique": TAKEN}}
        help_texts = {"note": "For the shop only, never printed on a quote."}


class CopySystemForm(GroupedForm):
    """The name of a copy."""

    name = forms.CharField(max_length=100, label="Name of the copy")

    groups = (Group(legend="", names=("name",)),)

    def clean_name(self) -> str:
        """A free name."""
        name = str(self.cleaned_data["name"]).strip()
        if CoatingSystem.objects.filter(name=name).exists():
            raise forms.ValidationError(TAKEN, code="unique")
        return name
