"""A ledger of any size out of a small one: the shop's stock and work copied inside the database, as often as asked.

Posting a million movements through the ledger's door would take most of an hour. The small ledger came through it; the copies
are made by the database itself, each with rows of its own, and the whole is added up again afterwards.
"""

from __future__ import annotations

from django.db import connection, models, transaction
from django.db.models import Max

from costing.bench.measure import BenchError
from costing.models import Batch, BatchRest, BatchUse, CoatLog, Customer, Job, JobStep, JobStepMaterial, Quote, QuoteOption
from inventory.models import Booking, Lot, LotEvent, Movement, Posting
from inventory.services.verify import check_ledger

COPIED: tuple[type[models.Model], ...] = (
    *(Lot, Booking, Posting, Movement, LotEvent),
    *(Customer, Quote, QuoteOption, Job, JobStep, JobStepMaterial, CoatLog, Batch, BatchUse, BatchRest),
)
COUNTED = {"costing_quote.number"}  # unique numbers that go on from copy to copy
_COPIES = "WITH RECURSIVE copies(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM copies WHERE n < {copies})"


def multiply_ledger(*, to: int) -> int:
    """Copy stock and work until the ledger holds at least ``to`` movements; gives how many it holds then.

    Lot numbers stay as they are, so that one number ends up on many lots. Raises ``BenchError`` when the ledger disagrees with
    itself afterwards, or there is nothing to copy.
    """
    held = Movement.objects.count()
    if not held:
        raise BenchError("There is no movement to copy.")
    copies = -(-to // held) - 1
    if copies > 0:
        strides = {model: model._default_manager.aggregate(last=Max("pk"))["last"] or 0 for model in COPIED}
        with transaction.atomic(), connection.cursor() as cursor:
            for model in COPIED:
                cursor.execute(f"{_COPIES.format(copies=copies)} {_copying(model, strides)}")
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
    report = check_ledger()
    if report.disagreements:
        raise BenchError("The multiplied ledger disagrees with itself: " + " ".join(report.disagreements[:3]))
    return report.movements


def _copying(model: type[models.Model], strides: dict[type[models.Model], int]) -> str:
    """One statement that adds all copies of a table's rows; each points to the rows of its own copy."""
    table = model._meta.db_table
    columns, values = [], []
    for field in model._meta.concrete_fields:
        column = str(field.column)
        columns.append(f'"{column}"')
        values.append(_value(model, field, f'source."{column}"', strides))
    where = f"source.id <= {strides[model]}"
    # Our own names and whole numbers only.
    return f'INSERT INTO "{table}" ({", ".join(columns)}) SELECT {", ".join(values)} FROM "{table}" source, copies WHERE {where}'  # noqa: S608


def _value(model: type[models.Model], field: models.Field, column: str, strides: dict[type[models.Model], int]) -> str:
    target = model if field.primary_key else field.related_model
    if isinstance(target, type) and target in strides:
        return f"{column} + n * {strides[target]}"
    if isinstance(field, models.UUIDField) and field.unique:
        return f"CASE WHEN {column} IS NULL THEN NULL ELSE lower(hex(randomblob(16))) END"
    if f"{model._meta.db_table}.{field.column}" in COUNTED:
        return f"{column} + n * {strides[model]}"
    return column
