"""The form on which work is logged: what was mixed or taken from a pot, from which lots, how long it took, what was read.

Its material fields follow the step. A coat is sprayed out of a batch that was mixed before, or mixed as it is sprayed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone

from costing.choices import Driver
from costing.core.plan import supply_for
from costing.forms.booth import DeviceClock, MomentField, ReadingsField, TemperatureField
from costing.forms.fields import PlainNumberField, WholeNumberField
from costing.forms.material_rows import CLOCK_SLACK, LOCAL_TIME, ZERO, MaterialForm, MaterialRow, readable_litres
from costing.models import Batch, Defect, JobStepMaterial
from costing.services.coat_checks import BoothNotes
from costing.services.coat_log import Use
from costing.work import StepView
from finishing import show
from finishing.forms import MeasureField
from finishing.models import User
from finishing.units import Kind
from inventory.choices import StockUnit
from inventory.forms.fields import StockQuantityField
from inventory.models import Lot

POT_GONE = "This batch is empty or was taken back. Choose another one."
KEEP, THROW, BACK = "keep", "throw", "back"


class LogForm(MaterialForm):
    """Work on one step. The fields of the mix are there for coats only."""

    seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0)
    logged_meanwhile: int | None = None  # how many logs the step has, where others were logged since the form was shown
    device_now = MomentField()
    device_done = MomentField()
    device_start = MomentField()
    minutes = MeasureField(
        kind=Kind.TIME, label="Time worked", minimum=ZERO, maximum=Decimal(1440), places=2, help_text="All people together."
    )
    done_at = forms.DateTimeField(
        label="Done at",
        widget=forms.DateTimeInput(format=LOCAL_TIME, attrs={"type": "datetime-local"}),
        input_formats=[LOCAL_TIME, "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M", "%Y-%m-%d %H:%M:%S"],
    )
    finishes_step = forms.BooleanField(
        label="This finishes the step", required=False, help_text="Clear the tick when more of it is still to come."
    )
    note = forms.CharField(label="Note", max_length=300, required=False)

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        view: StepView,
        lots: Mapping[int, list[Lot]],
        by: User,
        now: datetime,
        pots: Sequence[Batch] = (),
        defects: Sequence[Defect] = (),
    ) -> None:
        self.pots = {str(pot.key): pot for pot in pots}
        self.defects = {str(defect.pk): defect for defect in defects}
        self.clock_words = ""
        self.clock_off_s: int | None = None
        self.notes = BoothNotes()
        super().__init__(data, view=view, lots=lots, by=by, now=now, initial=self._start(view, now))
        system = show.preferences().units
        if view.step.is_coat:
            self._add_mix_fields(system)
        self.fields["minutes"].help_text = f"Planned: {show.minutes(view.step.planned_minutes)}, all people together."
        self.add_materials(view.materials, system)
        self._add_reasons()

    def _start(self, view: StepView, now: datetime) -> dict[str, Any]:
        """What the fresh form proposes: the rest of the plan out of the pot that was mixed last, done now."""
        left = view.mix_left
        return {
            "seen": len(view.logs),
            "done_at": timezone.localtime(now).replace(second=0, microsecond=0),
            "finishes_step": True,
            "batch": next(iter(self.pots), ""),
            "mixed": readable_litres(left) or None,
            "fills": max(view.step.planned_fills - view.fills, 0) if left or self.pots else None,
            "rest_fate": THROW,
        }

    def _add_mix_fields(self, system: Any) -> None:
        if self.pots:
            words = [(key, self._pot_words(pot)) for key, pot in self.pots.items()]
            self.fields["batch"] = forms.ChoiceField(
                label="Sprayed from",
                choices=[*words, ("", "A new mix, mixed as it was sprayed")],
                required=False,
                widget=forms.RadioSelect,
                error_messages={"invalid_choice": POT_GONE},
            )
        self.fields["mixed"] = StockQuantityField(
            stock_unit=StockUnit.LITRE, system=system, label="Mixed in all", maximum=Decimal(1000), required=not self.pots
        )
        self.fields["fills"] = WholeNumberField(label="Cup fills", min_value=0, max_value=500)
        self.fields["left_over"] = StockQuantityField(
            stock_unit=StockUnit.LITRE,
            system=system,
            label="Left over in the pot",
            maximum=Decimal(1000),
            above=None,
            minimum=ZERO,
            required=False,
            help_text="Empty: nothing.",
        )
        fates = [(THROW, "Throw it away"), (KEEP, "Keep it for more")]
        if sum(line.is_component for line in self.view.materials) == 1:
            fates.append((BACK, "Put it back into its lot"))
        self.fields["rest_fate"] = forms.ChoiceField(
            label="What is left over", choices=fates, required=False, widget=forms.RadioSelect
        )
        self.fields["readings"] = ReadingsField(
            system=system,
            label="Wet film readings",
            help_text=f"One after the other: their mean counts. Planned: {show.film(self.view.step.wet_film)}.",
        )
        self.fields["temperature"] = TemperatureField(system=system, label="Air temperature")
        self.fields["humidity"] = PlainNumberField(
            label="Humidity",
            unit="%",
            required=False,
            min_value=Decimal(1),
            max_value=Decimal(100),
            max_digits=5,
            decimal_places=2,
        )
        if self.defects:
            self.fields["reworks"] = forms.ChoiceField(
                label="This mends",
                required=False,
                choices=[("", "No defect: planned work"), *((pk, str(defect)) for pk, defect in self.defects.items())],
            )

    def _pot_words(self, pot: Batch) -> str:
        until = pot.usable_until
        if until is None:
            clock = ""
        elif pot.is_expired(self.now):
            clock = f" · pot life over since {until:%H:%M}"
        else:
            clock = f" · good until {until:%H:%M}"
        return f"{pot.number} · {show.pour(pot.left)} left{clock}"

    def _add_reasons(self) -> None:
        self.fields["early_reason"] = forms.CharField(
            label="Why it was begun before the coat under it was dry", max_length=300, required=False
        )
        self.fields["late_reason"] = forms.CharField(
            label="Why the batch was sprayed after its pot life", max_length=300, required=False
        )

    # ------------------------------------------------------------ what was sent

    def clean_done_at(self) -> datetime:
        """Work is logged after it was done; a moment that the tablet noted itself is mended by its clock."""
        clock = self._device_clock()
        noted = self.cleaned_data.get("device_done")
        if clock is not None and clock.is_off:
            self.clock_words, self.clock_off_s = clock.words, int(clock.ahead.total_seconds())
        if clock is not None and noted is not None:
            return clock.mend(noted)
        done_at: datetime = self.cleaned_data["done_at"]
        if done_at > self.now + CLOCK_SLACK:
            raise forms.ValidationError("This is in the future. Give the time at which the work was done.")
        return min(done_at, self.now)

    def _device_clock(self) -> DeviceClock | None:
        sent = self.cleaned_data.get("device_now")
        return None if sent is None else DeviceClock(device_now=sent, server_now=self.now)

    def clean(self) -> dict[str, Any]:
        """What a pot or a new mix asks for, and the notes of the booth in one piece."""
        said = super().clean() or self.cleaned_data
        if str(self.data.get("batch") or "") not in {"", *self.pots}:
            self._tell_that_it_is_gone()
        if self.view.step.is_coat and not said.get("batch") and "mixed" in said and said["mixed"] is None:
            self.add_error("mixed", "Say how much was mixed, more than 0.")
        pot, over = self.pot, said.get("left_over")
        most = pot.left if pot is not None else said.get("mixed")
        if over and most and over >= most:
            self.add_error("left_over", f"There was {show.pour(most)} in the pot: with all of it left over nothing was sprayed.")
        self.notes = BoothNotes(
            started_at=self._timer_start(said),
            stopped_at=said.get("done_at") if said.get("device_start") else None,
            readings=said.get("readings") or (),
            temperature=said.get("temperature"),
            humidity=said.get("humidity"),
            clock_off_s=self.clock_off_s,
        )
        return said

    def _tell_that_it_is_gone(self) -> None:
        """A pot that was emptied or taken back since the page was shown must not turn into a new mix."""
        if "batch" not in self.errors:
            self.add_error("batch" if "batch" in self.fields else None, POT_GONE)

    def _timer_start(self, said: Mapping[str, Any]) -> datetime | None:
        clock, start = self._device_clock(), said.get("device_start")
        if start is None:
            return None
        try:
            return clock.mend(start) if clock is not None else start
        except forms.ValidationError:
            return None

    @property
    def pot(self) -> Batch | None:
        """The batch that was chosen."""
        return self.pots.get(str(self._value("batch") or ""))

    @property
    def mend(self) -> Defect | None:
        """The defect that this work mends."""
        return self.defects.get(str(self._value("reworks") or ""))

    @property
    def is_mixing(self) -> bool:
        """True for a coat that is mixed as it is sprayed."""
        return self.view.step.is_coat and self.pot is None

    def _supply(self, line: JobStepMaterial) -> Decimal:
        """By fills and pots where the supply depends on them; else as planned for the first log, nothing for later ones."""
        fills = self._value("fills")
        if line.per_driver is not None and line.driver == Driver.FILL and fills is not None:
            return supply_for(Decimal(fills), per_driver=line.per_driver, whole_units=line.whole_units)
        if line.per_driver is not None and line.driver == Driver.BATCH and self.pot is not None:
            fresh = 0 if self.pot.used else 1
            return supply_for(Decimal(fresh), per_driver=line.per_driver, whole_units=line.whole_units)
        return ZERO if self.view.is_begun else line.planned

    def uses(self) -> tuple[Sequence[Use], Sequence[Use]]:
        """Components (of a new mix) and supplies for the service; needs a valid form."""
        components: Sequence[MaterialRow] = self.components if self.is_mixing else ()
        return self.uses_of(components), self.uses_of(self.supplies)

    # ------------------------------------------------------------ refusals

    def accept_what_was_logged(self, number: int) -> None:
        """Let the next sending count the logs of others as seen."""
        self.logged_meanwhile = number
        self.data = {**self.data.dict(), "seen": str(number)} if hasattr(self.data, "dict") else {**self.data, "seen": number}


class TakeBackForm(forms.Form):
    """Why a log is taken back."""

    reason = forms.CharField(label="Why it is taken back", max_length=300)
