"""How sure the inputs of an estimate are, and which price is to be tested. Asked by the address."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from django.http import QueryDict

from costing.core.spreads import USUAL_SPREADS, WIDEST, Uncertain
from costing.forms.groups import Group, GroupedForm
from finishing.forms import MoneyFormField, PercentField

LABELS: Mapping[Uncertain, str] = {
    Uncertain.EFFICIENCY: "Transfer efficiency, ±",
    Uncertain.FILM: "Wet film, ±",
    Uncertain.WORK: "Time of work, ±",
    Uncertain.PRICE: "Prices of materials, ±",
    Uncertain.AREA: "Measured area, ±",
}


class RiskForm(GroupedForm):
    """A spread for each kind of input, and the price to test."""

    groups = (
        Group(
            legend="How far may it be off?",
            words="In eight of ten jobs the figure lies within this share of what is reckoned with. 0: it is certain.",
            names=tuple(kind.value for kind in Uncertain),
            columns=3,
        ),
        Group(legend="Price", names=("price_tested",), columns=3),
    )
    price_tested = MoneyFormField(
        label="Price to test, before tax", required=False, help_text="Empty: the price of this estimate."
    )

    def __init__(self, data: QueryDict) -> None:
        # An address that asks nothing is answered with the usual spreads; a form that was sent stays as it was typed.
        self.asked: QueryDict = data if any(kind.value in data for kind in Uncertain) else _usual(data)
        super().__init__(self.asked)
        for kind, label in LABELS.items():
            self.fields[kind.value] = PercentField(label=label, maximum=Decimal(str(WIDEST)))

    def spreads(self) -> dict[Uncertain, float]:
        """The spreads as shares, by kind."""
        return {kind: float(self.cleaned_data[kind.value]) for kind in Uncertain}


def _usual(data: QueryDict) -> QueryDict:
    full = data.copy()
    for kind, spread in USUAL_SPREADS.items():
        full[kind.value] = f"{100 * spread:g}"
    return full
