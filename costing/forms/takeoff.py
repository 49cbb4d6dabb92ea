"""Forms of the takeoff: its rows, a list that is pasted, a file that is uploaded."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.conf import settings

from costing.choices import RowForm, RowZone
from costing.core.errors import CostingError
from costing.core.takeoff import LARGEST_ROW, LONGEST_PIECE, MOST_PIECES, THICKEST_PIECE, WIDEST_GIRTH
from costing.core.takeoff_text import Sheet, TextRefusedError, split_text
from costing.forms.fields import PlainNumberField, ShopUnitsMixin, WholeNumberField
from costing.forms.rows import row_set
from costing.models import TakeoffRow
from costing.services.inputs import core_row
from costing.services.takeoff_import import FileRefusedError, cut_list_limits, read_file
from finishing import show
from finishing.forms import KeyedForm, MeasureField
from finishing.units import MAX_TEXT, Kind, plain_number, to_shown
from finishing.uploads import limits_in_words

PAGE_ROWS = 100
SIZES = ("length", "width", "thickness", "girth", "area")
# Which sizes each way of stating a row needs, and which it may have.
NEEDED = {RowForm.PANEL: ("length", "width"), RowForm.AREA: ("area",), RowForm.MOULDING: ("length", "girth")}
ALLOWED = {**NEEDED, RowForm.PANEL: ("length", "width", "thickness")}
FORM_CHOICES = [
    (RowForm.PANEL.value, "L × W × T"),
    (RowForm.MOULDING.value, "L × girth"),
    (RowForm.AREA.value, "area"),
]
SIDES = [(2, "2"), (1, "1"), (0, "0")]


def _length(most: float, **kwargs: Any) -> MeasureField:
    return MeasureField(kind=Kind.LENGTH, required=False, maximum=Decimal(str(most)), **{"above": Decimal(0), **kwargs})


def _fitting() -> forms.Select:
    return forms.Select(attrs={"class": "fits"})


def _sides(label: str) -> forms.TypedChoiceField:
    return forms.TypedChoiceField(choices=SIDES, coerce=int, initial=2, label=label, widget=_fitting())


class TakeoffRowForm(ShopUnitsMixin, forms.Form):
    """A number of like pieces."""

    label = forms.CharField(max_length=80, label="Piece")
    pieces = WholeNumberField(min_value=1, max_value=MOST_PIECES)
    form = forms.ChoiceField(choices=FORM_CHOICES, initial=RowForm.PANEL.value, label="Stated as", widget=_fitting())
    length = _length(LONGEST_PIECE)
    width = _length(LONGEST_PIECE)
    thickness = _length(THICKEST_PIECE, above=None, minimum=Decimal(0))
    girth = _length(WIDEST_GIRTH)
    area = MeasureField(
        kind=Kind.AREA, places=8, required=False, above=Decimal(0), maximum=Decimal(str(LARGEST_ROW)), label="Area of all"
    )
    zone = forms.ChoiceField(choices=RowZone.choices, initial=RowZone.SHOW.value, widget=_fitting())
    faces = _sides("Faces")
    long_edges = _sides("Long edges")
    short_edges = _sides("Short edges")
    profile_factor = PlainNumberField(
        label="Profile",
        min_value=Decimal(1),
        max_value=Decimal(10),
        max_digits=6,
        decimal_places=4,
        initial=Decimal(1),
        help_text="1 is flat",
    )
    geometry_factor = PlainNumberField(
        label="Geometry",
        min_value=Decimal("0.05"),
        max_value=Decimal(1),
        max_digits=5,
        decimal_places=4,
        initial=Decimal(1),
        help_text="1 is flat",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        reckoned = self.initial.get("reckoned")
        if reckoned is not None:
            self.fields["area"].widget.attrs["placeholder"] = f"= {reckoned}"

    def clean(self) -> dict[str, Any]:
        """Each way of stating a row has its own sizes; the reckoning has the last word."""
        cleaned = super().clean() or self.cleaned_data
        if self.errors or cleaned.get("DELETE") or (self.empty_permitted and not self.has_changed()):
            return cleaned
        form = RowForm(cleaned["form"])
        for name in SIZES:
            if cleaned.get(name) is None and name in NEEDED[form]:
                self.add_error(name, f"Give the {name}: this row is stated as {dict(FORM_CHOICES)[form.value]}.")
            elif cleaned.get(name) is not None and name not in ALLOWED[form]:
                words = dict(FORM_CHOICES)[form.value]
                self.add_error(name, f"Empty this, or state the row another way: {words} has no {name}.")
        if not self.errors:
            self._ask_the_reckoning()
        return cleaned

    def _ask_the_reckoning(self) -> None:
        try:
            core_row(self.row())
        except CostingError as error:
            self.add_error(error.field if error.field in self.fields else None, str(error))

    def row(self) -> TakeoffRow:
        """The row as typed, not saved."""
        values = {name: self.cleaned_data.get(name) for name in self.base_fields}
        if values["form"] == RowForm.PANEL and values["thickness"] is None:
            values["thickness"] = Decimal(0)
        return TakeoffRow(**values, typed=self._as_typed())

    def _as_typed(self) -> dict[str, str]:
        """The sizes in the words in which they were typed, where the form would show them otherwise."""
        typed = {}
        for name in SIZES:
            field, value = self.fields[name], self.cleaned_data.get(name)
            text = " ".join(str(self[name].data or "").split())
            if value is not None and 0 < len(text) <= MAX_TEXT and text != field.prepare_value(value):
                typed[name] = text
        return typed


TakeoffRows = row_set(TakeoffRowForm, extra=5, most=PAGE_ROWS + 400)


def initial_rows(rows: Sequence[TakeoffRow]) -> list[dict[str, Any]]:
    """Stored rows for the form, with the area that the reckoning makes of their sizes."""
    names = list(TakeoffRowForm.base_fields)
    units = show.preferences().units
    initial = []
    reader = TakeoffRowForm()
    for row in rows:
        values = {name: getattr(row, name) for name in names}
        values.update(_still_as_typed(row, reader))
        if row.form != RowForm.AREA:
            try:
                area = core_row(row).area
            except CostingError:
                area = None
            values["reckoned"] = None if area is None else plain_number(to_shown(area, Kind.AREA, units), 2)
        initial.append(values)
    return initial


def _still_as_typed(row: TakeoffRow, reader: TakeoffRowForm) -> dict[str, str]:
    """The texts of a row's sizes that still read as what is stored, in the units that the shop uses today."""
    found = {}
    for name, text in row.typed.items():
        field, value = reader.fields.get(name), getattr(row, name, None)
        if not isinstance(field, MeasureField) or value is None:
            continue
        try:
            read = field.to_python(text)
        except forms.ValidationError:
            continue
        if read == value and text != f"{field.prepare_value(value)} {field.unit}":
            found[name] = text
    return found


def empty_row(prefix: str) -> dict[str, str]:
    """What a browser sends for a row that nobody touched."""
    form = TakeoffRowForm(prefix=prefix)
    return {bound.html_name: str(bound.value() if bound.value() is not None else "") for bound in form}


class TakeoffStateForm(KeyedForm):
    """What a takeoff form saw last, so that a stale or a doubled one is noticed."""

    seen = forms.UUIDField(required=False, widget=forms.HiddenInput)
    start = forms.IntegerField(required=False, min_value=0, max_value=10_000, widget=forms.HiddenInput)
    stop = forms.IntegerField(required=False, min_value=0, max_value=10_000, widget=forms.HiddenInput)


class PasteForm(TakeoffStateForm):
    """A cut list pasted from a spreadsheet, and what to do with it."""

    text = forms.CharField(
        label="The list",
        strip=False,
        max_length=2_000_000,
        widget=forms.Textarea(attrs={"class": "tall mono", "wrap": "off", "spellcheck": "false"}),
        help_text="Copy the rows in your spreadsheet, the row of column names included, and paste them here.",
        error_messages={"required": "Paste the rows of your cut list, the row of column names included."},
    )
    mode = forms.ChoiceField(
        label="The rows that are there",
        choices=[("append", "Keep them and add these at the end"), ("replace", "Put these in their place")],
        initial="append",
        widget=forms.RadioSelect,
    )

    sheet: Sheet

    def clean_text(self) -> str:
        """Split the text into cells."""
        text = str(self.cleaned_data["text"])
        if not text.strip():
            raise forms.ValidationError(self.fields["text"].error_messages["required"], code="required")
        try:
            self.sheet = split_text(text, strict=False)
        except TextRefusedError as error:
            raise forms.ValidationError(str(error), code="unreadable") from error
        return text


class UploadForm(forms.Form):
    """A cut list in a file."""

    file = forms.FileField(
        label="The file",
        allow_empty_file=True,  # told in our own words
        help_text="XLSX, or CSV with commas, semicolons or tabs.",
        widget=forms.FileInput(attrs={"accept": ".xlsx,.csv,.txt,.tsv"}),
        error_messages={"required": "Choose the file that holds the cut list."},
    )

    sheet: Sheet

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        words = limits_in_words(cut_list_limits(settings.UPLOAD_LIMIT))
        self.fields["file"].help_text = f"XLSX, or CSV with commas, semicolons or tabs. {words}"

    def clean_file(self) -> Any:
        """Read the file's cells; its size is looked at first."""
        upload = self.cleaned_data["file"]
        limit: int = settings.UPLOAD_LIMIT
        try:
            # One byte past the limit is enough to be refused.
            self.sheet = read_file(upload.read(limit + 1), limit=limit)
        except FileRefusedError as error:
            raise forms.ValidationError(str(error), code="refused") from error
        return upload
