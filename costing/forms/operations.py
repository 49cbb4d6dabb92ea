"""The form of an operation: the step itself, its coat, and the rows of its mix, its time and its supplies."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.db.models import Q

from costing.choices import OperationKind
from costing.forms.fields import PlainNumberField, ShopUnitsMixin, WholeNumberField, WorkRateField
from costing.forms.groups import Group, GroupedModelForm, ShownGroup, show_groups
from costing.models import LabourClass, Operation, SpraySetup
from finishing.forms import KeyField, MeasureField
from finishing.units import Kind
from inventory.choices import MaterialKind
from inventory.models import Material

ZERO = Decimal(0)
LONGEST_WAIT = Decimal(60_000)  # min, six weeks
COAT_ONLY = "Only a coat has this. Empty it, or choose the kind Coat."


class WaitField(MeasureField):
    """A waiting time in minutes; empty is none."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(kind=Kind.TIME, **{"places": 2, "minimum": ZERO, "maximum": LONGEST_WAIT, "required": False, **kwargs})

    def clean(self, value: Any) -> Any:
        """No wait is 0 min."""
        return super().clean(value) or ZERO


class PotLifeField(MeasureField):
    """A pot life, cleaned to whole minutes."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            kind=Kind.TIME, **{"places": 0, "minimum": Decimal(1), "maximum": LONGEST_WAIT, "required": False, **kwargs}
        )

    def clean(self, value: Any) -> Any:
        """Whole minutes, or None."""
        minutes = super().clean(value)
        return None if minutes is None else int(minutes)


class OperationForm(ShopUnitsMixin, GroupedModelForm):
    """One step of a coating system. The coat's fields are filled for a coat and empty otherwise."""

    use_required_attribute = False  # a folded-away coat must not keep the form from being sent

    crew = WholeNumberField(label="People on it", min_value=1, max_value=20, initial=1)
    wet_film = MeasureField(
        kind=Kind.FILM, places=2, required=False, minimum=Decimal(1), maximum=Decimal(2000), help_text="As the gauge reads it."
    )
    dry_film = MeasureField(
        kind=Kind.FILM,
        places=2,
        required=False,
        minimum=Decimal(1),
        maximum=Decimal(1000),
        help_text="Or this: the wet film then follows from the volume solids.",
    )
    sag_limit = MeasureField(
        kind=Kind.FILM,
        places=2,
        required=False,
        label="Sags above",
        minimum=Decimal(1),
        maximum=Decimal(2000),
        help_text="Wet film at which this coat begins to run on upright work. An estimate says when a coat goes on wetter.",
    )
    thinning_percent = PlainNumberField(
        label="Thinning",
        unit="%",
        required=False,
        min_value=ZERO,
        max_value=Decimal(200),
        max_digits=6,
        decimal_places=3,
        help_text="Parts of thinner to 100 parts of the mix before thinning.",
    )
    pot_life_min = PotLifeField(label="Usable pot life", help_text="Empty: as the materials say; none for one part.")
    induction_min = PotLifeField(
        label="Induction time", minimum=ZERO, maximum=Decimal(1440), help_text="How long the mix stands before it is sprayed."
    )
    spray_rate = WorkRateField(
        label="Spraying rate for this coat",
        required=False,
        minimum=Decimal("0.1"),
        maximum=Decimal(2000),
        help_text="Empty: the setup’s own rate.",
    )
    flash_minutes = WaitField(label="Flash-off in the booth", maximum=Decimal(10_000))
    dry_minutes = WaitField(label="Dry before the next operation")
    stacking_minutes = WaitField(label="Dry to stacking, if this is the last coat")

    groups = (Group(legend="The step", names=("name", "kind", "zone", "labour_class", "crew"), columns=2),)
    coat_groups: ClassVar[tuple[Group, ...]] = (
        Group(
            legend="The coat",
            words="Give the wet film or the dry film, one of the two.",
            names=("setup", "spray_rate", "wet_film", "dry_film", "sag_limit"),
            columns=2,
        ),
        Group(legend="Thinner and pot life", names=("thinner", "thinning_percent", "induction_min", "pot_life_min"), columns=2),
        Group(legend="Waits", names=("flash_minutes", "dry_minutes", "stacking_minutes"), columns=3),
    )
    coat_names: ClassVar[tuple[str, ...]] = tuple(name for group in coat_groups for name in group.names)

    class Meta:
        model = Operation
        fields = [
            "name",
            "kind",
            "zone",
            "labour_class",
            "crew",
            "setup",
            "spray_rate",
            "wet_film",
            "dry_film",
            "sag_limit",
            "thinner",
            "thinning_percent",
            "induction_min",
            "pot_life_min",
            "flash_minutes",
            "dry_minutes",
            "stacking_minutes",
        ]
        labels = {"zone": "Which pieces", "setup": "Spray setup"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        held = self.instance
        self._offer("labour_class", LabourClass.objects.filter(Q(is_active=True) | Q(pk=held.labour_class_id)))
        self._offer("setup", SpraySetup.objects.filter(Q(is_active=True) | Q(pk=held.setup_id)), "No setup")
        thinners = Material.objects.filter(Q(is_active=True, kind=MaterialKind.THINNER) | Q(pk=held.thinner_id))
        self._offer("thinner", thinners, "No thinner")

    def _offer(self, name: str, choices: Any, empty: str = "Choose") -> None:
        field = self.fields[name]
        if isinstance(field, forms.ModelChoiceField):
            field.queryset = choices
            field.empty_label = empty

    def shown_coat_groups(self) -> Iterator[ShownGroup]:
        """The groups of the coat, which a page may fold away for other kinds."""
        self.fields["setup"].required = True  # for the words beside it: a coat has one
        return show_groups(self, self.coat_groups)

    @property
    def is_coat(self) -> bool:
        """True when the kind that was chosen is a coat."""
        return bool(self.cleaned_data.get("kind") == OperationKind.COAT)

    def clean_induction_min(self) -> int:
        """No induction time is 0 min."""
        return self.cleaned_data["induction_min"] or 0

    def clean_thinning_percent(self) -> Decimal:
        """No thinning is 0 %."""
        return self.cleaned_data["thinning_percent"] or ZERO

    def clean(self) -> dict[str, Any]:
        """A coat has a setup and one film; anything else has none of the coat's data."""
        cleaned = super().clean() or self.cleaned_data
        if self.is_coat:
            self._check_coat(cleaned)
        elif cleaned.get("kind"):
            for name in self.coat_names:
                if cleaned.get(name):
                    self.add_error(name, COAT_ONLY)
        return cleaned

    def _check_coat(self, cleaned: dict[str, Any]) -> None:
        if "setup" in cleaned and cleaned["setup"] is None:
            self.add_error("setup", "A coat needs a spray setup: choose one.")
        if "wet_film" in cleaned and "dry_film" in cleaned:
            wet, dry = cleaned["wet_film"], cleaned["dry_film"]
            if wet is None and dry is None:
                self.add_error("wet_film", "Give the wet film or the dry film of this coat.")
            elif wet is not None and dry is not None:
                self.add_error("dry_film", "Give the wet film or the dry film, not both: empty one of them.")
        if "thinner" in cleaned and "thinning_percent" in cleaned:
            if cleaned["thinner"] is not None and not cleaned["thinning_percent"]:
                self.add_error("thinning_percent", "How much thinner? Give the percent, or choose no thinner.")
            elif cleaned["thinner"] is None and cleaned["thinning_percent"]:
                self.add_error("thinner", "Which thinner? Choose it, or empty the thinning.")


class NewOperationForm(OperationForm):
    """An operation written for the first time; sent twice, made once."""

    key = KeyField()
