"""Forms of purchase orders: what to order, when it was sent, why it ends."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, cast

from django import forms
from django.core.exceptions import ValidationError

from finishing.forms import KeyedForm, MoneyFormField
from finishing.show import money
from inventory.errors import StockError
from inventory.forms.fields import day_box
from inventory.forms.moves import DayField, today
from inventory.models import Pack, PurchaseOrder, Supplier
from inventory.services.ledger import MOST_CONTAINERS
from inventory.services.orders import MOST_LINES, MOST_PACKS, WantedLine, default_promise

MOST_ROWS = MOST_LINES + 5  # the longest draft, and the empty rows below it
PACKS_ERRORS = {
    "invalid": "Write a whole number of packs.",
    "max_value": f"At most {MOST_PACKS:,} packs.",
    "min_value": "Write 1 pack or more.",
    "required": "Write how many packs.",
}


class PacksField(forms.IntegerField):
    """A whole number of packs."""

    def __init__(self, **kwargs: Any) -> None:
        settings = {"min_value": 1, "max_value": MOST_PACKS, "label": "Packs", **kwargs}
        super().__init__(**{"error_messages": PACKS_ERRORS, **settings})
        self.widget = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"})


class ContainersField(PacksField):
    """In how many cans or boxes a lot came, where that is not one a pack."""

    def __init__(self) -> None:
        errors = {**PACKS_ERRORS, "min_value": "1 container or more.", "invalid": "Write a whole number."}
        errors["max_value"] = f"At most {MOST_CONTAINERS:,} containers."
        super().__init__(required=False, label="Containers", max_value=MOST_CONTAINERS, error_messages=errors)
        self.widget.attrs["class"] = "narrow"


# ------------------------------------------------------------------- written by hand


class ChooseSupplierForm(forms.Form):
    """Whom to order from."""

    supplier = forms.ModelChoiceField(
        queryset=Supplier.objects.filter(is_active=True),
        empty_label="Choose",
        error_messages={"required": "Choose whom to order from."},
    )


class DraftHeadForm(KeyedForm):
    """What stands above and below the lines of an order."""

    wished_on = forms.DateField(
        required=False, label="Delivery wished for", widget=day_box(), help_text="Empty: as soon as the supplier can."
    )
    note = forms.CharField(
        required=False,
        max_length=1000,
        label="Note to the supplier",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Printed below the lines.",
    )


class DraftLineForm(forms.Form):
    """So many of one pack."""

    pack = forms.ChoiceField(
        label="Pack", error_messages={"required": "Choose a pack."}, widget=forms.Select(attrs={"class": "wide"})
    )
    packs = PacksField()
    price = MoneyFormField(required=False, label="Price of one")

    def __init__(self, *args: Any, choices: Sequence[Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["pack"].choices = choices  # type: ignore[attr-defined]


if TYPE_CHECKING:
    FormSet = forms.BaseFormSet[DraftLineForm]
else:
    FormSet = forms.BaseFormSet


class BaseDraftLines(FormSet):
    """The lines of a draft; a row in which nothing is typed is passed over, and so is one that is to be removed."""

    deletion_widget = forms.CheckboxInput

    def kept(self) -> list[DraftLineForm]:
        """The rows that become lines."""
        rows = [form for form in self.forms if form.has_changed() or form.initial]
        return [form for form in rows if not form.cleaned_data.get("DELETE")]

    def clean(self) -> None:
        """An order asks for something."""
        if not any(self.errors) and not self.kept():
            raise ValidationError("Write how many packs of something in at least one row.")


def _line_set(extra: int) -> Any:
    return forms.formset_factory(
        DraftLineForm,
        formset=BaseDraftLines,
        extra=extra,
        can_delete=True,
        max_num=MOST_ROWS,
        absolute_max=MOST_ROWS,
        validate_max=True,
    )


class Draft:
    """An order as typed: its head and its lines."""

    def __init__(self, supplier: Supplier, data: Any = None, *, order: PurchaseOrder | None = None) -> None:
        self.supplier = supplier
        lines = list(order.lines.select_related("pack__material", "pack__supplier")) if order else []
        self.packs = {pack.pk: pack for pack in self._offered()}
        choices = _choices([*self.packs.values(), *(line.pack for line in lines)])
        # A pack that is no longer sold stays visible in its row; the service says what is wrong with it.
        self.packs = {**{line.pack_id: line.pack for line in lines}, **self.packs}
        head = {"wished_on": order.wished_on, "note": order.note} if order else None
        self.head = DraftHeadForm(data, initial=head)
        initial = [{"pack": str(line.pack_id), "packs": line.packs, "price": line.price} for line in lines]
        made = _line_set(extra=2 if lines else 5)(data, prefix="rows", initial=initial, form_kwargs={"choices": choices})
        self.rows = cast(BaseDraftLines, made)

    def _offered(self) -> Any:
        packs = Pack.objects.filter(supplier=self.supplier, is_active=True, material__is_active=True)
        return packs.select_related("material", "supplier").order_by("material__name", "content")

    def is_valid(self) -> bool:
        """Check everything, so that all errors are told at once."""
        head_ok, rows_ok = self.head.is_valid(), self.rows.is_valid()
        return head_ok and rows_ok

    @property
    def lines(self) -> list[WantedLine]:
        """What is wanted; only after ``is_valid``."""
        data = [row.cleaned_data for row in self.rows.kept()]
        return [WantedLine(pack=self.packs[int(row["pack"])], packs=row["packs"], price=row["price"]) for row in data]

    def refuse(self, error: StockError) -> None:
        """Put a refusal at its row and field."""
        kept = self.rows.kept()
        if error.line is not None and error.line < len(kept):
            row = kept[error.line]
            row.add_error(error.field if error.field in row.fields else None, str(error))
        else:
            self.head.add_error(error.field if error.field in self.head.fields else None, str(error))


def _choices(packs: Sequence[Pack]) -> list[Any]:
    """Packs under the names of their materials."""
    groups: dict[str, dict[str, str]] = {}
    for pack in packs:
        words = f"{pack.description} of {pack.material.name}, {money(pack.price)}"
        if not pack.is_active or not pack.material.is_active:
            words += " (no longer on sale)"
        groups.setdefault(pack.material.name, {})[str(pack.pk)] = words
    return [("", "Choose"), *((name, list(group.items())) for name, group in groups.items())]


# --------------------------------------------------------------------- its way


class PlainDayField(forms.DateField):
    """A day, from the browser's own calendar."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"widget": day_box(), **kwargs})


class RefusedForm(forms.Form):
    """A small form about one order."""

    def refuse(self, error: StockError) -> None:
        """Put a refusal at its field, or over the whole form."""
        self.add_error(error.field if error.field in self.fields else None, str(error))


class SendForm(RefusedForm):
    """The order went out."""

    sent_on = DayField(label="Sent on")
    promised_on = PlainDayField(
        required=False, label="Promised for", help_text="Empty: the day it was sent and the supplier’s lead time."
    )

    def __init__(self, *args: Any, supplier: Supplier, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not self.is_bound:
            self.initial["promised_on"] = default_promise(supplier, today())

    def refuse(self, error: StockError) -> None:
        """The service's ``on`` is the day it was sent."""
        if error.field == "on":
            error.field = "sent_on"
        super().refuse(error)


class PromiseForm(RefusedForm):
    """The supplier named another day."""

    promised_on = PlainDayField(label="Promised for", error_messages={"required": "Choose the day that was promised."})


class EndForm(RefusedForm):
    """Why an order ends before all of it came."""

    reason = forms.CharField(max_length=200, error_messages={"required": "Say in a few words why."})

    def __init__(self, *args: Any, label: str = "Why", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reason"].label = label


def first_day_left(wished: date | None) -> date | None:
    """A day that was wished for, unless it has passed."""
    return wished if wished and wished >= today() else None
