"""The form of a sheet of labels: the measures of the sheet, where it begins, and how many of each."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError

from finishing.choices import PageSize
from finishing.forms import MeasureField
from finishing.show import length, preferences
from finishing.units import Kind, UnitSystem, plain_number
from inventory.documents.labels_sheet import MOST_ACROSS, MOST_DOWN, PRESETS, Sheet, SheetError
from inventory.forms.fields import number_box
from inventory.models import Location, Lot, Material
from inventory.services.labels import FIELDS

MOST_LABELS = 400  # in one file: drawn in about two seconds
MOST_OF_ONE = 200
MOST_SUBJECTS = 100  # lots and shelves on one page
_NAME = re.compile(r"(lot|shelf|place)-(\d{1,12})")


@dataclass(frozen=True, slots=True, kw_only=True)
class Subjects:
    """What gets a label: lots as containers, materials as shelves, and places themselves."""

    lots: tuple[Lot, ...] = ()
    shelves: tuple[Material, ...] = ()
    places: tuple[Location, ...] = ()
    left_out: int = 0  # more were found than fit on one page
    fill: bool = True  # begin with one label for each container, rather than with none

    @property
    def count(self) -> int:
        """How many there are."""
        return len(self.lots) + len(self.shelves) + len(self.places)


def named_in(names: Iterable[str]) -> Mapping[str, list[int]]:
    """The keys of lots, shelves and places that a sent form has a number for."""
    found: dict[str, list[int]] = {"lot": [], "shelf": [], "place": []}
    for name in names:
        if match := _NAME.fullmatch(name):
            found[match[1]].append(int(match[2]))
    return found


def preset_name(sheet: Sheet) -> str:
    """A division in words: paper, columns and rows, size of a label in the paper's own unit."""
    if sheet.paper == PageSize.A4:
        size = f"{plain_number(sheet.width)} × {plain_number(sheet.height)} mm"
    else:
        inch = Decimal("25.4")
        size = f"{plain_number(sheet.width / inch, 3)} × {plain_number(sheet.height / inch, 3)} in"
    return f"{PageSize(sheet.paper).label}, {sheet.columns} × {sheet.rows} labels, {size}"


def _measure(label: str, help_text: str = "") -> MeasureField:
    return MeasureField(kind=Kind.LENGTH, label=label, help_text=help_text, minimum=Decimal(0), maximum=Decimal(300))


def _whole(label: str, most: int, help_text: str = "", **kwargs: Any) -> forms.IntegerField:
    words = {"invalid": "Write a whole number.", "min_value": "Write 1 or more.", "max_value": f"Write {most} or less."}
    return forms.IntegerField(
        label=label,
        help_text=help_text,
        error_messages=words,
        **{"min_value": 1, "max_value": most, "widget": number_box(""), **kwargs},
    )


class LabelsForm(forms.Form):
    """Measures of the sheet, and how many labels of each subject."""

    HOW_MANY: ClassVar[Mapping[str, str]] = {
        "invalid": "Write a whole number, or leave it empty.",
        "min_value": "Write 0 or more.",
        "max_value": f"{MOST_OF_ONE} of one kind are the most in one file.",
    }

    preset = forms.ChoiceField(
        label="A common division",
        required=False,
        choices=[("", "Choose"), *((name, preset_name(sheet)) for name, sheet in PRESETS.items())],
        help_text="Fills in the measures below. Compare them with the box of labels.",
    )
    paper = forms.ChoiceField(choices=PageSize.choices)
    columns = _whole("Columns", MOST_ACROSS)
    rows = _whole("Rows", MOST_DOWN)
    left = _measure("Left margin", "From the paper’s edge to the first label.")
    top = _measure("Top margin", "From the paper’s edge to the first label.")
    across = _measure("Pitch across", "From the left edge of a label to that of its neighbour.")
    down = _measure("Pitch down", "From the top edge of a label to that of the one below.")
    width = _measure("Label width")
    height = _measure("Label height")
    first = _whole("First free label", MOST_ACROSS * MOST_DOWN, "On a sheet used in part: count row by row from the top left.")
    copies = _whole("Labels for each container", 20)
    edges = forms.BooleanField(
        label="Draw the edges of the labels", required=False, help_text="To try it on plain paper and hold it against the sheet."
    )

    def __init__(self, data: Any = None, *, subjects: Subjects, initial: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, initial={"first": 1, "copies": 1, **(initial or {})})
        self.subjects = subjects
        self.sheet: Sheet | None = None
        system = preferences().units
        for name in ("left", "top", "across", "down", "width", "height"):
            self.fields[name].set_system(system, "in" if system is UnitSystem.US else "mm")  # type: ignore[attr-defined]
        for lot in subjects.lots:
            self._add_number(f"lot-{lot.pk}", f"Containers of {lot.material.name}, lot {lot.number}", lot.containers)
        for material in subjects.shelves:
            self._add_number(f"shelf-{material.pk}", f"Shelf labels of {material.name}", 1)
        for place in subjects.places:
            self._add_number(f"place-{place.pk}", f"Labels of the place {place.name}", 1)

    def _add_number(self, name: str, label: str, usual: int) -> None:
        box = forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "aria-label": label})
        field = forms.IntegerField(
            required=False, min_value=0, max_value=MOST_OF_ONE, label=label, widget=box, error_messages=dict(self.HOW_MANY)
        )
        self.fields[name] = field
        if self.subjects.fill:
            self.initial[name] = usual

    def clean(self) -> dict[str, Any]:
        """The measures make a sheet, it begins on the sheet, and something is printed."""
        data = super().clean() or self.cleaned_data
        if not any(name in self.errors for name in FIELDS):
            self._set_sheet(data)
        self._check_numbers(data)
        return data

    def _set_sheet(self, data: Mapping[str, Any]) -> None:
        try:
            self.sheet = Sheet(**{name: data[name] for name in FIELDS})
        except SheetError as error:
            self.add_error(error.field, f"{error.words} {length(error.bound)}.")
            return
        if data.get("first", 1) > self.sheet.per_page:
            self.add_error("first", f"This sheet has {self.sheet.per_page} labels.")

    def _check_numbers(self, data: Mapping[str, Any]) -> None:
        if any(_NAME.fullmatch(name) for name in self.errors):
            return
        total = sum(number for _, number in self.wanted(data))
        if total == 0:
            raise ValidationError("Write at least one number, so that there is something to print.")
        if total > MOST_LABELS:
            raise ValidationError(f"These are {total} labels; one file holds {MOST_LABELS}. Make it in parts.")

    def wanted(self, data: Mapping[str, Any]) -> Iterator[tuple[Lot | Material | Location, int]]:
        """What is printed, in the order of the page, each with its number of labels."""
        copies = data.get("copies") or 1
        for lot in self.subjects.lots:
            yield lot, (data.get(f"lot-{lot.pk}") or 0) * copies
        for material in self.subjects.shelves:
            yield material, data.get(f"shelf-{material.pk}") or 0
        for place in self.subjects.places:
            yield place, data.get(f"place-{place.pk}") or 0

    def number_fields(self, kind: str, subjects: Sequence[Any]) -> list[tuple[Any, forms.BoundField]]:
        """Each subject with its box."""
        return [(subject, self[f"{kind}-{subject.pk}"]) for subject in subjects]

    @property
    def lot_fields(self) -> list[tuple[Any, forms.BoundField]]:
        """Lots with their boxes."""
        return self.number_fields("lot", self.subjects.lots)

    @property
    def shelf_fields(self) -> list[tuple[Any, forms.BoundField]]:
        """Shelves with their boxes."""
        return self.number_fields("shelf", self.subjects.shelves)

    @property
    def place_fields(self) -> list[tuple[Any, forms.BoundField]]:
        """Places with their boxes."""
        return self.number_fields("place", self.subjects.places)


class FindForm(forms.Form):
    """What to look for."""

    WHAT = (("lots", "Lots in stock"), ("shelves", "Shelves of materials"), ("places", "Places"), ("both", "All of these"))

    find = forms.CharField(
        required=False, max_length=60, label="Lot, material or place", widget=forms.TextInput(attrs={"type": "search"})
    )
    what = forms.ChoiceField(choices=WHAT, required=False, label="Labels for")
