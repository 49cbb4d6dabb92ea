"""The sheet of labels that the shop used last."""

from __future__ import annotations

from django.db import transaction

from inventory.documents.labels_sheet import PRESETS, Sheet, SheetError
from inventory.models import LabelSheet

FIELDS = ("paper", "columns", "rows", "left", "top", "across", "down", "width", "height")


def last_sheet(*, paper: str) -> Sheet:
    """The sheet used last; before the first one a common division of the shop's paper."""
    kept = LabelSheet.objects.filter(pk=1).first()
    usual = next(sheet for name, sheet in PRESETS.items() if sheet.paper == paper and sheet.columns == 3)
    if kept is None:
        return usual
    try:
        return Sheet(**{name: getattr(kept, name) for name in FIELDS})
    except (SheetError, ValueError):  # kept by a version with other bounds
        return usual


@transaction.atomic
def remember_sheet(*, sheet: Sheet) -> LabelSheet:
    """Begin with this sheet next time."""
    kept, _ = LabelSheet.objects.update_or_create(pk=1, defaults={name: getattr(sheet, name) for name in FIELDS})
    return kept
