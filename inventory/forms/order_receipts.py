"""The form of a delivery against an order: a row for each lot that came."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.core.exceptions import ValidationError

from finishing.forms import MoneyFormField
from finishing.show import day, quantity
from inventory.core.lots import expiry
from inventory.errors import StockError
from inventory.forms.asked import AskedForm
from inventory.forms.fields import day_box, lot_box
from inventory.forms.moves import EARLIEST, DayField
from inventory.forms.orders import PACKS_ERRORS, ContainersField, PacksField
from inventory.forms.prices import price_doubt
from inventory.forms.receiving import LONGEST_LIFE
from inventory.models import PurchaseOrderLine
from inventory.selectors_orders import Standing
from inventory.services.deliveries import BookedBeforeError
from inventory.services.order_receipts import ArrivedLine
from inventory.services.orders import MOST_LINES

MOST_ROWS = MOST_LINES + 50  # every line of the largest order, and room for packs that came in several lots
TYPED = ("packs", "lot_number", "made_on", "expires_on", "price", "containers")


class ArrivalHeadForm(AskedForm):
    """On which paper it came, when."""

    reference = forms.CharField(
        max_length=120,
        label="Delivery note",
        help_text="Its number.",
        error_messages={"required": "Write what stands on the delivery note."},
    )
    on = DayField(label="Received on")
    accept_expired_reason = forms.CharField(
        required=False,
        max_length=300,
        label="Why stock that is out of date is accepted",
        help_text="Only for lots whose expiry lies before the delivery. The reason is kept.",
    )


class ArrivalRowForm(forms.Form):
    """One lot that came for a line of the order."""

    line = forms.ChoiceField(
        label="For", error_messages={"required": "Choose the line of the order."}, widget=forms.Select(attrs={"class": "compact"})
    )
    packs = PacksField(label="Packs", error_messages={**PACKS_ERRORS, "required": "Count the packs that came."})
    lot_number = forms.CharField(required=False, max_length=40, label="Lot number", widget=lot_box())
    made_on = forms.DateField(required=False, label="Made on", widget=day_box())
    expires_on = forms.DateField(required=False, label="Expires on", widget=day_box())
    price = MoneyFormField(required=False, label="Price paid")
    containers = ContainersField()

    def __init__(self, *args: Any, awaited: Sequence[Standing], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.awaited = {str(standing.line.pk): standing for standing in awaited}
        choices = [
            (key, f"{one.line.material.name}, {one.line.pack.description}: {one.words}") for key, one in self.awaited.items()
        ]
        self.fields["line"].choices = [("", "Choose"), *choices]  # type: ignore[attr-defined]

    @property
    def is_filled(self) -> bool:
        """Whether anything was typed; the line alone, which is offered, is nothing."""
        return any(str(self.data.get(self.add_prefix(name), "")).strip() for name in TYPED)

    def full_clean(self) -> None:
        """A row without anything typed is left out, whatever line it offers."""
        if self.is_bound and not self.is_filled:
            self.empty_permitted = True
            self._errors, self.cleaned_data = forms.utils.ErrorDict(), {}
            return
        self.empty_permitted = False
        super().full_clean()

    def clean(self) -> dict[str, Any]:
        """Check the days against one another, and ask for what the label says."""
        data = super().clean() or self.cleaned_data
        for name in ("made_on", "expires_on"):
            if data.get(name) and data[name] < EARLIEST:
                self.add_error(name, f"This lies too far back: {day(EARLIEST)} is the earliest.")
        made, expires = data.get("made_on"), data.get("expires_on")
        if made and expires and expires < made:
            self.add_error("expires_on", f"It can’t expire before it was made, on {day(made)}.")
        if data.get("line"):
            self._ask_for_label(data)
        return data

    def _ask_for_label(self, data: dict[str, Any]) -> None:
        material = self.subject.material
        if material.is_liquid and not data.get("lot_number") and "lot_number" not in self.errors:
            self.add_error("lot_number", "Copy the lot number from the label.")
        dated = data.get("made_on") or data.get("expires_on") or {"made_on", "expires_on"} & set(self.errors)
        if material.shelf_life_days and not dated:
            words = f"Write when it expires or when it was made: it keeps for {material.shelf_life_days} days."
            self.add_error("expires_on", words)

    @property
    def subject(self) -> PurchaseOrderLine:
        """The line of the order; only once the row names one."""
        return self.awaited[self.cleaned_data["line"]].line

    @property
    def last_day(self) -> date | None:
        """The expiry as typed, or the day it was made and the material's shelf life."""
        typed: date | None = self.cleaned_data["expires_on"]
        return typed or expiry(made_on=self.cleaned_data["made_on"], shelf_life_days=self.subject.material.shelf_life_days)

    def check_against(self, on: date, reason: str) -> bool:
        """Compare with the day of the delivery. True when the lot is out of date on that day."""
        made, expires = self.cleaned_data["made_on"], self.last_day
        if made and made > on:
            self.add_error("made_on", f"It can’t be made after it was delivered, on {day(on)}.")
        if expires and expires > on + LONGEST_LIFE:
            self.add_error("expires_on", "This lies more than 30 years ahead.")
        out_of_date = bool(expires and expires < on)
        if out_of_date and not reason:
            words = f"It is out of date: it expired on {day(expires)}. Send it back, or say below why it is accepted."
            self.add_error("expires_on", words)
        return out_of_date

    def arrived(self, on: date) -> ArrivedLine:
        """The row as the service takes it. What has no lot number of its own is called after the day it came."""
        data = self.cleaned_data
        return ArrivedLine(
            line=self.subject,
            packs=data["packs"],
            lot_number=data["lot_number"] or f"{on:%Y-%m-%d}",
            made_on=data["made_on"],
            expires_on=self.last_day,
            price=data["price"],
            containers=data["containers"],
        )


if TYPE_CHECKING:
    FormSet = forms.BaseFormSet[ArrivalRowForm]
else:
    FormSet = forms.BaseFormSet


class BaseArrivalRows(FormSet):
    """The rows; those in which nothing was typed are passed over."""

    def filled(self) -> list[ArrivalRowForm]:
        """The rows in which something was typed."""
        return [form for form in self.forms if form.is_filled]

    def clean(self) -> None:
        """A delivery brings something."""
        if not self.filled():
            raise ValidationError("Nothing is counted yet: write how many packs came in at least one row.")


def row_set(extra: int) -> Any:
    """The class of the rows, with so many empty ones after those of the lines."""
    return forms.formset_factory(
        ArrivalRowForm,
        formset=BaseArrivalRows,
        extra=extra,
        max_num=MOST_ROWS,
        absolute_max=MOST_ROWS,
        validate_max=True,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadBack:
    """One line of the order after this delivery, in words."""

    standing: Standing
    packs: int  # in this delivery
    value: Decimal
    doubts: tuple[str, ...]  # prices far from the order's

    @property
    def amount(self) -> str:
        """How much that is in the stock unit."""
        line = self.standing.line
        return quantity(line.content * self.packs, line.material.stock_unit)


class Arrival:
    """A delivery against an order as typed: its head and its rows, checked together."""

    def __init__(self, awaited: Sequence[Standing], data: Any = None) -> None:
        self.awaited = awaited
        self.head = ArrivalHeadForm(data)
        initial = [{"line": str(one.line.pk)} for one in awaited if one.to_come]
        made = row_set(extra=2)(data, prefix="rows", initial=initial, form_kwargs={"awaited": awaited})
        self.rows = cast(BaseArrivalRows, made)
        self.needs_reason = False

    def is_valid(self) -> bool:
        """Check everything, so that all errors are told at once; rows are compared with the head when both can be read."""
        head_ok, rows_ok = self.head.is_valid(), self.rows.is_valid()
        if self.head.is_bound and "on" in self.head.cleaned_data:
            rows_ok = self._compare() and rows_ok
        return head_ok and rows_ok

    def _compare(self) -> bool:
        data = self.head.cleaned_data
        for row in self.rows.filled():
            if row.is_valid() and row.check_against(data["on"], data.get("accept_expired_reason", "")):
                self.needs_reason = True
        return all(row.is_valid() for row in self.rows.filled())

    @property
    def lines(self) -> list[ArrivedLine]:
        """What the service is asked to book; only after ``is_valid``."""
        return [row.arrived(self.head.cleaned_data["on"]) for row in self.rows.filled()]

    def refuse(self, error: StockError) -> None:
        """Put a refusal at its row and field."""
        filled = self.rows.filled()
        if isinstance(error, BookedBeforeError):
            self.head.ask(error)
        elif error.line is not None and error.line < len(filled):
            row = filled[error.line]
            field = {"quantity": "packs", "unit_cost": "price"}.get(error.field, error.field)
            row.add_error(field if field in row.fields else None, str(error))
        else:
            self.head.add_error(error.field if error.field in self.head.fields else None, str(error))

    def read_back(self) -> list[ReadBack]:
        """How the order would stand after this delivery, line by line; only after ``is_valid``."""
        arrived: dict[int, list[ArrivedLine]] = {}
        for line in self.lines:
            arrived.setdefault(line.line.pk, []).append(line)
        found = []
        for standing in self.awaited:
            came = arrived.get(standing.line.pk, [])
            packs = sum(one.packs for one in came)
            paid = sum(((one.line.price if one.price is None else one.price) * one.packs for one in came), Decimal(0))
            after = Standing(line=standing.line, received=standing.received + standing.line.content * packs)
            doubts = tuple(filter(None, dict.fromkeys(price_doubt(one.price, one.line.price) for one in came)))
            found.append(ReadBack(standing=after, packs=packs, value=paid, doubts=doubts))
        return found
