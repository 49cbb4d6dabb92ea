"""Workings of the operations' areas and times (costing model, sections 3, 5 and 6). Imports no Django."""

from __future__ import annotations

from costing.core.drivers import driver_values
from costing.core.explain.working import Book, Quantity, q
from costing.core.result import Estimate, OperationResult
from costing.core.schedule import ElapsedStep, elapsed_steps


def operation_workings(book: Book, estimate: Estimate) -> None:
    """Area, pieces, labour and booth minutes of each operation, and the sums over all of them."""
    steps = iter(elapsed_steps(estimate.operations))
    elapsed: list[Quantity] = []
    for position, result in enumerate(estimate.operations):
        _touched(book, estimate, position, result)
        _labour(book, position, result)
        _booth(book, position, result)
        if result.performed:
            elapsed.append(_elapsed(book, position, next(steps)))
    names = [(result.operation.name, result) for result in estimate.operations]
    book.add(
        "labour_minutes",
        q("M", "labour time", estimate.labour_minutes, "min"),
        "Σ(M_o)",
        [q("M_o", name, result.labour_minutes, "min") for name, result in names],
        section=6,
    )
    book.add(
        "booth_minutes",
        q("B", "booth time", estimate.booth_minutes, "min"),
        "Σ(B_o)",
        [q("B_o", name, result.booth_minutes, "min") for name, result in names],
        section=5,
    )
    total = q("E", "elapsed time", estimate.elapsed_minutes, "min")
    book.add("elapsed_minutes", total, "Σ(E_o)", elapsed, section=6, note="Only labour is paid.")


def _touched(book: Book, estimate: Estimate, position: int, result: OperationResult) -> None:
    rows = [
        (row.label or f"row {number + 1}", row)
        for number, row in enumerate(estimate.takeoff.rows)
        if row.zone in result.operation.zones
    ]
    book.add(
        f"operation.{position}.area",
        q("A_o", f"area for {result.operation.name}", result.area, "m²"),
        "Σ(a)",
        [q("a", name, row.area, "m²") for name, row in rows],
        section=3,
    )
    book.add(
        f"operation.{position}.pieces",
        q("N_o", f"pieces for {result.operation.name}", float(result.pieces)),
        "Σ(n)",
        [q("n", name, float(row.pieces)) for name, row in rows],
        section=3,
    )


def _labour(book: Book, position: int, result: OperationResult) -> None:
    key = f"operation.{position}.labour_minutes"
    total = q("M_o", f"labour time of {result.operation.name}", result.labour_minutes, "min")
    if not result.performed:
        book.add(key, total, "0", [], section=4, note="This coat finds no area in its zones.")
        return
    values = driver_values(result.area, result.pieces, result.coat)
    lines: list[Quantity] = []
    for line in result.operation.time_lines:
        lines += [
            q("m", line.label or "time line", line.minutes, f"min per {line.driver.words}"),
            q("D", line.driver.words, values[line.driver]),
        ]
    coat, volumes = result.operation.coat, result.coat
    if coat is None or volumes is None:
        book.add(key, total, "Σ(m × D)", lines, section=3)
        return
    own = [
        q("t", "spraying time", volumes.spray_minutes, "min"),
        q("q", "fills", float(volumes.fills)),
        q("m_f", "loading a fill", coat.minutes_per_fill, "min"),
        q("b", "batches", float(volumes.batches)),
        q("m_b", "mixing a batch", coat.minutes_per_batch, "min"),
    ]
    book.add(key, total, "t + q × m_f + b × m_b + Σ(m × D)", [*own, *lines], section=6)


def _booth(book: Book, position: int, result: OperationResult) -> None:
    coat, volumes = result.operation.coat, result.coat
    if coat is None or volumes is None or not result.performed:
        return
    book.add(
        f"operation.{position}.booth_minutes",
        q("B_o", f"booth time of {result.operation.name}", result.booth_minutes, "min"),
        "t + q × m_f + F",
        [
            q("t", "spraying time", volumes.spray_minutes, "min"),
            q("q", "fills", float(volumes.fills)),
            q("m_f", "loading a fill", coat.minutes_per_fill, "min"),
            q("F", "flash-off in the booth", coat.flash_off_minutes, "min"),
        ],
        section=5,
    )


def _elapsed(book: Book, position: int, step: ElapsedStep) -> Quantity:
    total = q("E_o", f"elapsed time of {step.operation}", step.working_minutes + step.waiting_minutes, "min")
    book.add(
        f"operation.{position}.elapsed_minutes",
        total,
        "M_o / crew + wait",
        [
            q("M_o", "labour time", step.labour_minutes, "min"),
            q("crew", "people on it", float(step.crew)),
            q("wait", "drying before the next operation or before stacking", step.waiting_minutes, "min"),
        ],
        section=6,
    )
    return total
