"""Long work that says how far it is. Imports no Django.

Such work is a generator: it yields ``Progress`` between chunks and returns its result. Whoever runs it decides what becomes of
the words: a page shows them, a test drops them. Nothing runs beside the request, so a break anywhere leaves the work undone.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass
from time import monotonic
from typing import TypeVar

T = TypeVar("T")
CHUNK = 250  # rows between two words of progress


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far the work is: so many rows done, of so many where that is known."""

    words: str
    done: int
    total: int | None = None


Work = Generator[Progress, None, T]


def finish(work: Work[T]) -> T:
    """Run work to its end and give its result."""
    while True:
        try:
            next(work)
        except StopIteration as end:
            result: T = end.value
            return result


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """Work that takes longer: the progress that was told last, before which it waits."""

    progress: Progress


def try_for(work: Work[T], seconds: float) -> T | Begun:
    """The result of work that is done within so many seconds, else where it stands; it can then be continued."""
    end = monotonic() + seconds
    while True:
        try:
            progress = next(work)
        except StopIteration as done:
            result: T = done.value
            return result
        if monotonic() >= end:
            return Begun(progress=progress)


def chunks(rows: Sequence[T], size: int = CHUNK) -> Iterator[Sequence[T]]:
    """The rows in pieces of at most ``size``.

    >>> list(chunks([1, 2, 3], 2))
    [[1, 2], [3]]
    """
    for start in range(0, len(rows), size):
        yield rows[start : start + size]
