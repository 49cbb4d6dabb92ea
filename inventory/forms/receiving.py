"""The form of a delivery: who brought it, and a row for each lot."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.core.exceptions import ValidationError

from finishing.fields import to_step
from finishing.forms import MoneyFormField
from finishing.show import day, preferences, quantity
from finishing.units import Kind, UnitError, read_measure
from inventory.core.lots import expiry
from inventory.errors import StockError
from inventory.forms.asked import AskedForm
from inventory.forms.assortment import Assortment, Item
from inventory.forms.fields import MOST, StockQuantityField, day_box, lot_box
from inventory.forms.moves import EARLIEST, DayField
from inventory.forms.orders import ContainersField
from inventory.forms.prices import price_doubt
from inventory.models import Material, Supplier
from inventory.services.deliveries import BookedBeforeError
from inventory.services.ledger import ReceiptLine

MOST_ROWS = 40
MOST_PACKS = 10_000
LONGEST_LIFE = timedelta(days=365 * 30)


class DeliveryForm(AskedForm):
    """Who brought it, on which paper, when."""

    supplier = forms.ModelChoiceField(
        queryset=Supplier.objects.filter(is_active=True),
        required=False,
        empty_label="Nobody: it was here already",
    )
    reference = forms.CharField(
        max_length=120,
        label="Delivery note",
        help_text="Its number, or “opening stock”.",
        error_messages={"required": "Write what stands on the delivery note, or “opening stock”."},
    )
    on = DayField(label="Received on")
    accept_expired_reason = forms.CharField(
        required=False,
        max_length=300,
        label="Why stock that is out of date is accepted",
        help_text="Only for lots whose expiry lies before the delivery. The reason is kept.",
    )


class ReceiptRowForm(forms.Form):
    """One lot of the delivery."""

    item = forms.ChoiceField(
        label="What came", error_messages={"required": "Choose what came."}, widget=forms.Select(attrs={"class": "compact"})
    )
    amount = forms.CharField(
        max_length=60,
        label="How many",
        error_messages={"required": "Write how much came."},
        widget=forms.TextInput(attrs={"inputmode": "text", "autocomplete": "off"}),
    )
    price = MoneyFormField(required=False, label="Price paid")
    lot_number = forms.CharField(required=False, max_length=40, label="Lot number", widget=lot_box())
    made_on = forms.DateField(required=False, label="Made on", widget=day_box())
    expires_on = forms.DateField(required=False, label="Expires on", widget=day_box())
    containers = ContainersField()

    def __init__(self, *args: Any, assortment: Assortment, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.assortment = assortment
        self.fields["item"].choices = assortment.choices  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """Work out the quantity and the unit cost; check the days against one another."""
        data = super().clean() or self.cleaned_data
        item = self.assortment.items.get(data.get("item", ""))
        if item is None or data.get("amount") is None:
            return data
        quantity_in, packs = self._quantity(item, data["amount"])
        if quantity_in is not None:
            data["quantity"], data["packs"] = quantity_in, packs
            self._set_cost(item, data)
        self._check_days(data)
        self._check_lot(item, data)
        return data

    def _quantity(self, item: Item, typed: str) -> tuple[Decimal | None, int | None]:
        try:
            if item.pack is None:
                field = StockQuantityField(stock_unit=item.material.unit, system=preferences().units)
                return field.clean(typed), None
            packs = _whole_packs(typed)
        except ValidationError as error:
            self.add_error("amount", error)
            return None, None
        total = to_step(item.pack.content * packs)
        if total > MOST:
            self.add_error("amount", "This is more than a finishing department keeps of anything.")
            return None, None
        return total, packs

    def _set_cost(self, item: Item, data: dict[str, Any]) -> None:
        paid = data.get("price")
        if paid is None and "price" not in self.errors:
            paid = item.pack.price if item.pack else None
        if paid is None:
            if "price" not in self.errors:
                self.add_error("price", "Write what was paid, or 0.")
            return
        share_of = item.pack.content if item.pack else data["quantity"]
        data["unit_cost"] = to_step(paid / share_of)

    def _check_days(self, data: dict[str, Any]) -> None:
        made, expires = data.get("made_on"), data.get("expires_on")
        if made and made < EARLIEST:
            self.add_error("made_on", f"This lies too far back: {day(EARLIEST)} is the earliest.")
        if expires and expires < EARLIEST:
            self.add_error("expires_on", f"This lies too far back: {day(EARLIEST)} is the earliest.")
        if made and expires and expires < made:
            self.add_error("expires_on", f"It can’t expire before it was made, on {day(made)}.")

    def _check_lot(self, item: Item, data: dict[str, Any]) -> None:
        material = item.material
        if material.is_liquid and not data.get("lot_number") and "lot_number" not in self.errors:
            self.add_error("lot_number", "Copy the lot number from the label.")
        dated = data.get("made_on") or data.get("expires_on") or {"made_on", "expires_on"} & set(self.errors)
        if material.shelf_life_days and not dated:
            self.add_error(
                "expires_on",
                f"Write when it expires or when it was made: it keeps for {material.shelf_life_days} days.",
            )

    def check_against(self, header: Mapping[str, Any]) -> bool:
        """Compare with the delivery's own day, supplier and reason. True when the lot is out of date on that day.

        Called for rows without an error so far.
        """
        data, item = self.cleaned_data, self.subject
        on, expires = header["on"], self.last_day
        if data["made_on"] and data["made_on"] > on:
            self.add_error("made_on", f"It can’t be made after it was delivered, on {day(on)}.")
        if expires and expires > on + LONGEST_LIFE:
            self.add_error("expires_on", "This lies more than 30 years ahead.")
        supplier = header["supplier"]
        if item.pack and supplier and item.pack.supplier != supplier:
            sold_by = item.pack.supplier.name
            self.add_error("item", f"This pack is sold by {sold_by}. Choose {sold_by} above, or the amount instead of the pack.")
        elif item.pack and not supplier and "reference" in header and not is_opening(header["reference"]):
            sold_by = item.pack.supplier.name
            here = "For stock that was here already write “opening stock” as the delivery note."
            self.add_error("item", f"This pack is sold by {sold_by}. Choose {sold_by} above. {here}")
        out_of_date = bool(expires and expires < on)
        if out_of_date and not header["accept_expired_reason"]:
            self.add_error(
                "expires_on",
                f"It is out of date: it expired on {day(expires)}. Send it back, or say below why it is accepted.",
            )
        return out_of_date

    @property
    def subject(self) -> Item:
        """What the row is about; only for a row without errors."""
        return self.assortment.items[self.cleaned_data["item"]]

    @property
    def last_day(self) -> date | None:
        """The expiry as typed, or the day it was made and the material's shelf life."""
        typed: date | None = self.cleaned_data["expires_on"]
        return typed or expiry(made_on=self.cleaned_data["made_on"], shelf_life_days=self.subject.material.shelf_life_days)

    def line(self, on: date) -> ReceiptLine:
        """The row as the ledger takes it. What has no lot number of its own is called after the day it came."""
        data, material = self.cleaned_data, self.subject.material
        return ReceiptLine(
            material=material,
            quantity=data["quantity"],
            unit_cost=data["unit_cost"],
            lot_number=data["lot_number"] or f"{on:%Y-%m-%d}",
            made_on=data["made_on"],
            expires_on=self.last_day,
            location=material.usual_location,
            pack=self.subject.pack,
            containers=data["containers"] or data["packs"] or 1,
        )


def is_opening(reference: str) -> bool:
    """Whether a delivery is the stock that was there before the books began: nobody brought it."""
    return reference.casefold().startswith("opening")


def _whole_packs(typed: str) -> int:
    """Read a number of packs; raises ``ValidationError``."""
    try:
        count = read_measure(typed, Kind.COUNT, assume="pcs").decimal
    except UnitError:
        raise ValidationError(f"“{typed}” is no number of packs. Write for example 2.") from None
    if count > MOST_PACKS:
        raise ValidationError(f"More than {MOST_PACKS} packs are more than one delivery brings.")
    if count != int(count) or count < 1:
        raise ValidationError("Write a whole number of packs, 1 or more.")
    return int(count)


if TYPE_CHECKING:
    FormSet = forms.BaseFormSet[ReceiptRowForm]
else:
    FormSet = forms.BaseFormSet


class BaseReceiptFormSet(FormSet):
    """The rows; those left empty are passed over."""

    def filled(self) -> list[ReceiptRowForm]:
        """The rows in which something was typed."""
        return [form for form in self.forms if form.has_changed()]

    def clean(self) -> None:
        """A delivery brings something."""
        if not self.filled():
            raise ValidationError("Fill in at least one row.")


ReceiptFormSet = forms.formset_factory(
    ReceiptRowForm,
    formset=BaseReceiptFormSet,
    extra=4,
    max_num=MOST_ROWS,
    absolute_max=MOST_ROWS,
    validate_max=True,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Understood:
    """One row in words, before or after it is booked."""

    number: int
    material: Material
    amount: str
    lot_number: str
    expires_on: date | None
    unit_cost: Decimal
    value: Decimal
    doubt: str  # what to look at before it is booked; empty when nothing is odd


class Delivery:
    """A delivery as typed: its head and its rows, checked together."""

    def __init__(self, data: Any = None) -> None:
        self.head = DeliveryForm(data)
        rows = ReceiptFormSet(data, prefix="rows", form_kwargs={"assortment": Assortment.read()})
        self.rows = cast(BaseReceiptFormSet, rows)
        self.needs_reason = False

    def is_valid(self) -> bool:
        """Check everything, so that all errors are told at once; rows are compared with the head when both can be read."""
        head_ok, rows_ok = self.head.is_valid(), self.rows.is_valid()
        if self.head.is_bound and "on" in self.head.cleaned_data:
            rows_ok = self._compare() and rows_ok
        return head_ok and rows_ok

    def _compare(self) -> bool:
        header = {"supplier": None, "accept_expired_reason": "", **self.head.cleaned_data}
        for row in self.rows.filled():
            if row.is_valid() and row.check_against(header):
                self.needs_reason = True
        return all(row.is_valid() for row in self.rows.filled())

    @property
    def lines(self) -> list[ReceiptLine]:
        """What the ledger is asked to book; only after ``is_valid``."""
        return [row.line(self.head.cleaned_data["on"]) for row in self.rows.filled()]

    def refuse(self, error: StockError) -> None:
        """Put the ledger's refusal at its row and field."""
        filled = self.rows.filled()
        if isinstance(error, BookedBeforeError):
            self.head.ask(error)
        elif error.line is not None and error.line < len(filled):
            row = filled[error.line]
            names = {"quantity": "amount", "unit_cost": "price"}
            field = names.get(error.field, error.field)
            row.add_error(field if field in row.fields else None, str(error))
        else:
            self.head.add_error(error.field if error.field in self.head.fields else None, str(error))

    def understood(self) -> list[Understood]:
        """Each row in words; only after ``is_valid``."""
        shown = []
        for number, row in enumerate(self.rows.forms, start=1):
            if row.has_changed():
                shown.append(self._in_words(number, row))
        return shown

    def _in_words(self, number: int, row: Any) -> Understood:
        line, data = row.line(self.head.cleaned_data["on"]), row.cleaned_data
        total = quantity(line.quantity, line.material.stock_unit)
        packs, pack = data["packs"], row.subject.pack
        return Understood(
            number=number,
            material=line.material,
            amount=f"{packs} × {pack.description} = {total}" if packs else total,
            lot_number=line.lot_number,
            expires_on=line.expires_on,
            unit_cost=line.unit_cost,
            value=line.quantity * line.unit_cost,
            doubt=price_doubt(data["price"], pack.price if pack else None),
        )

    def total(self) -> Decimal:
        """What the rows cost together."""
        return sum((line.value for line in self.understood()), Decimal(0))
