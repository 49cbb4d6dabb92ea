"""Where the work of a job stands on the job board: wet, drying, ready to abrade, ready for the next coat, or to be begun.

Imports no Django and reads no clock. A job's steps are in their order; a coat is wet while it flashes off, dries for its dry
time, and then the next step may begin. Waits are in minutes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

FLASHES = 15.0
"""Minutes for which a coat is taken as wet where its system states no flash-off (common practice, no source)."""


class Stand(StrEnum):
    """What state the work of a job is in."""

    TO_BEGIN = "to_begin"
    SPRAYING = "spraying"  # a coat is begun and not finished
    WET = "wet"
    DRYING = "drying"
    READY_TO_ABRADE = "ready_to_abrade"
    READY_TO_COAT = "ready_to_coat"
    READY = "ready"  # for any other step
    FINISHED = "finished"  # every step is done


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardStep:
    """A step as the board sees it."""

    kind: str  # a value of OperationKind: coat, abrade …
    is_done: bool
    is_begun: bool = False
    last_done_at: datetime | None = None  # of its latest log
    dry_minutes: float = 0.0
    flash_minutes: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A job's place on the board."""

    stand: Stand
    next_step: int | None  # index of the step to do next; None when all are done
    wet_until: datetime | None = None
    ready_at: datetime | None = None  # when the next step may begin, where something dries


def standing(steps: Sequence[BoardStep], *, now: datetime) -> Standing:
    """Where a job stands at a moment.

    What dries is the latest dry time that runs out of any logged coat, so that a coat that was logged early still counts.
    """
    following = next((index for index, step in enumerate(steps) if not step.is_done), None)
    coats = [step for step in steps if step.last_done_at is not None and step.is_done and step.dry_minutes > 0]
    ready_at = max((_after(step, step.dry_minutes) for step in coats), default=None)
    wet_until = max((_after(step, min(step.flash_minutes or FLASHES, step.dry_minutes)) for step in coats), default=None)
    if wet_until is not None and now < wet_until:
        return Standing(stand=Stand.WET, next_step=following, wet_until=wet_until, ready_at=ready_at)
    if ready_at is not None and now < ready_at:
        return Standing(stand=Stand.DRYING, next_step=following, wet_until=wet_until, ready_at=ready_at)
    if following is None:
        return Standing(stand=Stand.FINISHED, next_step=None, ready_at=ready_at)
    return Standing(stand=_ready(steps, following), next_step=following, ready_at=ready_at)


def _after(step: BoardStep, minutes: float) -> datetime:
    assert step.last_done_at is not None  # noqa: S101 - only logged steps are asked
    return step.last_done_at + timedelta(minutes=minutes)


def _ready(steps: Sequence[BoardStep], following: int) -> Stand:
    step = steps[following]
    if step.is_begun:
        return Stand.SPRAYING if step.kind == "coat" else Stand.READY
    if following == 0 and not any(other.is_begun for other in steps):
        return Stand.TO_BEGIN
    return {"abrade": Stand.READY_TO_ABRADE, "coat": Stand.READY_TO_COAT}.get(step.kind, Stand.READY)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedWork:
    """A piece of the day's work in its order."""

    job: int  # index of the job as it was given
    step: int  # index of the step in the job
    begins: datetime
    ends: datetime
    waits: bool  # True where it begins later than hands are free, because something dries


@dataclass(frozen=True, slots=True, kw_only=True)
class JobToPlan:
    """What is left of a job: its open steps with their work and dry minutes, and from when the first of them may begin."""

    steps: tuple[tuple[int, float, float], ...]  # index, minutes of work, minutes of drying after it
    ready_at: datetime


def day_in_order(jobs: Sequence[JobToPlan], *, now: datetime, until: datetime) -> tuple[PlannedWork, ...]:
    """What one pair of hands does next, until a moment: always the step that may begin first, earlier jobs first on a tie.

    A rule of thumb for the order of a day, not an optimum: each step takes its planned minutes, a coat then dries, and while it
    dries another job is worked on.
    """
    free = now
    ready = [job.ready_at for job in jobs]
    place = [0] * len(jobs)
    found: list[PlannedWork] = []
    while True:
        open_jobs = [index for index, job in enumerate(jobs) if place[index] < len(job.steps)]
        if not open_jobs:
            return tuple(found)
        chosen = min(open_jobs, key=lambda index: (max(ready[index], free), index))
        step, work, dry = jobs[chosen].steps[place[chosen]]
        begins = max(ready[chosen], free)
        if begins >= until:
            return tuple(found)
        ends = begins + timedelta(minutes=work)
        found.append(PlannedWork(job=chosen, step=step, begins=begins, ends=ends, waits=begins > free))
        free, ready[chosen] = ends, ends + timedelta(minutes=dry)
        place[chosen] += 1
