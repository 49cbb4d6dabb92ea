"""The form on which work is logged: what was mixed, from which lots, how long it took.

Its material fields follow the step: an amount and a lot for each component of the mix and for each supply. An amount left
empty is the amount proposed beside it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone

from costing.choices import Driver
from costing.core.plan import share_of_mix, supply_for
from costing.forms.fields import WholeNumberField
from costing.models import JobStepMaterial
from costing.services.coat_log import Use, drawn
from costing.services.work_errors import MixError, UseRefusedError, WorkError
from costing.work import Proposal, StepView, propose
from finishing import show
from finishing.forms import KeyedForm, MeasureField
from finishing.models import User
from finishing.units import Kind, convert, shown_unit
from inventory.choices import StockUnit
from inventory.errors import StockError
from inventory.forms.fields import StockQuantityField
from inventory.models import Lot

ZERO = Decimal(0)
LOCAL_TIME = "%Y-%m-%dT%H:%M"
CLOCK_SLACK = timedelta(minutes=5)
"""A tablet's clock may run ahead of the server's by this much."""

_NO_LOT = "This lot is used up, expired or in quarantine. Choose another one."
_FIELDS = {"quantity": "amount", "lot": "lot"}  # what the ledger calls its fields, and how they begin here


def readable_litres(litres: Decimal) -> Decimal:
    """The nearest amount in L that reads as a thousandth of the shop's own unit: a cup is not read any finer."""
    unit = shown_unit(Kind.VOLUME, show.preferences().units)
    shown = round(convert(litres, from_unit="L", to_unit=unit), 3)
    back = convert(shown, from_unit=unit, to_unit="L")
    return round(Decimal(back.numerator) / Decimal(back.denominator), 6)


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialRow:
    """One material of the step on the form: its two fields and what is proposed."""

    line: JobStepMaterial
    amount: forms.BoundField
    lot: forms.BoundField
    proposed: Decimal | None  # litres in the mix for a component, stock units for a supply; None while the mix is not known
    used: Decimal | None  # what was typed, or else what is proposed
    drawn: Decimal  # stock units that leave the stock
    proposal: Proposal


class LogForm(KeyedForm):
    """Work on one step. The fields of the mix are there for coats only."""

    seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0)
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
    ) -> None:
        self.view, self.lots, self.now = view, lots, now
        self.today = timezone.localdate(now)
        self.may_override = by.has_perm("inventory.override_lot")
        super().__init__(data, initial=self._start(), prefix=None)
        system = show.preferences().units
        if view.step.is_coat:
            self._add_mix_fields(system)
        self.fields["minutes"].help_text = f"Planned: {show.minutes(view.step.planned_minutes)}, all people together."
        for line in view.materials:
            self._add_material(line, system)
        if self.may_override and view.materials:
            self.fields["override_reason"] = forms.CharField(
                label="Why an expired or quarantined lot is used",
                max_length=300,
                required=False,
                help_text="Only needed when such a lot is chosen above. Kept with the movement.",
            )

    def _start(self) -> dict[str, Any]:
        """What the fresh form proposes: the rest of the plan, done now."""
        left = self.view.mix_left
        return {
            "seen": len(self.view.logs),
            "done_at": timezone.localtime(self.now).replace(second=0, microsecond=0),
            "finishes_step": True,
            "mixed": readable_litres(left) or None,
            "fills": max(self.view.step.planned_fills - self.view.fills, 0) if left else None,
        }

    def _add_mix_fields(self, system: Any) -> None:
        self.fields["mixed"] = StockQuantityField(
            stock_unit=StockUnit.LITRE, system=system, label="Mixed in all", maximum=Decimal(1000)
        )
        self.fields["fills"] = WholeNumberField(label="Cup fills", min_value=0, max_value=500)
        self.fields["wet_film"] = MeasureField(
            kind=Kind.FILM,
            system=system,
            label="Wet film, mean of the readings",
            required=False,
            minimum=Decimal(1),
            maximum=Decimal(2000),
            places=2,
            help_text=f"Planned: {show.film(self.view.step.wet_film)}.",
        )
        self.order_fields(["mixed", "fills", "minutes", "wet_film", "done_at"])

    def _add_material(self, line: JobStepMaterial, system: Any) -> None:
        unit = StockUnit.LITRE if line.is_component else StockUnit(line.material.stock_unit)
        self.fields[f"amount_{line.pk}"] = StockQuantityField(
            stock_unit=unit, system=system, label=f"{line.material}: amount", required=False, above=None, minimum=ZERO
        )
        self.fields[f"lot_{line.pk}"] = forms.ChoiceField(
            label=f"{line.material}: lot",
            required=False,
            choices=[("", "First to expire, first out"), *((str(lot.pk), self._lot_words(lot)) for lot in self._offered(line))],
            error_messages={"invalid_choice": _NO_LOT},
        )

    def _offered(self, line: JobStepMaterial) -> list[Lot]:
        """Usable lots, and to those who may override also the others."""
        lots = self.lots.get(line.material_id, [])
        return [lot for lot in lots if self.may_override or lot.is_usable(self.today)]

    def _lot_words(self, lot: Lot) -> str:
        words = [lot.number, show.quantity(lot.on_hand, lot.material.stock_unit)]
        if lot.is_set_aside:
            words.append("in quarantine")
        elif lot.usable_until is not None:
            words.append(f"{'until' if lot.is_usable(self.today) else 'expired'} {show.day(lot.usable_until)}")
        return " · ".join(words)

    def clean_done_at(self) -> datetime:
        """Work is logged after it was done."""
        done_at: datetime = self.cleaned_data["done_at"]
        if done_at > self.now + CLOCK_SLACK:
            raise forms.ValidationError("This is in the future. Give the time at which the work was done.")
        return min(done_at, self.now)

    # ------------------------------------------------------------ proposals and uses

    def _value(self, name: str) -> Any:
        """What a field holds now: cleaned when the form was sent, proposed when it is fresh."""
        if self.is_bound:
            self.errors  # noqa: B018 - cleans the form once
            return self.cleaned_data.get(name)
        return self.initial.get(name)

    @property
    def components(self) -> list[MaterialRow]:
        """The parts of the mix."""
        return [self._row(line) for line in self.view.materials if line.is_component]

    @property
    def supplies(self) -> list[MaterialRow]:
        """Everything else that the step uses up."""
        return [self._row(line) for line in self.view.materials if not line.is_component]

    @property
    def proposal_ids(self) -> str:
        """The elements that a proposal for other amounts replaces, for ``hx-select-oob``."""
        return ",".join(f"#take-{line.pk}" for line in self.view.materials)

    def _row(self, line: JobStepMaterial) -> MaterialRow:
        proposed = self._share(line) if line.is_component else self._supply(line)
        typed = self._value(f"amount_{line.pk}")
        amount = proposed if typed is None else typed
        quantity = self._drawn(line, amount)
        chosen = self._chosen(line)
        lots = self.lots.get(line.material_id, [])
        return MaterialRow(
            line=line,
            amount=self[f"amount_{line.pk}"],
            lot=self[f"lot_{line.pk}"],
            proposed=proposed,
            used=amount,
            drawn=quantity,
            proposal=propose(lots, quantity, on=self.today, chosen=chosen),
        )

    def _drawn(self, line: JobStepMaterial, amount: Decimal | None) -> Decimal:
        if not amount:
            return ZERO
        if not line.is_component:
            return amount
        try:
            return drawn(line.material, amount)
        except MixError:  # told when the form is sent
            return ZERO

    def _share(self, line: JobStepMaterial) -> Decimal | None:
        mixed = self._value("mixed")
        if not mixed:
            return None
        lines = [other for other in self.view.materials if other.is_component]
        shares = share_of_mix(mixed, [other.parts or ZERO for other in lines])
        return shares[lines.index(line)]

    def _supply(self, line: JobStepMaterial) -> Decimal:
        """By fills where the supply depends on them; else as planned for the first log of the step, nothing for later ones."""
        fills = self._value("fills")
        if line.driver == Driver.FILL and line.per_driver is not None and fills is not None:
            return supply_for(Decimal(fills), per_driver=line.per_driver, whole_units=line.whole_units)
        return ZERO if self.view.is_begun else line.planned

    def _chosen(self, line: JobStepMaterial) -> Lot | None:
        pk = self._value(f"lot_{line.pk}")
        return next((lot for lot in self.lots.get(line.material_id, []) if str(lot.pk) == pk), None) if pk else None

    def uses(self) -> tuple[Sequence[Use], Sequence[Use]]:
        """Components and supplies for the service; needs a valid form."""
        components = [
            Use(line=row.line, amount=self.cleaned_data.get(f"amount_{row.line.pk}"), lot=self._chosen(row.line))
            for row in self.components
        ]
        supplies = [Use(line=row.line, amount=self._typed_or_proposed(row), lot=self._chosen(row.line)) for row in self.supplies]
        return components, supplies

    def _typed_or_proposed(self, row: MaterialRow) -> Decimal | None:
        typed: Decimal | None = self.cleaned_data.get(f"amount_{row.line.pk}")
        return row.proposed if typed is None else typed

    # ------------------------------------------------------------ refusals

    def refuse(self, error: WorkError | StockError) -> None:
        """Put what the service or the ledger refuses at its field."""
        name = error.field
        if isinstance(error, UseRefusedError):
            name = f"{_FIELDS.get(error.field, 'amount')}_{error.line.pk}"
        name = {"on": "done_at"}.get(name, name)
        place = name if name in self.fields and not self.fields[name].widget.is_hidden else None
        self.add_error(place, str(error))

    def accept_what_was_logged(self, number: int) -> None:
        """Let the next sending count the logs of others as seen."""
        self.data = {**self.data.dict(), "seen": str(number)} if hasattr(self.data, "dict") else {**self.data, "seen": number}
