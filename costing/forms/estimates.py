"""The form of an estimate: what is to be finished, for whom, and the systems under which it is priced."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.db.models import Q

from costing.forms.fields import ListedField
from costing.forms.groups import Group, GroupedModelForm
from costing.models import CoatingSystem, Customer, Estimate
from finishing import show
from finishing.forms import KeyField, PercentField
from finishing.models import Shop

MOST_SYSTEMS = 6
SLOTS = tuple(f"system_{number}" for number in range(1, MOST_SYSTEMS + 1))


def _slot(words: str) -> ListedField:
    return ListedField(label=f"{words} system", required=False)


class EstimateForm(GroupedModelForm):
    """An estimate with its customer and its systems in order."""

    new_customer = forms.CharField(
        max_length=120, required=False, label="Or a new customer", help_text="A name is enough; add the address before you quote."
    )
    margin = PercentField(label="Margin for this job", required=False, below=Decimal(1), maximum=Decimal("0.99"))
    system_1 = _slot("First")
    system_2 = _slot("Second")
    system_3 = _slot("Third")
    system_4 = _slot("Fourth")
    system_5 = _slot("Fifth")
    system_6 = _slot("Sixth")

    groups = (
        Group(legend="The job", names=("name",)),
        Group(legend="Customer", names=("customer", "new_customer"), columns=2),
        Group(
            legend="Coating systems",
            words="The estimate is priced under each of them, in this order. A quote offers up to three.",
            names=SLOTS,
            columns=3,
        ),
        Group(legend="Price and notes", names=("margin", "note")),
    )

    class Meta:
        model = Estimate
        fields = ["name", "customer", "margin", "note"]
        labels = {"name": "What is to be finished"}
        help_texts = {"name": "For example: Kitchen refinish, 24 doors."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        chosen = [str(pk) for pk in self.instance.options.values_list("system_id", flat=True)] if self.instance.pk else []
        offered = CoatingSystem.objects.filter(Q(is_active=True) | Q(pk__in=chosen))
        systems = {str(system.pk): system for system in offered}
        for index, slot in enumerate(SLOTS):
            field = self.fields[slot]
            if isinstance(field, ListedField):
                field.offer(systems, empty="None")
            self.initial.setdefault(slot, chosen[index] if index < len(chosen) else "")
        customer = self.fields["customer"]
        if isinstance(customer, forms.ModelChoiceField):
            customer.empty_label = "Nobody yet"
        self.fields["margin"].help_text = f"Share of the price. Empty: the shop’s own, {show.percent(Shop.current().margin)}."

    def clean(self) -> dict[str, Any]:
        """One customer at most, and each system once."""
        cleaned = super().clean() or self.cleaned_data
        self._check_customer(cleaned)
        seen: dict[int, str] = {}
        for slot in SLOTS:
            system = cleaned.get(slot)
            if system is not None and system.pk in seen:
                label = str(self.fields[seen[system.pk]].label).lower()
                self.add_error(slot, f"This is the {label} already: choose another, or none.")
            elif system is not None:
                seen[system.pk] = slot
        return cleaned

    def _check_customer(self, cleaned: dict[str, Any]) -> None:
        name = cleaned.get("new_customer")
        if not name:
            return
        if cleaned.get("customer") is not None:
            self.add_error("new_customer", "Choose a customer or give a new name, not both.")
        elif Customer.objects.filter(name__iexact=name).exists():
            self.add_error("new_customer", "There is a customer of this name: choose it, or add what tells them apart.")

    @property
    def systems(self) -> list[CoatingSystem]:
        """The systems that were chosen, in order."""
        return [self.cleaned_data[slot] for slot in SLOTS if self.cleaned_data.get(slot) is not None]


class NewEstimateForm(EstimateForm):
    """An estimate that is begun; sent twice, made once."""

    key = KeyField()
