"""Changes to coating systems: an operation with its mix and lines is saved, moved, copied and removed as one thing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from uuid import UUID

from django.db import models, transaction

from costing.choices import Driver
from costing.models import CoatComponent, CoatingSystem, Operation, SupplyLine, TimeLine
from costing.services.once import create_once
from inventory.models import Material


@dataclass(frozen=True, slots=True, kw_only=True)
class MixPart:
    """A material of a mix and its parts by volume."""

    material: Material
    parts: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkLine:
    """Minutes of work per driver."""

    label: str
    driver: Driver
    minutes: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class UseLine:
    """Supplies per driver, in the material's stock unit."""

    material: Material
    driver: Driver
    quantity: Decimal
    whole_units: bool


@transaction.atomic
def save_operation(
    operation: Operation,
    *,
    mix: Sequence[MixPart],
    work: Sequence[WorkLine],
    supplies: Sequence[UseLine],
    key: UUID | None = None,
) -> Operation:
    """Save an operation and put these lines in the place of its old ones; a new one goes last.

    A new operation comes with the key of its form: the same form sent again changes nothing.
    """
    if operation._state.adding:
        if key is None:
            raise ValueError("a new operation needs the key of its form")
        operation.position = _next_position(operation.system)
        saved = create_once(operation, key=key)
        if saved is not operation:
            return saved
    else:
        operation.save()
    _replace_lines(operation, mix=mix, work=work, supplies=supplies)
    return operation


def _replace_lines(
    operation: Operation, *, mix: Sequence[MixPart], work: Sequence[WorkLine], supplies: Sequence[UseLine]
) -> None:
    operation.components.all().delete()
    operation.time_lines.all().delete()
    operation.supply_lines.all().delete()
    CoatComponent.objects.bulk_create(
        CoatComponent(operation=operation, position=number, material=part.material, parts=part.parts)
        for number, part in enumerate(mix, start=1)
    )
    TimeLine.objects.bulk_create(
        TimeLine(operation=operation, label=line.label, driver=line.driver, minutes=line.minutes) for line in work
    )
    SupplyLine.objects.bulk_create(
        SupplyLine(
            operation=operation,
            material=line.material,
            driver=line.driver,
            quantity=line.quantity,
            whole_units=line.whole_units,
        )
        for line in supplies
    )


def _next_position(system: CoatingSystem) -> int:
    CoatingSystem.objects.select_for_update().get(pk=system.pk)
    last = system.operations.aggregate(last=models.Max("position"))["last"]
    return (last or 0) + 1


@transaction.atomic
def move_operation(operation: Operation, *, up: bool) -> None:
    """Swap an operation with the one before or after it; at the end of the list nothing happens."""
    rows = _locked_in_order(operation.system_id)
    place = next(index for index, row in enumerate(rows) if row.pk == operation.pk)
    other = place - 1 if up else place + 1
    if 0 <= other < len(rows):
        rows[place], rows[other] = rows[other], rows[place]
        _number(rows)


@transaction.atomic
def delete_operation(operation: Operation) -> None:
    """Remove an operation and close the gap. Jobs keep the steps they were planned with."""
    rest = [row for row in _locked_in_order(operation.system_id) if row.pk != operation.pk]
    operation.delete()
    _number(rest)


def _locked_in_order(system_id: int) -> list[Operation]:
    CoatingSystem.objects.select_for_update().get(pk=system_id)
    return list(Operation.objects.filter(system_id=system_id).order_by("position", "pk"))


def _number(rows: Sequence[Operation]) -> None:
    moved = []
    for number, row in enumerate(rows, start=1):
        if row.position != number:
            row.position = number
            moved.append(row)
    Operation.objects.bulk_update(moved, ["position"])


@transaction.atomic
def copy_system(system: CoatingSystem, *, name: str) -> CoatingSystem:
    """A new system with the same operations, mixes and lines, as a starting point. The name must be free."""
    made = CoatingSystem.objects.create(name=name, customer_text=system.customer_text, note=system.note)
    operations = system.operations.prefetch_related("components", "time_lines", "supply_lines")
    for operation in operations:
        lines: list[models.Model] = [
            *operation.components.all(),
            *operation.time_lines.all(),
            *operation.supply_lines.all(),
        ]
        operation.pk, operation.key, operation.system = None, None, made
        operation._state.adding = True
        operation.save()
        for line in lines:
            line.pk, line.operation = None, operation  # type: ignore[attr-defined]
            line._state.adding = True
            line.save()
    return made
