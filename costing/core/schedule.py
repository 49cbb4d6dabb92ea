"""From operations to elapsed time (costing model, section 6). Imports no Django."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from costing.core.result import OperationResult


@dataclass(frozen=True, slots=True, kw_only=True)
class ElapsedStep:
    """How long one operation holds the work."""

    operation: str
    labour_minutes: float
    crew: int
    working_minutes: float  # labour minutes / crew
    waiting_minutes: float  # dry time before the next operation, or the last coat's time to stacking
    is_coat: bool = False
    flash_off_minutes: float = 0.0  # the part of the waiting that the work spends in the booth


def elapsed_steps(results: Sequence[OperationResult]) -> tuple[ElapsedStep, ...]:
    """Each performed operation's working and waiting time.

    A coat waits its dry time when another operation follows, and the last coat waits until it can be stacked;
    a last coat that another operation follows (an inspection, say) waits for both. Coats without area are left
    out, so the coat before one becomes the last.
    """
    performed = [result for result in results if result.performed]
    coats = [position for position, result in enumerate(performed) if result.coat is not None]
    steps = []
    for position, result in enumerate(performed):
        coat = result.operation.coat
        waiting = 0.0
        if coat is not None and position < len(performed) - 1:
            waiting += coat.dry_minutes
        if coat is not None and position == coats[-1]:
            waiting += coat.stacking_minutes
        steps.append(
            ElapsedStep(
                operation=result.operation.name,
                labour_minutes=result.labour_minutes,
                crew=result.operation.crew,
                working_minutes=result.labour_minutes / result.operation.crew,
                waiting_minutes=waiting,
                is_coat=coat is not None,
                flash_off_minutes=min(coat.flash_off_minutes, waiting) if coat is not None else 0.0,
            )
        )
    return tuple(steps)


def elapsed_minutes(results: Sequence[OperationResult]) -> float:
    """Elapsed minutes of a whole system: all working and all waiting times."""
    return sum(step.working_minutes + step.waiting_minutes for step in elapsed_steps(results))
