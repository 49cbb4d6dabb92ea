"""The form of an estimate's assumptions: one field each, empty where the shop's own figure holds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.forms import BoundField

from costing.choices import AssumptionKind
from costing.forms.fields import PlainNumberField, WorkRateField
from costing.services.assumptions import Assumption, Key
from finishing import show
from finishing.forms import MeasureField, MoneyFormField, PercentField
from finishing.units import Kind

FEW = 4  # rows of a kind that is shown unfolded
_SHARES = {
    AssumptionKind.EFFICIENCY: (Decimal("0.01"), Decimal(1)),
    AssumptionKind.REWORK: (Decimal(0), Decimal(1)),
    AssumptionKind.OVERHEAD: (Decimal(0), Decimal(20)),
}


def _field(one: Assumption) -> forms.Field:
    common: dict[str, Any] = {"required": False, "label": f"{one.kind.label}: {one.words}"}
    units = show.preferences().units
    if one.kind in _SHARES:
        least, most = _SHARES[one.kind]
        return PercentField(minimum=least, maximum=most, **common)
    if one.kind is AssumptionKind.FILM:
        return MeasureField(kind=Kind.FILM, system=units, minimum=Decimal(1), maximum=Decimal(1000), **common)
    if one.kind is AssumptionKind.RATE:
        return WorkRateField(system=units, minimum=Decimal("0.1"), maximum=Decimal(2000), **common)
    if one.kind is AssumptionKind.DRYING:
        return MeasureField(kind=Kind.TIME, system=units, minimum=Decimal(0), maximum=Decimal(60_000), **common)
    if one.kind in {AssumptionKind.MINUTES, AssumptionKind.AMOUNT}:
        most = Decimal(10_000)
        return PlainNumberField(min_value=Decimal(0), max_value=most, max_digits=12, decimal_places=6, **common)
    return MoneyFormField(max_value=Decimal(1_000_000), **common)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownAssumption:
    """A row of the page."""

    assumption: Assumption
    usual: str
    field: BoundField

    @property
    def is_changed(self) -> bool:
        """True where the job has a figure of its own."""
        return self.assumption.own is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownKind:
    """The rows of one kind, which fold away where nothing of it is changed."""

    words: str
    rows: tuple[ShownAssumption, ...]

    @property
    def is_open(self) -> bool:
        """True where something is changed or refused, and for the few that matter most."""
        return len(self.rows) <= FEW or any(row.is_changed or row.field.errors for row in self.rows)

    @property
    def note(self) -> str:
        """How many there are, and how many hold for this job alone."""
        changed = sum(row.is_changed for row in self.rows)
        return f"{len(self.rows)}, {changed} changed" if changed else str(len(self.rows))


class AssumptionsForm(forms.Form):
    """All assumptions of an estimate."""

    def __init__(self, data: Any = None, *, listed: Sequence[Assumption]) -> None:
        self.listed = tuple(listed)
        super().__init__(data, initial={one.name: one.own for one in listed if one.own is not None})
        for one in self.listed:
            self.fields[one.name] = _field(one)

    def shown_by_kind(self) -> Iterator[ShownKind]:
        """The rows by their kind."""
        for kind in AssumptionKind:
            rows = tuple(
                ShownAssumption(assumption=one, usual=one.told(one.usual), field=self[one.name])
                for one in self.listed
                if one.kind is kind
            )
            if rows:
                yield ShownKind(words=kind.label, rows=rows)

    def values(self) -> dict[Key, Decimal | None]:
        """What was typed, by key; None where a field is empty."""
        return {one.key: self.cleaned_data[one.name] for one in self.listed}
