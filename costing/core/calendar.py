"""From operations to working days (costing model, section 6). Imports no Django.

People work the shop's hours; a coat dries through the night. So elapsed time is laid out on working days: work goes on within
the hours of a day and is picked up again the next morning, drying goes on around the clock. Days off are not laid out: a coat
that dries over a weekend is ready no later than shown.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor

from costing.core.checks import check_number
from costing.core.schedule import ElapsedStep

DAY = 24 * 60.0  # min
_NOISE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A stretch of time, in minutes since work began on the first morning."""

    start: float
    end: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidStep:
    """One operation on the days."""

    step: ElapsedStep
    work: tuple[Span, ...]  # one a day on which it is worked at
    drying: Span | None

    @property
    def start(self) -> float:
        """When the work of it begins, or the drying where it takes no work."""
        return self.work[0].start if self.work else self.drying.start if self.drying else 0.0

    @property
    def end(self) -> float:
        """When the next operation may begin, or the work can be stacked."""
        return self.drying.end if self.drying else self.work[-1].end if self.work else 0.0

    @property
    def booth(self) -> tuple[Span, ...]:
        """When it holds the booth: a coat's work, and its flash-off."""
        if not self.step.is_coat:
            return ()
        flash = self.step.flash_off_minutes
        after = (Span(start=self.drying.start, end=self.drying.start + flash),) if self.drying and flash else ()
        return (*self.work, *after)

    @property
    def rack(self) -> Span | None:
        """When it holds the drying rack: from the end of the flash-off until it is dry."""
        if self.drying is None or self.step.waiting_minutes <= self.step.flash_off_minutes:
            return None
        return Span(start=self.drying.start + self.step.flash_off_minutes, end=self.drying.end)


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidOut:
    """A system's operations on working days."""

    steps: tuple[LaidStep, ...]
    hours_a_day: float
    end: float  # minutes since the first morning

    @property
    def days(self) -> float:
        """Working days until the work can be stacked: whole days, and the share of the last one that passed.

        What ends in the night counts to the end of the day before it.
        """
        return self.in_days(self.end)

    def in_days(self, moment: float) -> float:
        """A moment as whole days and the share of the working day that passed; a night moment is the day's end."""
        whole = floor(moment / DAY + _NOISE)
        return whole + min((moment - whole * DAY) / (self.hours_a_day * 60), 1.0)


def lay_out(steps: Sequence[ElapsedStep], *, hours_a_day: float) -> LaidOut:
    """Lay a system's performed operations out on working days of so many hours, one after the other.

    Two hours of work, sixteen of drying and one of work, on days of eight hours: the coat dries overnight, and the work is
    done an hour into the second day. Raises OutOfRangeError for a day without hours or beyond 24.
    """
    hours = check_number(hours_a_day, "hours_a_day", words="working hours a day", unit="h", above=0, most=24)
    clock = 0.0
    laid = []
    for step in steps:
        work, clock = _worked(clock, step.working_minutes, hours * 60)
        drying = None
        if step.waiting_minutes:
            drying = Span(start=clock, end=clock + step.waiting_minutes)
            clock = drying.end
        laid.append(LaidStep(step=step, work=work, drying=drying))
    return LaidOut(steps=tuple(laid), hours_a_day=hours, end=clock)


def _worked(clock: float, minutes: float, window: float) -> tuple[tuple[Span, ...], float]:
    """So many minutes of work from ``clock`` on, within the hours of each day; the spans, and the time afterwards."""
    spans = []
    while minutes > _NOISE:
        morning = floor(clock / DAY + _NOISE) * DAY
        left = morning + window - clock
        if left <= _NOISE:
            clock = morning + DAY
            continue
        long = min(left, minutes)
        spans.append(Span(start=clock, end=clock + long))
        clock += long
        minutes -= long
    return tuple(spans), clock
