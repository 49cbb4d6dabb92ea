"""Bringing lists in: a dry run that is kept, then all of it or nothing.

Both are work that tells how far it is. Applying reads the books anew under one transaction and goes on only when the list would
still do exactly what was shown; it writes nothing otherwise.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone

from finishing.columns import HeadingsRefusedError, Line, NamedList, read_list
from finishing.models import User
from finishing.steps import Work
from finishing.uploads import FileRefusedError, reading
from inventory.bringing_in.lists import LISTS, MOST_COLUMNS, BroughtList
from inventory.bringing_in.plan import LOOK, Given, Plan, State
from inventory.choices import ListKind
from inventory.errors import StockError
from inventory.models import ListUpload

KEPT_DAYS = 7  # an upload that nobody applied is forgotten after that


class ListError(StockError):
    """A list that can't be applied as it was shown; the message says what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Upload:
    """A file as it came."""

    kind: ListKind
    content: bytes
    most_bytes: int
    given: Given


def take_in(upload: Upload) -> Work[ListUpload]:
    """Read a file, find out what it would change, and keep both. Nothing else is written.

    The same form sent twice finds what it made the first time. Raises ``FileRefusedError`` in words.
    """
    earlier = ListUpload.objects.filter(key=upload.given.key, by=upload.given.by).first()
    if earlier is not None:
        return earlier
    brought = LISTS[upload.kind]
    sheet = yield from reading(upload.content, brought.limits(upload.most_bytes))
    try:
        named = read_list(sheet, brought.columns, most_columns=MOST_COLUMNS)
    except HeadingsRefusedError as error:
        raise FileRefusedError(str(error)) from error
    found = yield from brought.plan(named, upload.given)
    return _keep(upload, named, found)


@transaction.atomic
def _keep(upload: Upload, named: NamedList, found: Plan) -> ListUpload:
    ListUpload.objects.filter(applied_at=None, created_at__lt=timezone.now() - timedelta(days=KEPT_DAYS)).delete()
    given = upload.given
    return ListUpload.objects.create(
        key=given.key,
        kind=upload.kind,
        file_name=given.file_name,
        digest=hashlib.sha256(upload.content).hexdigest(),
        supplier=given.supplier,
        on=given.on,
        named=_as_json(named),
        report=found.as_json(),
        counts=found.counts(),
        by=given.by,
    )


def apply_list(*, upload: ListUpload, by: User, looked: bool = False) -> Work[ListUpload]:
    """Write what the dry run showed, all of it or nothing. A list that was applied already is given back as it is.

    ``looked``: somebody looked at the rows that are marked for it. Raises ``ListError`` when nobody did, when rows are wrong,
    when nothing is to do, or when the books have changed since; in that case the kept report is brought up to date for
    another look.
    """
    if upload.applied_at is not None:
        return upload
    brought = LISTS[ListKind(upload.kind)]
    changed: Plan | None = None
    try:
        with transaction.atomic():
            kept = ListUpload.objects.select_for_update(of=("self",)).select_related("supplier").get(pk=upload.pk)
            if kept.applied_at is not None:
                return kept
            given = Given(by=by, on=kept.on, file_name=kept.file_name, key=kept.key, supplier=kept.supplier)
            found = yield from brought.plan(_from_json(kept.named), given)
            if found.as_json() != kept.report:
                changed = found
                raise _ChangedError("The books have changed since. Look at what the list would do now, then apply it.")
            _refuse_idle(found)
            _refuse_unlooked(found, looked)
            yield from brought.write(found, given)
            return _done(kept, by)
    except _ChangedError:
        if changed is not None:
            upload.report, upload.counts = changed.as_json(), changed.counts()
            upload.save(update_fields=["report", "counts"])
        raise
    except IntegrityError as error:
        words = "Somebody else changed the same things at this moment, so nothing was written. Upload the file again."
        raise ListError(words) from error


class _ChangedError(ListError):
    """The books are no longer those of the dry run."""


def _refuse_idle(found: Plan) -> None:
    if found.to_do(State.WRONG):
        raise ListError("Some rows are wrong. Put them right in the file and upload it again; nothing was written.")
    if not found.to_do(State.NEW, State.CHANGED):
        raise ListError("There is nothing to do: all of it is in the books already.")


def _refuse_unlooked(found: Plan, looked: bool) -> None:
    striking = [row for row in found.to_do(State.NEW, State.CHANGED) if row.is_striking]
    if striking and not looked:
        marked = "1 row is" if len(striking) == 1 else f"{len(striking)} rows are"
        raise ListError(
            f"{marked} marked “{LOOK}”. Look, tick that these changes are meant, and apply again; nothing was written."
        )


def _done(kept: ListUpload, by: User) -> ListUpload:
    kept.applied_by, kept.applied_at, kept.named = by, timezone.now(), {}
    kept.save(update_fields=["applied_by", "applied_at", "named"])
    return kept


def _as_json(named: NamedList) -> dict[str, Any]:
    fields = list(named.headings)
    lines = [[line.number, *(line.cells[name] for name in fields)] for line in named.lines]
    return {"headings": [list(pair) for pair in named.headings.items()], "lines": lines, "notes": list(named.notes)}


def _from_json(kept: dict[str, Any]) -> NamedList:
    headings = dict(kept["headings"])  # kept as pairs: a database may sort the names of an object
    fields = list(headings)
    lines = tuple(Line(number=number, cells=dict(zip(fields, cells, strict=True))) for number, *cells in kept["lines"])
    return NamedList(headings=headings, lines=lines, notes=tuple(kept["notes"]))


__all__ = ["BroughtList", "FileRefusedError", "ListError", "Upload", "apply_list", "take_in"]
