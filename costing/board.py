"""What the job board shows: open jobs by where their work stands, and the day's work in order. Reads only."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, time, timedelta

from django.utils import timezone

from costing.core.board import BoardStep, JobToPlan, PlannedWork, Stand, Standing, day_in_order, standing
from costing.models import Job
from costing.work import JobView, StepView, with_steps

MOST_JOBS = 60
END_OF_DAY = time(18, 0)

COLUMNS: tuple[tuple[str, tuple[Stand, ...], str], ...] = (
    ("Wet", (Stand.WET,), "Leave it alone."),
    ("Drying", (Stand.DRYING,), "Not before its time."),
    ("Ready to abrade", (Stand.READY_TO_ABRADE,), ""),
    ("Ready for the next coat", (Stand.READY_TO_COAT, Stand.SPRAYING), ""),
    ("Other work", (Stand.READY, Stand.FINISHED), ""),
    ("To begin", (Stand.TO_BEGIN,), ""),
)
"""The columns of the board: a heading, what stands in it, a word beside it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OnBoard:
    """A job on the board."""

    view: JobView
    standing: Standing

    @property
    def next_step(self) -> StepView | None:
        """The step to do next."""
        return None if self.standing.next_step is None else self.view.steps[self.standing.next_step]

    @property
    def ready_at(self) -> datetime | None:
        """When the next step may begin, local time."""
        return None if self.standing.ready_at is None else timezone.localtime(self.standing.ready_at)

    @property
    def wet_until(self) -> datetime | None:
        """Until when it is wet, local time."""
        return None if self.standing.wet_until is None else timezone.localtime(self.standing.wet_until)

    @property
    def is_finished(self) -> bool:
        """True when nothing is left to do and nothing dries."""
        return self.standing.stand is Stand.FINISHED

    @property
    def is_begun(self) -> bool:
        """True when its next step is begun."""
        return self.next_step is not None and self.next_step.is_begun


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of the board."""

    title: str
    words: str
    jobs: tuple[OnBoard, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayEntry:
    """A piece of the day's work."""

    view: JobView
    step: StepView
    work: PlannedWork

    @property
    def begins(self) -> datetime:
        """When it may begin, local time."""
        return timezone.localtime(self.work.begins)

    @property
    def ends(self) -> datetime:
        """When it is done as planned, local time."""
        return timezone.localtime(self.work.ends)


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """The whole board."""

    columns: tuple[Column, ...]
    day: tuple[DayEntry, ...]
    left_out: int


def board(*, now: datetime) -> Board:
    """Open jobs by where they stand, those in work first. Five queries."""
    jobs = list(Job.objects.open().in_order_of_work()[: MOST_JOBS + 1])
    placed = [OnBoard(view=view, standing=_standing(view, now)) for view in with_steps(jobs[:MOST_JOBS])]
    return Board(
        columns=tuple(_column(title, stands, words, placed) for title, stands, words in COLUMNS),
        day=_day(placed, now),
        left_out=max(len(jobs) - MOST_JOBS, 0),
    )


def _standing(view: JobView, now: datetime) -> Standing:
    steps = [
        BoardStep(
            kind=step.step.kind,
            is_done=step.is_done,
            is_begun=step.is_begun,
            last_done_at=step.logs[0].done_at if step.logs else None,
            dry_minutes=float(step.step.dry_minutes),
        )
        for step in view.steps
    ]
    return standing(steps, now=now)


def _column(title: str, stands: tuple[Stand, ...], words: str, placed: list[OnBoard]) -> Column:
    held = [job for job in placed if job.standing.stand in stands]
    if Stand.WET in stands or Stand.DRYING in stands:
        held.sort(key=lambda job: job.standing.ready_at or datetime.max.replace(tzinfo=timezone.get_current_timezone()))
    return Column(title=title, words=words, jobs=tuple(held))


def _day(placed: list[OnBoard], now: datetime) -> tuple[DayEntry, ...]:
    """The rest of today's work, or that of an evening which goes on past the usual end of the day."""
    local = timezone.localtime(now)
    end = local.replace(hour=END_OF_DAY.hour, minute=END_OF_DAY.minute, second=0, microsecond=0)
    until = end if local < end else local + timedelta(hours=2)
    today = [job for job in placed if job.view.job.starts_on <= local.date() or job.view.steps_begun]
    planned = day_in_order([_to_plan(job, now) for job in today], now=now, until=until)
    return tuple(DayEntry(view=today[work.job].view, step=today[work.job].view.steps[work.step], work=work) for work in planned)


def _to_plan(job: OnBoard, now: datetime) -> JobToPlan:
    open_steps = tuple(
        (index, float(step.minutes_left), float(step.step.dry_minutes))
        for index, step in enumerate(job.view.steps)
        if not step.is_done
    )
    return JobToPlan(steps=open_steps, ready_at=max(job.standing.ready_at or now, now))
