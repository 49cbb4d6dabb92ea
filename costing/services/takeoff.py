"""Changes to the takeoff of an estimate: rows are saved, replaced and added under a guard against stale and doubled forms."""

from __future__ import annotations

from collections.abc import Sequence
from uuid import UUID

from django.db import transaction

from costing.core.takeoff import Takeoff
from costing.core.takeoff_reading import MOST_ROWS, ReadRow
from costing.models import Estimate, TakeoffRow
from costing.services.inputs import core_row


class TakeoffError(ValueError):
    """Rows that cannot be saved; the message says what to do."""


class TakeoffChangedError(TakeoffError):
    """The rows are not those that the form was made from."""

    def __init__(self) -> None:
        super().__init__(
            "The rows were changed since this page was opened, and nothing was saved now. "
            "Open the takeoff in another tab to see how it stands; what you typed is still here."
        )


class TooManyRowsError(TakeoffError):
    """More rows than a takeoff holds."""

    def __init__(self, rows: int) -> None:
        super().__init__(f"That would make {rows} rows. A takeoff has at most {MOST_ROWS}: split it into several estimates.")


def takeoff_of(rows: Sequence[TakeoffRow]) -> Takeoff:
    """Stored rows as the reckoning sees them. Raises CostingError for a row that it refuses."""
    return Takeoff(rows=tuple(core_row(row) for row in rows))


@transaction.atomic
def put_rows(*, estimate: Estimate, rows: Sequence[TakeoffRow], start: int, stop: int, key: UUID, seen: UUID | None) -> None:
    """Put new rows in the place of the stored rows from ``start`` up to ``stop`` (counted from 0).

    ``key`` is the form's own: the same form again changes nothing. ``seen`` is what the form saw last:
    raises TakeoffChangedError when somebody saved in between, TooManyRowsError past the limit.
    """
    held = Estimate.objects.select_for_update().get(pk=estimate.pk)
    if held.takeoff_key == key:
        return
    stored = list(held.rows.all())
    if held.takeoff_key != seen or not 0 <= start <= stop <= len(stored):
        raise TakeoffChangedError
    kept = [*stored[:start], *rows, *stored[stop:]]
    if len(kept) > MOST_ROWS:
        raise TooManyRowsError(len(kept))
    held.rows.filter(pk__in=[row.pk for row in stored[start:stop]]).delete()
    moved = []
    for position, row in enumerate(kept, start=1):
        if row.pk is not None and row.position != position:
            moved.append(row)
        row.estimate, row.position = held, position
    TakeoffRow.objects.bulk_update(moved, ["position"], batch_size=500)
    TakeoffRow.objects.bulk_create((row for row in kept if row.pk is None), batch_size=500)
    held.takeoff_key = key
    held.save(update_fields=["takeoff_key"])


def import_rows(*, estimate: Estimate, rows: Sequence[ReadRow], replace: bool, key: UUID, seen: UUID | None) -> None:
    """Save rows that were read from a list, all or none: in the place of the takeoff, or after it."""
    count = estimate.rows.count()
    put_rows(
        estimate=estimate,
        rows=[row_from(row) for row in rows],
        start=0 if replace else count,
        stop=count,
        key=key,
        seen=seen,
    )


def row_from(read: ReadRow) -> TakeoffRow:
    """A row that was read, as an unsaved takeoff row."""
    return TakeoffRow(
        label=read.label,
        pieces=read.row.pieces,
        form=read.form,
        length=read.length,
        width=read.width,
        thickness=read.thickness,
        girth=read.girth,
        area=read.area,
        faces=read.faces,
        long_edges=read.long_edges,
        short_edges=read.short_edges,
        profile_factor=read.profile_factor,
        geometry_factor=read.geometry_factor,
        zone=read.row.zone.value,
        typed=dict(read.typed),
    )
