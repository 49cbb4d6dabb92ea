"""A form of materials: an amount and a lot for each component of a mix and for each supply, with what is proposed.

An amount left empty is the amount proposed beside it. A lot is tapped, or its code is scanned into the box above them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone

from costing.core.plan import share_of_mix
from costing.models import JobStepMaterial
from costing.services.coat_checks import mix_of
from costing.services.coat_log import Use, drawn
from costing.services.work_errors import MixError, UseRefusedError, WorkError
from costing.work import Proposal, StepView, propose
from finishing import show
from finishing.forms import KeyedForm
from finishing.models import User
from finishing.units import Kind, convert, shown_unit
from inventory.choices import StockUnit
from inventory.core.gs1 import ScanProblem, read_scan
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


class LotSelect(forms.RadioSelect):
    """Lots as buttons to tap; each carries its number, so that a scanned code finds it on the device too."""

    numbers: Mapping[str, str] = {}

    def create_option(self, name: str, value: Any, *args: Any, **kwargs: Any) -> dict[str, Any]:
        """The choice with the lot's number beside it."""
        option: dict[str, Any] = super().create_option(name, value, *args, **kwargs)
        option["attrs"]["data-lot-number"] = self.numbers.get(str(value), "")
        return option


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


class MaterialForm(KeyedForm):
    """The fields of a step's materials. A subclass says how much is mixed (a field ``mixed``) and what a supply depends on."""

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        view: StepView,
        lots: Mapping[int, list[Lot]],
        by: User,
        now: datetime,
        initial: Mapping[str, Any] | None = None,
    ) -> None:
        self.view, self.lots, self.now = view, lots, now
        self.today = timezone.localdate(now)
        self.may_override = by.has_perm("inventory.override_lot")
        super().__init__(self._scanned(data), initial=dict(initial or {}), prefix=None)

    def add_materials(self, lines: Sequence[JobStepMaterial], system: Any) -> None:
        """Add the fields of these materials, and the box for codes before them."""
        if lines:
            self.fields["scan"] = forms.CharField(
                label="Scan a lot",
                required=False,
                max_length=300,
                help_text="Scan the code on the can: its lot is chosen below.",
                widget=forms.TextInput(attrs={"autocomplete": "off", "data-scan-lot": "1", "inputmode": "text"}),
            )
        for line in lines:
            self._add_material(line, system)
        if self.may_override and lines:
            self.fields["override_reason"] = forms.CharField(
                label="Why an expired or quarantined lot is used",
                max_length=300,
                required=False,
                help_text="Only needed when such a lot is chosen above. Kept with the movement.",
            )

    def _scanned(self, data: Mapping[str, Any] | None) -> Mapping[str, Any] | None:
        """What was sent, with the lot of a scanned code chosen in its material."""
        text = str(data.get("scan", "")).strip() if data is not None else ""
        if data is None or not text:
            return data
        read = read_scan(text, today=self.today)
        numbers = {text} if isinstance(read, ScanProblem) else {text, read.lot}
        sent = data.dict() if hasattr(data, "dict") else dict(data)
        for line in self.view.materials:
            for lot in self._offered(line):
                if lot.number in numbers:
                    return {**sent, f"lot_{line.pk}": str(lot.pk), "scan": ""}
        return {**sent, "scan": text}

    def clean_scan(self) -> str:
        """A code that no offered lot has is told at the box."""
        text: str = self.cleaned_data["scan"]
        if text:
            raise forms.ValidationError(f"No usable lot of this step’s materials has the code “{text}”. Tap the lot instead.")
        return text

    def _add_material(self, line: JobStepMaterial, system: Any) -> None:
        unit = StockUnit.LITRE if line.is_component else StockUnit(line.material.stock_unit)
        self.fields[f"amount_{line.pk}"] = StockQuantityField(
            stock_unit=unit, system=system, label=f"{line.material}: amount", required=False, above=None, minimum=ZERO
        )
        widget = LotSelect()
        widget.numbers = {str(lot.pk): lot.number for lot in self._offered(line)}
        self.fields[f"lot_{line.pk}"] = forms.ChoiceField(
            label=f"{line.material}: lot",
            required=False,
            widget=widget,
            choices=self._words_for(line),
            error_messages={"invalid_choice": _NO_LOT},
        )

    def _words_for(self, line: JobStepMaterial) -> list[tuple[str, str]]:
        return [("", "First to expire, first out"), *((str(lot.pk), self._lot_words(lot)) for lot in self._offered(line))]

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
        """What is proposed of a supply, in stock units."""
        return line.planned

    def _chosen(self, line: JobStepMaterial) -> Lot | None:
        pk = self._value(f"lot_{line.pk}")
        return next((lot for lot in self.lots.get(line.material_id, []) if str(lot.pk) == pk), None) if pk else None

    @property
    def mix_sign(self) -> str:
        """The mix in a word, by which a batch that still waits on the tablet is known to fit this coat."""
        return "-".join(f"{pk}:{parts}" for pk, parts in sorted(mix_of(self.view.step)))

    def uses_of(self, rows: Sequence[MaterialRow]) -> list[Use]:
        """Rows for the service; needs a valid form. A component that was left empty follows the mix."""
        return [
            Use(
                line=row.line,
                amount=self.cleaned_data.get(f"amount_{row.line.pk}") if row.line.is_component else self._typed_or_proposed(row),
                lot=self._chosen(row.line),
            )
            for row in rows
        ]

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
