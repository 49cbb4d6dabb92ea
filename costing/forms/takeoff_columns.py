"""The step in which a person says which column of a cut list is which."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from costing.core.takeoff_header import LOOKED_AT, WORDS, Choice
from costing.core.takeoff_reading import MOST_COLUMNS, Reading
from finishing import show
from finishing.units import Kind, shown_unit

PREFIX = "columns"
LENGTH_UNITS = ("mm", "cm", "m", "in", "ft")
SAMPLES = 2  # cells of a column that are shown
SAMPLE_SIGNS = 24


class ColumnsForm(forms.Form):
    """One choice for each column of the list, the row of the names, and the unit of bare sizes.

    ``names`` holds the row of names as it was when the step was shown: once that row is changed in the list, the
    choices are about another list, and the names are looked for again.
    """

    names = forms.CharField(required=False, strip=False, max_length=100_000, widget=forms.HiddenInput)
    names_at = forms.IntegerField(required=False, min_value=0, max_value=LOOKED_AT, widget=forms.HiddenInput)
    row = forms.TypedChoiceField(coerce=int, label="Row of the column names")  # its choices are the list's rows
    length_unit = forms.ChoiceField(
        label="Sizes without a unit are in",
        choices=[(unit, unit) for unit in LENGTH_UNITS],
        help_text="Where a name or a cell gives a unit, that one holds.",
    )

    def __init__(self, grid: Sequence[Sequence[str]], data: Any = None, *, initial: dict[str, Any] | None = None) -> None:
        super().__init__(data, prefix=PREFIX, initial=initial)
        self.grid = grid
        rows = [(0, "none, the first row is a piece"), *_rows(grid)]
        self.fields["row"] = forms.TypedChoiceField(coerce=int, label="Row of the column names", choices=rows)
        for index in range(min(width_of(grid), MOST_COLUMNS)):
            self.fields[f"of_{index}"] = forms.ChoiceField(
                label=f"Column {index + 1}",
                required=False,
                choices=[("", "not read"), *WORDS.items()],
                help_text=_sample(grid, index),
            )

        for bound in self.visible_fields():
            bound.field.show_hidden_initial = True  # tells whether a choice was changed since the rows were shown

    def column_fields(self) -> list[forms.BoundField]:
        """The choices of the columns, from left to right."""
        return [self[name] for name in self.fields if name.startswith("of_")]

    def is_about_this_list(self) -> bool:
        """True when the step was filled in for the list as it stands now."""
        self.is_valid()
        return self.cleaned_data.get("names") == line_of(self.grid, self.cleaned_data.get("names_at") or 0)

    def was_changed(self) -> bool:
        """True when a choice is another than the one by which the rows were shown."""
        return bool(set(self.changed_data) - {"names", "names_at"})

    def clean(self) -> dict[str, Any]:
        """Two columns cannot be the same."""
        cleaned = super().clean() or self.cleaned_data
        seen: dict[str, str] = {}
        for bound in self.column_fields():
            field = cleaned.get(bound.name, "")
            if field in seen:
                self.add_error(bound.name, f"{seen[field]} is {WORDS[field]} already. Choose another, or “not read”.")
            elif field:
                seen[field] = str(bound.label)
        return cleaned

    def choice(self) -> Choice:
        """What was chosen."""
        chosen = {bound.name: self.cleaned_data[bound.name] for bound in self.column_fields()}
        return Choice(row=self.cleaned_data["row"], fields={int(name[3:]): field for name, field in chosen.items() if field})


def was_sent(data: Mapping[str, Any]) -> bool:
    """True when the step was on the page that was sent."""
    return f"{PREFIX}-row" in data


def columns_form(grid: Sequence[Sequence[str]], reading: Reading, chosen: ColumnsForm | None) -> ColumnsForm | None:
    """The step as it should be shown, None where a list has no columns to choose from.

    What was chosen stays; else it begins with what the names told.
    """
    if not 0 < width_of(grid) <= MOST_COLUMNS:
        return None
    if chosen is not None:
        values = {**chosen.cleaned_data, "names_at": chosen.cleaned_data["row"]}
    else:
        row = reading.header.row or next(iter(_rows(grid)), (0, ""))[0]
        values = {"row": row, "names_at": row, "length_unit": shown_unit(Kind.LENGTH, show.preferences().units)}
        first = {column.field: column.index for column in reversed(reading.header.columns)}
        values |= {f"of_{index}": field for field, index in first.items()}
    return ColumnsForm(grid, initial=values | {"names": line_of(grid, values["names_at"])})


def width_of(grid: Sequence[Sequence[str]]) -> int:
    """How many columns a list has, empty ones at its right end left out."""
    return max((index + 1 for line in grid for index, cell in enumerate(line) if cell.strip()), default=0)


def line_of(grid: Sequence[Sequence[str]], row: int) -> str:
    """A row as one text, to see whether it was changed; the first where the list has no row of names."""
    line = grid[max(row, 1) - 1] if max(row, 1) <= len(grid) else ()
    return " | ".join(" ".join(cell.split()) for cell in line).rstrip("| ")


def _rows(grid: Sequence[Sequence[str]]) -> list[tuple[int, str]]:
    """The rows in which names may stand."""
    filled = [(number, [c.strip() for c in line if c.strip()]) for number, line in enumerate(grid[:LOOKED_AT], start=1)]
    return [(number, f"{number}: {_short(', '.join(cells))}") for number, cells in filled if cells]


def _sample(grid: Sequence[Sequence[str]], index: int) -> str:
    """The first cells of a column, so that people know it again."""
    cells = [line[index].strip() for line in grid[: LOOKED_AT + SAMPLES] if index < len(line) and line[index].strip()]
    return "; ".join(_short(cell) for cell in cells[: SAMPLES + 1]) or "empty in the first rows"


def _short(text: str) -> str:
    return text if len(text) <= SAMPLE_SIGNS else f"{text[: SAMPLE_SIGNS - 1]}…"
