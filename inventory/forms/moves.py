"""Forms that move stock: issue, return, write off, reverse; and what is said of a lot."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import models
from django.utils import timezone

from finishing.forms import KeyedForm
from finishing.show import day, preferences, quantity
from finishing.units import convert
from inventory.choices import StockUnit, WriteOffCause
from inventory.errors import LotNotUsableError, NotEnoughStockError, ReturnTooLargeError, StockError
from inventory.forms.fields import StockQuantityField, day_box, typed_unit
from inventory.models import Lot, Material

EARLIEST = date(2000, 1, 1)
HOW_MUCH = "Write how much, with its unit when it is not the one shown."
_SHOWN_HALF = Decimal("0.0005")


def today() -> date:
    """The day in the shop's time zone."""
    return timezone.localdate()


def past_day(value: date) -> date:
    """Stock moves on a day that has come, in this century; raises ``ValidationError``."""
    if value > today():
        raise ValidationError("This day has not come yet.")
    if value < EARLIEST:
        raise ValidationError(f"This day lies too far back: {day(EARLIEST)} is the earliest.")
    return value


def all_when_shown_so(wanted: Decimal, held: Decimal, stock_unit: StockUnit) -> Decimal:
    """What people read as all that is left is all that is left.

    Pages show three decimals of the shop's unit. A quantity that differs from ``held`` by less than half of the last of
    them is taken as ``held``, so that nobody is refused the figure that the page shows, and no crumb stays behind.
    """
    step = convert(_SHOWN_HALF, from_unit=typed_unit(stock_unit, preferences().units), to_unit=stock_unit.value)
    return held if abs(wanted - held) * step.denominator <= step.numerator else wanted


class DayField(forms.DateField):
    """The day on which stock moved; today unless said otherwise."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"label": "Day", "initial": today, "widget": day_box(), "validators": [past_day], **kwargs})


class StockForm(KeyedForm):
    """A keyed form about one material; what the ledger refuses becomes an error at its field."""

    def __init__(self, *args: Any, material: Material, **kwargs: Any) -> None:
        self.material = material
        super().__init__(*args, **kwargs)
        field = self.fields.get("quantity")
        if isinstance(field, StockQuantityField):
            field.use(material.unit, preferences().units)

    def refuse(self, error: StockError) -> None:
        """Put the ledger's refusal where it can be mended."""
        field = error.field if error.field in self.fields else None
        self.add_error(field, self.words_for(error))

    def words_for(self, error: StockError) -> str:
        """The refusal in words, with quantities and days the shop's way."""
        unit = self.material.stock_unit
        if isinstance(error, NotEnoughStockError):
            words = f"There is not enough: {quantity(error.usable, unit)} can be taken."
            if error.unusable:
                words += f" Another {quantity(error.unusable, unit)} is expired or in quarantine."
            return words
        if isinstance(error, ReturnTooLargeError):
            return f"Only {quantity(error.issued, unit)} of this lot is out, so no more can come back."
        if isinstance(error, LotNotUsableError):
            return f"Lot {error.lot.number} {why_unfit(error.lot)}."
        return str(error)


def why_unfit(lot: Lot) -> str:
    """Why a lot may not be used, as the rest of a sentence."""
    if lot.is_set_aside:
        return f"is in quarantine: {lot.why_set_aside}" if lot.why_set_aside else "is in quarantine"
    if lot.usable_until == lot.expires_on:
        return f"expired on {day(lot.expires_on)}"
    return f"was opened on {day(lot.opened_on)} and was good until {day(lot.usable_until)}"


class IssueForm(StockForm):
    """Take a material out of stock: first expired first out, or from one lot that somebody names."""

    quantity = StockQuantityField(label="How much", error_messages={"required": HOW_MUCH})
    reference = forms.CharField(
        label="What for",
        max_length=120,
        help_text="The job, or what it was used for.",
        error_messages={"required": "Write for which job, or what it was used for."},
    )
    lot = forms.ModelChoiceField(
        queryset=Lot.objects.none(), required=False, label="From lot", empty_label="The lots that expire first"
    )
    opens = forms.BooleanField(required=False, label="This opens the container")
    on = DayField()
    reason = forms.CharField(required=False, max_length=300, label="Remark")
    override_reason = forms.CharField(
        required=False,
        max_length=300,
        label="Why a lot that is not fit for use is taken",
        help_text="Only for an expired lot or one in quarantine. The reason is kept with the movement.",
    )

    def __init__(self, *args: Any, may_override: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["lot"].queryset = self._lots()  # type: ignore[attr-defined]
        self.fields["lot"].label_from_instance = self._lot_words  # type: ignore[attr-defined]
        self.may_override = may_override
        if not may_override:
            del self.fields["override_reason"]
        life = self.material.open_life_days
        if life is None or self.material.opens_on_issue or not self._lots().filter(opened_on=None).exists():
            del self.fields["opens"]
        else:
            self.fields["opens"].help_text = f"It can then be used for {life} days, from the day of this issue."

    @property
    def needs_override(self) -> bool:
        """Whether to ask why an unfit lot is taken: once one is chosen, by somebody who may allow it."""
        if not self.may_override:
            return False
        chosen = str(self["lot"].value() or "")
        return any(str(lot.pk) == chosen and not lot.is_usable(today()) for lot in self._lots())

    def _lots(self) -> models.QuerySet[Lot]:
        return Lot.objects.filter(material=self.material).in_stock().with_state().first_expired_first()

    def _lot_words(self, lot: Lot) -> str:
        left = quantity(lot.on_hand, self.material.stock_unit)
        until = lot.usable_until
        if lot.is_set_aside:
            state = "in quarantine"
        elif until is None:
            state = "no expiry date"
        else:
            state = f"{'expired' if until < today() else 'until'} {day(until)}"
        return f"{lot.number} – {left}, {state}"

    def clean(self) -> dict[str, Any]:
        """Taking what the page shows as all that is left empties the lot."""
        data = super().clean() or self.cleaned_data
        lot, wanted = data.get("lot"), data.get("quantity")
        if lot is not None and wanted is not None:
            data["quantity"] = all_when_shown_so(wanted, lot.on_hand, self.material.unit)
        return data

    def refuse(self, error: StockError) -> None:
        """An unfit lot is told at the lot; who may override is pointed to the reason."""
        if isinstance(error, LotNotUsableError):
            may = "override_reason" in self.fields
            hint = "Say below why it is taken all the same." if may else "Ask the office, who can allow it with a reason."
            self.add_error("lot", f"{self.words_for(error)} {hint}")
        else:
            super().refuse(error)


class LotQuantityForm(StockForm):
    """A form about a quantity of one lot."""

    def __init__(self, *args: Any, lot: Lot, **kwargs: Any) -> None:
        self.lot = lot
        super().__init__(*args, material=lot.material, **kwargs)


class ReturnForm(LotQuantityForm):
    """Put back into its lot what was taken and not used."""

    quantity = StockQuantityField(label="How much comes back", error_messages={"required": HOW_MUCH})
    reference = forms.CharField(
        label="From",
        max_length=120,
        help_text="The job, or what it had been taken for.",
        error_messages={"required": "Write what it had been taken for."},
    )
    on = DayField()
    reason = forms.CharField(required=False, max_length=300, label="Remark")


class WriteOffForm(LotQuantityForm):
    """Take out of stock what nobody can use any more."""

    quantity = StockQuantityField(label="How much", error_messages={"required": HOW_MUCH})
    cause = forms.ChoiceField(
        label="Cause",
        error_messages={"required": "Choose the cause."},
        choices=[("", "Choose"), *(c for c in WriteOffCause.choices if c[0] != WriteOffCause.NONE.value)],
    )
    on = DayField()
    reason = forms.CharField(
        required=False, max_length=300, label="What happened", help_text="Not needed for what is out of date."
    )

    def clean_quantity(self) -> Decimal:
        """What the page shows as all that is left is all of it."""
        return all_when_shown_so(self.cleaned_data["quantity"], self.lot.on_hand, self.material.unit)

    def clean_cause(self) -> WriteOffCause:
        """The cause as a choice."""
        return WriteOffCause(self.cleaned_data["cause"])

    def clean(self) -> dict[str, Any]:
        """A lot that is out of date explains itself; everything else is told in words."""
        data = super().clean() or self.cleaned_data
        explains_itself = data.get("cause") in (None, WriteOffCause.EXPIRED)
        if not explains_itself and not data.get("reason") and "reason" not in self.errors:
            self.add_error("reason", "Say in a few words what happened.")
        return data


class ReverseForm(KeyedForm):
    """Post the counter-movement of a posting."""

    reason = forms.CharField(max_length=300, label="Why it is reversed", error_messages={"required": "Say why it is reversed."})

    def refuse(self, error: StockError) -> None:
        """Whatever stands against it concerns the whole posting."""
        self.add_error(None, str(error))


class OpenForm(forms.Form):
    """The container of a lot was opened."""

    on = DayField(label="Opened on")


class OpenContainerForm(LotQuantityForm):
    """One container of a lot that came in several was opened."""

    quantity = StockQuantityField(
        label="How much is in it",
        error_messages={"required": HOW_MUCH},
        help_text="The opened container becomes a lot of its own, with the same number, so that the others keep their date.",
    )
    on = DayField(label="Opened on")

    def clean_quantity(self) -> Decimal:
        """What the page shows as all that is left is all of it."""
        return all_when_shown_so(self.cleaned_data["quantity"], self.lot.on_hand, self.material.unit)


class QuarantineForm(forms.Form):
    """Set a lot aside."""

    reason = forms.CharField(
        max_length=200, label="Why it is set aside", error_messages={"required": "Say why the lot is set aside."}
    )


class ReleaseForm(forms.Form):
    """Free a lot again: nothing to fill in."""
