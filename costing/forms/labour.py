"""The form of a labour class."""

from __future__ import annotations

from decimal import Decimal

from costing.forms.groups import Group, GroupedModelForm
from costing.models import LabourClass
from finishing.forms import MoneyFormField, PercentField


class LabourClassForm(GroupedModelForm):
    """A kind of work with its wage and burden."""

    wage = MoneyFormField(label="Wage per hour", max_value=Decimal(10_000))
    burden = PercentField(
        maximum=Decimal(3),
        initial=Decimal(0),
        help_text="What comes on top of the wage: taxes, insurance, paid time off.",
    )

    groups = (Group(legend="", names=("name", "wage", "burden", "is_active")),)

    class Meta:
        model = LabourClass
        fields = ["name", "wage", "burden", "is_active"]
        error_messages = {"name": {"unique": "There is a labour class of this name already."}}
