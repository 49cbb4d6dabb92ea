"""The reorder list as a form, and its single lines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.forms import BoundField
from django.urls import reverse

from finishing.forms import KeyedForm
from inventory.errors import StockError
from inventory.forms.orders import PacksField, PlainDayField, RefusedForm
from inventory.models import Pack
from inventory.services.orders import WantedLine

MOST_LISTED = 500  # packs on one reorder list
PREFIX = "packs-"


def packs_box(pack: Pack, count: int) -> PacksField:
    """A box for a number of packs that tells at once what the number does, where the browser runs scripts."""
    words = f"Packs of {pack.material.name}, {pack.description}"
    box = PacksField(min_value=0, required=False, initial=count, label=words)
    line = str(pack.material_id)
    box.widget.attrs |= {
        "aria-label": words,
        "data-line": line,
        "hx-get": reverse("reorder_cover", args=[line]),
        "hx-trigger": "input changed delay:300ms",
        "hx-include": f"[data-line='{line}']",
        "hx-target": f"#cover-{line}",
        "hx-swap": "outerHTML",
        "hx-sync": "this:replace",
    }
    return box


class LineForm(forms.Form):
    """The numbers of packs of one material, to ask what they would do."""

    def __init__(self, data: Any, *, packs: Sequence[Pack]) -> None:
        super().__init__(data)
        self.packs = [pack for pack in packs if f"{PREFIX}{pack.pk}" in data]
        for pack in self.packs:
            self.fields[f"{PREFIX}{pack.pk}"] = packs_box(pack, 0)

    def counts(self) -> list[tuple[Pack, int]]:
        """Packs with their numbers; only after ``is_valid``."""
        return [(pack, self.cleaned_data[f"{PREFIX}{pack.pk}"] or 0) for pack in self.packs]


class SnoozeForm(RefusedForm):
    """Why a line is put off, and for how long."""

    reason = forms.CharField(
        max_length=200,
        label="Why it is not ordered now",
        error_messages={"required": "Say in a few words why it is not ordered now."},
    )
    until = PlainDayField(
        label="Last day on which it stays off the list",
        error_messages={"required": "Choose the last day.", "invalid": "Choose a day."},
    )


class OrderFromListForm(KeyedForm):
    """The reorder list as a form: a number of packs at each pack that is proposed. 0 or nothing leaves it out."""

    def __init__(self, data: Any = None, *, proposed: Sequence[tuple[Pack, int]] = ()) -> None:
        super().__init__(data)
        self.packs = {pack.pk: pack for pack, _ in proposed}
        for pack, count in proposed:
            self._add(pack, count)
        self.unknown = self._add_sent(data) if data is not None else False

    def _add(self, pack: Pack, count: int) -> None:
        self.fields[f"{PREFIX}{pack.pk}"] = packs_box(pack, count)

    def _add_sent(self, data: Any) -> bool:
        """Take in the packs that the page showed and the list of now does not. True when one of them can't be bought any more."""
        named = [name.removeprefix(PREFIX) for name in data if name.startswith(PREFIX)]
        wanted = {int(name) for name in named[:MOST_LISTED] if name.isascii() and name.isdecimal() and len(name) < 18}
        missing = {pk for pk in wanted - self.packs.keys() if str(data.get(f"{PREFIX}{pk}")).strip() not in ("", "0")}
        sold = Pack.objects.filter(pk__in=missing, is_active=True).select_related("supplier", "material")
        for pack in sold:
            self.packs[pack.pk] = pack
            self._add(pack, 0)
        return len(missing - self.packs.keys()) > 0

    def field_of(self, pack: Pack) -> BoundField:
        """The box at a pack."""
        return self[f"{PREFIX}{pack.pk}"]

    def count_of(self, pack: Pack) -> int | None:
        """The number at a pack: as typed where it can be read, as proposed on a fresh page; None for what can't be read."""
        name = f"{PREFIX}{pack.pk}"
        if not self.is_bound:
            return int(self.fields[name].initial or 0)
        return None if name in self.errors else int(self.cleaned_data.get(name) or 0)

    def clean(self) -> dict[str, Any]:
        """Something has to be ordered, and everything has to be on sale."""
        data = super().clean() or self.cleaned_data
        if self.unknown:
            self.add_error(
                None, "A pack on this list is no longer on sale. The list below is as of now; look at it and send it again."
            )
        elif not self.errors and not self._counts():
            self.add_error(None, "There is nothing to order: every number of packs is 0.")
        return data

    def _counts(self) -> dict[int, int]:
        counts = {pk: self.cleaned_data.get(f"{PREFIX}{pk}") for pk in self.packs}
        return {pk: count for pk, count in counts.items() if count}

    def wanted(self, supplier: int | None = None) -> list[WantedLine]:
        """What to order, of one supplier or of all; only after ``is_valid``."""
        lines = [WantedLine(pack=self.packs[pk], packs=count) for pk, count in self._counts().items()]
        return [line for line in lines if supplier in (None, line.pack.supplier_id)]

    def refuse(self, error: StockError, lines: Sequence[WantedLine]) -> None:
        """Put a refusal at the pack it belongs to."""
        if error.line is None or error.line >= len(lines):
            self.add_error(None, str(error))
        else:
            self.add_error(f"{PREFIX}{lines[error.line].pack.pk}", str(error))
