"""Timing that is fair on a busy machine, and the table of ratios.

Ours and the baseline take turns, and each gives its median, so that a noisy minute hurts both alike. A ratio says how many
times as long ours takes as the baseline; a figure alone says little, since it depends on the machine.
"""

from __future__ import annotations

import gc
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from statistics import median
from time import perf_counter


class BenchError(RuntimeError):
    """Ours and the baseline did not do the same work, so that their ratio would mean nothing; or a part can't run."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """How much is done: the full run, or a quick one that only shows that every part works."""

    estimate_rounds: int
    posting_rounds: int
    document_rounds: int
    sheet_rows: int
    sheet_rounds: int
    page_rounds: int
    delivery_lines: int  # lots of one delivery
    delivery_rounds: int
    queued_logs: int  # entries that waited on a tablet
    queue_rounds: int
    job_movements: int
    cost_rounds: int
    learnt_coats: int
    few_movements: int
    many_movements: int
    long_movements: int  # of the ledger that recall and past value are measured on
    long_rounds: int
    import_rows: int
    import_rounds: int
    materials: tuple[int, int, int] = (400, 500, 5_000)  # on the reorder list: few, some, many
    replenish_rounds: int = 5
    pages: frozenset[str] = frozenset()  # names of the pages that are measured; empty: all


FULL = Size(
    estimate_rounds=60,
    posting_rounds=40,
    document_rounds=40,
    sheet_rows=10_000,
    sheet_rounds=5,
    page_rounds=9,
    delivery_lines=500,
    delivery_rounds=15,
    queued_logs=200,
    queue_rounds=3,
    job_movements=5_000,
    cost_rounds=9,
    learnt_coats=50_000,
    few_movements=1_000,
    many_movements=100_000,
    long_movements=1_000_000,
    long_rounds=7,
    import_rows=10_000,
    import_rounds=3,
)
QUICK = Size(
    estimate_rounds=5,
    posting_rounds=3,
    document_rounds=3,
    sheet_rows=300,
    sheet_rounds=2,
    page_rounds=1,
    delivery_lines=40,
    delivery_rounds=2,
    queued_logs=5,
    queue_rounds=1,
    job_movements=400,
    cost_rounds=2,
    learnt_coats=500,
    few_movements=400,
    many_movements=1_200,
    materials=(12, 20, 40),
    replenish_rounds=1,
    long_movements=3_000,
    long_rounds=2,
    import_rows=300,
    import_rounds=1,
    pages=frozenset({"desk_buying", "estimate", "job", "lots", "material", "reorder_list", "spray_room", "stock_moves"}),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ratio:
    """A line of the table. ``ours`` and ``baseline`` are in ``unit``."""

    name: str
    ours: float
    baseline: float
    unit: str
    times: float  # how many times as long ours takes
    against: str  # what the baseline is
    grows: bool = False  # True for a page that asks the database more often when the ledger is longer

    def __post_init__(self) -> None:
        for figure in (self.ours, self.baseline, self.times):
            if not (math.isfinite(figure) and figure > 0):
                raise BenchError(f"{self.name}: {figure} is no measurement")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Median seconds of ours and of the baseline."""

    ours: float
    baseline: float

    def rates(self, name: str, *, pieces: int, unit: str, against: str) -> Ratio:
        """Both as pieces per second."""
        return Ratio(
            name=name,
            ours=pieces / self.ours,
            baseline=pieces / self.baseline,
            unit=unit,
            times=self.ours / self.baseline,
            against=against,
        )

    def milliseconds(self, name: str, *, against: str, grows: bool = False) -> Ratio:
        """Both in ms."""
        return Ratio(
            name=name,
            ours=self.ours * 1000,
            baseline=self.baseline * 1000,
            unit="ms",
            times=self.ours / self.baseline,
            against=against,
            grows=grows,
        )


def seconds_of(work: Callable[[], object]) -> float:
    """How long ``work`` takes."""
    start = perf_counter()
    work()
    return perf_counter() - start


def take_turns(ours: Callable[[], object], baseline: Callable[[], object], *, rounds: int) -> Pair:
    """The medians of both over ``rounds``, after one round that warms up. Who goes first changes from round to round."""
    ours(), baseline()
    gc.collect()  # so that neither pays for the rubbish of earlier parts
    times: tuple[list[float], list[float]] = ([], [])
    for number in range(rounds):
        order = ((ours, 0), (baseline, 1)) if number % 2 else ((baseline, 1), (ours, 0))
        for work, place in order:
            times[place].append(seconds_of(work))
    return Pair(ours=median(times[0]), baseline=median(times[1]))


def as_table(ratios: Sequence[Ratio]) -> str:
    """The ratios as a table in plain text."""
    head = ("what", "ours", "baseline", "unit", "ratio", "the baseline is")
    rows = [head, *(_cells(ratio) for ratio in ratios)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(head))]
    rule = "  ".join("-" * width for width in widths)
    lines = [_line(row, widths) for row in rows]
    return "\n".join([lines[0], rule, *lines[1:]])


def _cells(ratio: Ratio) -> tuple[str, ...]:
    mark = "  GROWS" if ratio.grows else ""
    return (ratio.name, _figure(ratio.ours), _figure(ratio.baseline), ratio.unit, _figure(ratio.times), ratio.against + mark)


def _line(cells: Iterable[str], widths: Sequence[int]) -> str:
    left = {0, 3, 5}
    return "  ".join(
        cell.ljust(width) if column in left else cell.rjust(width)
        for column, (cell, width) in enumerate(zip(cells, widths, strict=True))
    ).rstrip()


def _figure(value: float) -> str:
    """Three figures that count: 1,234 or 12.3 or 0.123."""
    if value >= 100:
        return f"{value:,.0f}"
    places = 1 if value >= 10 else 2 if value >= 1 else 3
    return f"{value:.{places}f}"
