"""Forms whose fields stand in groups with a heading each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

from django import forms
from django.forms import BoundField


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """A heading, the names of the fields below it, and in how many columns they stand (1 to 3)."""

    legend: str
    names: tuple[str, ...]
    columns: int = 1
    words: str = ""  # a sentence below the heading


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownGroup:
    """A group as the page shows it."""

    legend: str
    words: str
    css: str
    fields: tuple[BoundField, ...]


_COLUMNS = {1: "", 2: "fields-two", 3: "fields-three"}


def show_groups(form: forms.BaseForm, groups: Sequence[Group]) -> Iterator[ShownGroup]:
    """Groups of a form with their bound fields, in order."""
    for group in groups:
        yield ShownGroup(
            legend=group.legend,
            words=group.words,
            css=_COLUMNS[group.columns],
            fields=tuple(form[name] for name in group.names),
        )


class GroupsMixin:
    """A form that knows its groups; every visible field stands in exactly one of them."""

    groups: ClassVar[tuple[Group, ...]] = ()

    def shown_groups(self: Any) -> Iterator[ShownGroup]:
        """The groups with their bound fields, in order."""
        return show_groups(self, self.groups)


class GroupedModelForm(GroupsMixin, forms.ModelForm):
    """A model form in groups."""


class GroupedForm(GroupsMixin, forms.Form):
    """A form in groups."""
