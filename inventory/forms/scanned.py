"""A delivery being typed, with what a scanned code adds to it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, cast

from django import forms
from django.http import QueryDict

from inventory.forms.assortment import Assortment
from inventory.forms.receiving import MOST_ROWS, BaseReceiptFormSet, Delivery, DeliveryForm, ReceiptFormSet, ReceiptRowForm
from inventory.models import Pack, Supplier
from inventory.services.scanning import Understood

COLUMNS = tuple(ReceiptRowForm.base_fields)
PREFIX = "rows"
Row = dict[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """Where a code was written: the row counted from 1, and whether it added to packs that stood there. None: no row was free."""

    row: int | None
    added: bool = False


def typed_rows(sent: Mapping[str, Any], *, columns: Sequence[str] = COLUMNS, most: int = MOST_ROWS) -> list[Row]:
    """The rows as they were sent, empty ones too; at most ``most``."""
    total = str(sent.get(f"{PREFIX}-TOTAL_FORMS", ""))
    count = min(int(total), most) if total.isascii() and total.isdigit() and len(total) < 4 else 0
    return [{name: str(sent.get(f"{PREFIX}-{place}-{name}", "")).strip() for name in columns} for place in range(count)]


def place(rows: list[Row], found: Understood) -> Placed:
    """Write what a code said into the rows: onto the same lot of the same pack, into a row that lacks it, or into a free row.

    Nothing that was typed is written over. Changes ``rows``.
    """
    news = {
        "item": found.item,
        "amount": found.amount,
        "lot_number": found.lot_number,
        "made_on": found.made_on.isoformat() if found.made_on else "",
        "expires_on": found.expires_on.isoformat() if found.expires_on else "",
    }
    for number, row in enumerate(rows, start=1):
        if _is_one_more(row, news):
            row["amount"] = str(int(row["amount"]) + int(news["amount"]))
            return Placed(row=number, added=True)
        if _is_unknown_again(row, news):
            row["amount"] = str(int(row["amount"] or 1) + 1)
            return Placed(row=number, added=True)
    number = next((number for number, row in enumerate(rows, start=1) if _lacks(row, news)), 0)
    number = number or next((number for number, row in enumerate(rows, start=1) if not any(row.values())), 0)
    if not number:
        if len(rows) >= MOST_ROWS:
            return Placed(row=None)
        rows.append(dict.fromkeys(COLUMNS, ""))
        number = len(rows)
    row = rows[number - 1]
    row.update({name: value for name, value in news.items() if value and not row[name]})
    return Placed(row=number)


def _is_one_more(row: Row, news: Row) -> bool:
    """The same pack and lot once more: its packs are counted together."""
    same = all(row[name] == news[name] for name in ("item", "lot_number", "made_on", "expires_on"))
    return same and news["item"].startswith("pack:") and row["amount"].isdigit() and news["amount"].isdigit()


def _is_unknown_again(row: Row, news: Row) -> bool:
    """The same code once more, of which nobody knows the pack yet: its containers are counted together."""
    same = all(row[name] == news[name] for name in ("item", "lot_number", "made_on", "expires_on"))
    return same and not news["item"] and bool(news["lot_number"]) and (row["amount"].isdecimal() or not row["amount"])


def _lacks(row: Row, news: Row) -> bool:
    """A row begun by another code of the same container: it has what came but no lot, or a lot but not what came."""
    begun = bool(row["item"]) != bool(row["lot_number"])
    missing = "item" if row["lot_number"] else "lot_number"
    clash = any(row[name] and news[name] and row[name] != news[name] for name in ("item", "lot_number", "made_on", "expires_on"))
    return begun and bool(news[missing]) and not clash


class _ShownRows(ReceiptFormSet):  # type: ignore[misc, valid-type] # made by a factory
    """Rows that show what was typed and say nothing about it yet."""

    def __init__(self, typed: list[Row], *, assortment: Assortment) -> None:
        super().__init__(prefix=PREFIX, form_kwargs={"assortment": assortment})
        self.typed, self.extra = typed, len(typed)

    def get_form_kwargs(self, index: int | None) -> dict[str, Any]:
        """Each row begins with what stood in it."""
        kwargs: dict[str, Any] = super().get_form_kwargs(index)
        return kwargs if index is None else {**kwargs, "initial": self.typed[index]}


class DeliveryBeingTyped(Delivery):
    """The delivery as it was sent, shown again without being checked."""

    def __init__(self, sent: QueryDict, rows: list[Row], *, sold_by: Supplier | None = None) -> None:
        """``sold_by`` is taken as the supplier where none was chosen."""
        head: dict[str, Any] = {name: sent[name] for name in DeliveryForm.base_fields if sent.get(name)}
        if sold_by is not None:
            head.setdefault("supplier", sold_by.pk)
        self.head = DeliveryForm(initial=head)
        self.rows = cast(BaseReceiptFormSet, _ShownRows(rows, assortment=Assortment.read()))
        self.needs_reason = False


class _PackField(forms.ModelChoiceField):
    def label_from_instance(self, obj: Any) -> str:
        """The pack with its material and who sells it."""
        return f"{obj.material.name}: {obj.description}, {obj.supplier.name}"


class GtinForm(forms.Form):
    """The pack that a GTIN belongs to."""

    pack = _PackField(
        queryset=Pack.objects.filter(gtin="", is_active=True, material__is_active=True)
        .select_related("material", "supplier")
        .order_by("material__name", "content", "pk"),
        empty_label="Choose",
        help_text="Packs that have no GTIN yet.",
        error_messages={"required": "Choose the pack that has this code on it."},
    )
