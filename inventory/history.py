"""What was changed in master data, when and by whom, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import models

from finishing.fields import MoneyField
from finishing.show import money
from finishing.units import plain_number

NOTHING = "–"
_EVENTS = {"+": "Created", "~": "Changed", "-": "Deleted"}


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldChange:
    """One value before and after."""

    label: str
    before: str
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One saving of one record."""

    when: datetime
    who: str
    subject: str
    event: str
    fields: tuple[FieldChange, ...]


def changes_of(record: Any, *, subject: str, limit: int = 20) -> list[Change]:
    """The latest changes of one record, newest first, from its stored history. One query.

    A saving that changed no value is not listed.
    """
    versions = list(record.history.select_related("history_user").order_by("-history_date", "-history_id")[: limit + 1])
    return _changes(versions, subject=subject)[:limit]


def changes_of_each(model: type[models.Model], ids: Sequence[int], *, subject_of: Any, limit: int = 20) -> list[Change]:
    """The latest changes of several records of one model, newest first. One query, of bounded size."""
    history = model.history.filter(id__in=ids).select_related("history_user")  # type: ignore[attr-defined]
    by_record: dict[int, list[Any]] = {}
    for version in history.order_by("-history_date", "-history_id")[: limit * 10]:
        by_record.setdefault(version.id, []).append(version)
    found = [change for versions in by_record.values() for change in _changes(versions, subject=subject_of(versions[0]))]
    return sorted(found, key=lambda change: change.when, reverse=True)[:limit]


def _changes(versions: Sequence[Any], *, subject: str) -> list[Change]:
    changes = []
    for newer, older in zip(versions, [*versions[1:], None], strict=True):
        if older is None and newer.history_type == "~":
            continue  # the version before this one lies beyond what was read
        fields = () if older is None else _differences(newer, older)
        if older is None or fields or newer.history_type == "-":
            changes.append(
                Change(
                    when=newer.history_date,
                    who=str(newer.history_user or "the program"),
                    subject=subject,
                    event=_EVENTS[newer.history_type],
                    fields=fields,
                )
            )
    return changes


def _differences(newer: Any, older: Any) -> tuple[FieldChange, ...]:
    found = []
    for field in newer.tracked_fields:
        before, after = getattr(older, field.attname), getattr(newer, field.attname)
        if before != after:
            found.append(FieldChange(label=str(field.verbose_name), before=_words(field, older), after=_words(field, newer)))
    return tuple(found)


def _words(field: models.Field[Any, Any], version: Any) -> str:
    # By name, not by column: a changed supplier is shown by its own name, at the price of a query for that rare change.
    value = getattr(version, field.name)
    if value is None or value == "":
        return NOTHING
    if isinstance(field, MoneyField):
        return money(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if field.choices:
        return str(dict(field.flatchoices).get(value, value))
    return plain_number(value) if isinstance(value, Decimal) else str(value)
