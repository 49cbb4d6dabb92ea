"""Forms of counts: opening one, what was found line by line, a filled sheet, reasons."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any, cast

from django import forms
from django.conf import settings
from django.core.exceptions import ValidationError
from django.db.models import Count, Q

from finishing.forms import KeyedForm
from finishing.show import preferences
from finishing.uploads import FileRefusedError, Limits, read_upload
from inventory.count_reading import SHEET
from inventory.errors import StockError
from inventory.forms.fields import StockQuantityField
from inventory.models import CountLine, Location, Material, StockCount
from inventory.services.counting import Entered, Entry

PLACES, SHOP = "places", "shop"
MOST_ROWS = 5_000
MOMENT = "%Y-%m-%dT%H:%M"


class RefusedForm(forms.Form):
    """A form whose service may refuse."""

    def refuse(self, error: StockError) -> None:
        """Put a refusal at its field, or over the whole form."""
        self.add_error(error.field if error.field in self.fields else None, str(error))


class OpenForm(KeyedForm, RefusedForm):
    """What is counted, and whether the sheet shows what the books say."""

    is_blind = forms.BooleanField(
        required=False,
        initial=True,
        label="Blind: without the book figures",
        help_text="Whoever counts sees no figure to agree with. The differences show them afterwards.",
    )
    note = forms.CharField(required=False, max_length=200, label="Note", help_text="For example the reason for the count.")


class PlacesField(forms.ModelMultipleChoiceField):
    """Places, each with how many lots stand there (``standing``)."""

    def label_from_instance(self, obj: Any) -> str:
        """For example “Drawer 1, 2 lots”."""
        return f"{obj.name}, {obj.standing} lot{'' if obj.standing == 1 else 's'}"


class StartForm(OpenForm):
    """Count places, each on a sheet of its own, or the whole shop on one."""

    scope = forms.ChoiceField(
        label="What is counted",
        choices=[(PLACES, "The places chosen below, each on its own sheet"), (SHOP, "The whole shop on one sheet")],
        initial=PLACES,
        widget=forms.RadioSelect,
        error_messages={"invalid_choice": "Choose places or the whole shop.", "required": "Choose places or the whole shop."},
    )
    places = PlacesField(
        queryset=Location.objects.none(),
        label="Places",
        widget=forms.CheckboxSelectMultiple,
        error_messages={
            "required": "Choose at least one place, or count the whole shop.",
            "invalid_choice": "This place can’t be chosen. Reload the page.",
        },
    )

    field_order = ("scope", "places", "is_blind", "note")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        places = cast(forms.ModelMultipleChoiceField, self.fields["places"])
        places.queryset = Location.objects.annotate(standing=Count("lots", filter=Q(lots__on_hand__gt=0))).order_by("name")
        places.required = self.data.get("scope") != SHOP


class DueForm(OpenForm):
    """Count chosen materials, wherever they stand."""

    materials = forms.ModelMultipleChoiceField(
        queryset=Material.objects.none(),
        label="Materials",
        error_messages={
            "required": "Tick at least one material.",
            "invalid_choice": "One of these materials can’t be chosen. Reload the page.",
            "invalid_pk_value": "One of these materials can’t be chosen. Reload the page.",
        },
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        cast(forms.ModelMultipleChoiceField, self.fields["materials"]).queryset = Material.objects.all()

    @property
    def ticked(self) -> set[str]:
        """The numbers of the materials that are ticked, as the page sends them."""
        return {str(value) for value in self["materials"].value() or ()}


class MomentField(forms.DateTimeField):
    """A moment in the shop's time zone, to the minute."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs["error_messages"] = {"invalid": "Write a day and a time.", **kwargs.get("error_messages", {})}
        box = forms.DateTimeInput(format=MOMENT, attrs={"type": "datetime-local"})
        super().__init__(**{"widget": box, "input_formats": [MOMENT, "%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M:%S"], **kwargs})


def not_before_opening(at: datetime | None, count: StockCount) -> datetime | None:
    """The minute in which a count was opened means from the opening on."""
    if at is not None and at < count.opened_at and at.replace(second=0) == count.opened_at.replace(second=0, microsecond=0):
        return count.opened_at
    return at


class WhenForm(RefusedForm):
    """When lots were counted that are typed in from paper."""

    counted_at = MomentField(
        required=False,
        label="Typed in from paper? Counted at",
        help_text="Empty: the lots are counted as you enter them. What moved after this moment is left out of the comparison.",
    )

    def __init__(self, *args: Any, count: StockCount, **kwargs: Any) -> None:
        self.count = count
        super().__init__(*args, **kwargs)

    def clean_counted_at(self) -> datetime | None:
        """To the minute, from the opening on."""
        return not_before_opening(self.cleaned_data["counted_at"], self.count)


class LineForm(forms.Form):
    """What was found of one lot, in the shop's unit, and a remark."""

    counted = StockQuantityField(required=False, above=None, label="Counted")
    reason = forms.CharField(required=False, max_length=200, label="Remark")
    seen = forms.CharField(required=False, widget=forms.HiddenInput)
    was = forms.CharField(required=False, strip=False, widget=forms.HiddenInput)

    def __init__(self, data: Any = None, *, line: CountLine) -> None:
        self.line = line
        super().__init__(data, prefix=f"line-{line.pk}", initial={"counted": line.counted, "reason": line.reason})
        self.quantity.minimum = Decimal(0)
        self.quantity.use(line.lot.material.unit, preferences().units)

    @property
    def quantity(self) -> StockQuantityField:
        """The field of what was found."""
        return cast(StockQuantityField, self.fields["counted"])

    @property
    def stored(self) -> str:
        """The line as a fresh page shows it: what an untouched row sends back."""
        shown = "" if self.line.counted is None else self.quantity.prepare_value(self.line.counted)
        return f"{shown}|{self.line.reason}"

    @property
    def is_touched(self) -> bool:
        """Whether somebody typed here since the page was shown."""
        typed = [str(self.data.get(self.add_prefix(name), "")).strip() for name in ("counted", "reason")]
        return self.add_prefix("counted") in self.data and "|".join(typed) != self.data.get(self.add_prefix("was"), "")

    def entry(self) -> Entry:
        """As the service takes it; only after ``is_valid``."""
        data = self.cleaned_data
        return Entry(line=self.line.pk, counted=data["counted"], reason=data["reason"], seen=data["seen"] or None)


class EntrySheet:
    """Lines of a count as typed."""

    def __init__(self, lines: Sequence[CountLine], data: Any = None) -> None:
        self.forms = [LineForm(data, line=line) for line in lines]
        if data is not None:  # rows that nobody touched show what is stored, not what the page said when it was opened
            self.forms = [form if form.is_touched else LineForm(line=form.line) for form in self.forms]

    def entries(self) -> list[Entry]:
        """What was typed and can be read."""
        return [form.entry() for form in self.forms if form.is_bound and form.is_valid()]

    def take(self, entered: Entered) -> None:
        """Show saved rows as they are stored now, and put the problems of the others at their field."""
        shown = []
        for form in self.forms:
            pk = form.line.pk
            form.line = entered.lines.get(pk, form.line)
            if pk in entered.problems:
                form.add_error("counted", entered.problems[pk])
            elif form.is_bound and form.is_valid():
                form = LineForm(line=form.line)
            shown.append(form)
        self.forms = shown

    @property
    def problems(self) -> list[LineForm]:
        """The rows that were not saved."""
        return [form for form in self.forms if form.is_bound and not form.is_valid()]


class FindForm(RefusedForm):
    """A note of a lot that the books do not know."""

    number = forms.CharField(
        max_length=40, label="Lot number", error_messages={"required": "Copy the lot number from the label."}
    )
    material = forms.ModelChoiceField(
        queryset=Material.objects.none(), required=False, label="Material", empty_label="Not known, or new"
    )
    amount = forms.CharField(
        max_length=60, label="How much", error_messages={"required": "Write how much there is, with its unit."}
    )
    note = forms.CharField(required=False, max_length=200, label="Note", help_text="What stands on the label, where it stood.")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        materials = Material.objects.filter(is_active=True).order_by("name")
        cast(forms.ModelChoiceField, self.fields["material"]).queryset = materials


class SheetForm(RefusedForm):
    """A filled sheet, and when it was filled."""

    counted_at = MomentField(
        label="Counted at",
        help_text="When the lots were counted, not when the sheet is uploaded: it is compared with the books of that moment.",
        error_messages={"required": "Say when the lots were counted."},
    )
    file = forms.FileField(
        label="Filled sheet",
        widget=forms.FileInput(attrs={"accept": ".xlsx,.csv"}),
        error_messages={"required": "Choose the sheet that was filled in.", "empty": "The file is empty."},
    )

    def __init__(self, *args: Any, count: StockCount, **kwargs: Any) -> None:
        self.count = count
        super().__init__(*args, **kwargs)
        most = f"{settings.UPLOAD_LIMIT // 1000:,} kB and {MOST_ROWS:,} rows"
        self.fields["file"].help_text = f"The XLSX sheet of this count, or a CSV of the same columns. At most {most}."

    def clean_counted_at(self) -> datetime | None:
        """To the minute, from the opening on."""
        return not_before_opening(self.cleaned_data["counted_at"], self.count)

    def clean_file(self) -> Any:
        """Read its cells; refused in words."""
        upload = self.cleaned_data["file"]
        most = settings.UPLOAD_LIMIT
        limits = Limits(what="count sheet", most_bytes=most, most_rows=MOST_ROWS, most_columns=12, sheet=SHEET)
        try:
            self.sheet = read_upload(upload.read(most + 1), limits)
        except FileRefusedError as error:
            raise ValidationError(str(error), code="refused") from error
        return upload


class PostForm(KeyedForm):
    """The differences as they were looked at."""

    seen = forms.CharField(required=False, widget=forms.HiddenInput)

    def reasons(self) -> dict[int, str]:
        """By line: what was typed as its reason."""
        found = {}
        for name in self.data:
            pk = name.removeprefix("reason-")
            if pk != name and pk.isascii() and pk.isdecimal() and len(pk) < 19:
                found[int(pk)] = str(self.data[name])
        return found


class CancelForm(RefusedForm):
    """Why a count is given up."""

    reason = forms.CharField(max_length=200, label="Why", error_messages={"required": "Say why the count is given up."})
