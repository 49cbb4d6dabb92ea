"""Short ways to make files, to bring them in, and to see what came of it."""

from __future__ import annotations

import csv
import io
import uuid
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from django.utils import timezone
from openpyxl import Workbook

from finishing.models import User
from finishing.steps import finish
from inventory.bringing_in.plan import Given, PlannedRow
from inventory.choices import ListKind
from inventory.models import ListUpload, Supplier
from inventory.services.bringing_in import Upload, apply_list, take_in

LIMIT = 2_000_000


def csv_file(*rows: Sequence[object]) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out).writerows(rows)
    return out.getvalue().encode()


def xlsx_file(*rows: Iterable[Any], title: str = "Sheet") -> bytes:
    book = Workbook()
    book.active.title = title
    for row in rows:
        book.active.append(list(row))
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def given(by: User, *, supplier: Supplier | None = None, on: date | None = None) -> Given:
    return Given(by=by, on=on or timezone.localdate(), file_name="list.csv", key=uuid.uuid4(), supplier=supplier)


def dry_run(kind: ListKind, content: bytes, by: User, **more: Any) -> ListUpload:
    return finish(take_in(Upload(kind=kind, content=content, most_bytes=LIMIT, given=given(by, **more))))


def bring_in(kind: ListKind, content: bytes, by: User, **more: Any) -> ListUpload:
    return finish(apply_list(upload=dry_run(kind, content, by, **more), by=by))


def rows_of(upload: ListUpload) -> list[PlannedRow]:
    return [PlannedRow.from_json(row) for row in upload.report["rows"]]


def states(upload: ListUpload) -> list[str]:
    return [row.state.value for row in rows_of(upload)]


def faults(upload: ListUpload) -> list[tuple[int, str, str]]:
    return [(row.number, fault.column, fault.words) for row in rows_of(upload) for fault in row.faults]
