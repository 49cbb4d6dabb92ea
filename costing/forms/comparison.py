"""What is to be compared: which systems, on which jobs, at which day's prices. Asked by the address, so that it can be kept."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.http import QueryDict

from costing.forms.fields import ShopUnitsMixin
from costing.forms.groups import Group, GroupedForm
from costing.models import CoatingSystem, Estimate
from costing.services.comparing import MOST_SYSTEMS, Pieces, Question
from finishing import show
from finishing.forms import MeasureField, PercentField
from finishing.units import Kind
from inventory.forms.fields import day_box
from inventory.services.prices import EARLIEST

LARGEST = Decimal(5000)  # m²
SMALLEST = Decimal("0.1")
WIDEST = Decimal(5)  # how far around an estimate's own size the comparison goes without being asked
LISTED = 50


def _size(label: str, **kwargs: Any) -> MeasureField:
    return MeasureField(kind=Kind.AREA, label=label, minimum=SMALLEST, maximum=LARGEST, **kwargs)


class _EstimateField(forms.ModelChoiceField):
    """Estimates by their number and name."""

    def label_from_instance(self, obj: Any) -> str:
        """What the list says."""
        return f"{obj.number} {obj.name}"


class ComparisonForm(ShopUnitsMixin, GroupedForm):
    """The question of a comparison."""

    system = forms.ModelMultipleChoiceField(
        queryset=CoatingSystem.objects.filter(is_active=True),
        widget=forms.CheckboxSelectMultiple,
        label="Coating systems",
        error_messages={"required": "Tick at least one system; two or more to compare them."},
    )
    estimate = _EstimateField(
        queryset=Estimate.objects.none(),
        required=False,
        label="Made of the pieces of",
        empty_label="pieces of one size",
        help_text="Its kinds of pieces, more or fewer of them.",
    )
    piece = MeasureField(
        kind=Kind.AREA,
        label="Or pieces of this area",
        required=False,
        minimum=Decimal("0.001"),
        maximum=Decimal(10),
        help_text="All sides of one piece together.",
    )
    hidden = PercentField(label="Hidden pieces", required=False, help_text="Share of the pieces of one size.")
    low = _size("Smallest job")
    high = _size("Largest job")
    at = _size("Answer for", help_text="The size that is answered in words.")
    on = forms.DateField(
        label="Prices of", required=False, widget=day_box(), help_text="Empty: today’s. A day before shows what held then."
    )

    figures = forms.ChoiceField(
        label="Transfer efficiency and spraying rate",
        choices=[("stated", "as the spray setups state them"), ("learnt", "as the log of finished coats shows them")],
        initial="stated",
        required=False,
    )

    groups = (
        Group(legend="Systems", names=("system",)),
        Group(legend="Jobs", names=("estimate", "piece", "hidden", "low", "at", "high"), columns=3),
        Group(legend="Figures", names=("on", "figures"), columns=2),
    )

    def __init__(self, data: QueryDict, *, today: date) -> None:
        self.today = today
        self.asked = _completed(data)  # the whole question, as an address asks it
        super().__init__(self.asked)
        field = self.fields["estimate"]
        if isinstance(field, forms.ModelChoiceField):
            chosen = data.get("estimate", "")
            recent = list(Estimate.objects.filter(rows__isnull=False).distinct().values_list("pk", flat=True)[:LISTED])
            wanted = [int(chosen)] if chosen.isascii() and chosen.isdigit() and len(chosen) < 10 else []
            field.queryset = Estimate.objects.filter(pk__in=[*recent, *wanted])

    def clean_on(self) -> date | None:
        """A day that has come, not too far back."""
        on: date | None = self.cleaned_data["on"]
        if on is not None and on > self.today:
            raise forms.ValidationError("Prices of a day to come are not known. Choose today or a day before.", code="future")
        if on is not None and on < EARLIEST:
            raise forms.ValidationError(f"Choose a day from {show.day(EARLIEST)} on.", code="early")
        return on if on != self.today else None

    def clean_system(self) -> list[CoatingSystem]:
        """At most as many as a chart can tell apart."""
        systems = list(self.cleaned_data["system"])
        if len(systems) > MOST_SYSTEMS:
            raise forms.ValidationError(f"Tick {MOST_SYSTEMS} systems at most: more lines can’t be told apart.", code="many")
        return systems

    def clean(self) -> dict[str, Any]:
        """Sizes in order, and pieces of some kind."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        low, at, high = (cleaned.get(name) for name in ("low", "at", "high"))
        if low is not None and high is not None and high <= low:
            self.add_error("high", "Give a larger area than that of the smallest job.")
        elif at is not None and low is not None and high is not None and not low <= at <= high:
            self.add_error("at", f"Give an area from {show.area(low)} to {show.area(high)}.")
        estimate = cleaned.get("estimate")
        if estimate is not None and not estimate.rows.exists():
            self.add_error("estimate", "Nothing is measured in this estimate yet. Choose another, or pieces of one size.")
        if estimate is None and "estimate" not in self.errors and cleaned.get("piece") is None and "piece" not in self.errors:
            self.add_error("piece", "Give the area of one piece, or choose an estimate.")
        return cleaned

    def question(self) -> Question:
        """What was asked."""
        given = self.cleaned_data
        pieces = Pieces(estimate=given["estimate"])
        if given["estimate"] is None:
            pieces = Pieces(area=given["piece"], hidden=given["hidden"] or Decimal(0))
        return Question(
            systems=given["system"],
            pieces=pieces,
            low=given["low"],
            high=given["high"],
            at=given["at"],
            prices_of=given["on"],
            learnt=given["figures"] == "learnt",
        )


def _completed(data: QueryDict) -> QueryDict:
    """The question as asked; what it leaves open is filled in: an estimate's own systems and size, or usual values.

    Only a question that names no system is filled in: of a form that was sent, everything stays as it was typed.
    """
    if "system" in data or "low" in data:
        return data
    full = data.copy()
    chosen = data.get("estimate", "")
    estimate = Estimate.objects.filter(pk=int(chosen)).first() if chosen.isdigit() and len(chosen) < 10 else None
    systems: list[int] = []
    area = Decimal(20)
    if estimate is not None:
        from costing.services.estimating import CannotPriceError, measure

        systems = list(estimate.options.order_by("position").values_list("system_id", flat=True))
        try:
            measured = Decimal(str(round(measure(estimate).area, 3)))
        except CannotPriceError:
            measured = Decimal(0)
        area = min(max(measured, SMALLEST), LARGEST) if measured else area
    systems = systems or list(CoatingSystem.objects.filter(is_active=True).values_list("pk", flat=True)[:4])
    full.setlist("system", [str(pk) for pk in systems])
    sizes = {"low": max(area / WIDEST, SMALLEST), "at": area, "high": min(area * WIDEST, LARGEST), "piece": Decimal("0.5")}
    for name, size in sizes.items():
        full.setdefault(name, f"{_few_figures(size) if name != 'at' else size.normalize():f} m²")
    return full


def _few_figures(size: Decimal) -> Decimal:
    """Two leading figures of a size: 76.602 is 77."""
    return Decimal(f"{size:.2g}")
