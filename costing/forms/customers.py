"""The form of a customer."""

from __future__ import annotations

from django import forms

from costing.forms.groups import Group, GroupedModelForm
from costing.models import Customer
from finishing.forms import KeyField


class CustomerForm(GroupedModelForm):
    """Somebody the shop works for."""

    groups = (
        Group(legend="", names=("name",)),
        Group(legend="How to reach them", names=("contact", "email", "phone", "address")),
        Group(legend="Notes", names=("note",)),
    )

    class Meta:
        model = Customer
        fields = ["name", "contact", "email", "phone", "address", "note"]
        help_texts = {"address": "As it should stand on a quote.", "note": "For the shop only, never printed on a quote."}
        widgets = {"phone": forms.TextInput(attrs={"type": "tel", "autocomplete": "off"})}


class NewCustomerForm(CustomerForm):
    """A customer entered for the first time; sent twice, made once."""

    key = KeyField()
