"""What stands against a coat as it is logged: a coat under it that is still wet, batches that are over or empty, notes of
the booth that cannot be right. Nothing here writes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from statistics import fmean
from typing import Any

from django.utils import timezone

from costing.models import Batch, CoatLog, JobStep
from costing.models.jobs import COLDEST, HOTTEST
from costing.services.work_errors import (
    BatchExpiredError,
    BatchGoneError,
    EarlyCoatError,
    MoreThanMixedError,
    WorkError,
)
from finishing import show

LEAST_READING, MOST_READING = Decimal(1), Decimal(2000)  # µm, as wet film gauges go
MOST_READINGS = 50
A_MINUTE = timedelta(minutes=1)  # a time that was typed says the minute, not the second
LONGEST_TIMER = timedelta(hours=10)
"""A timer that ran longer was left on (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchTake:
    """So much of a batch, L; ``late_reason`` says why it was sprayed after its pot life."""

    batch: Batch
    litres: Decimal
    late_reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoothNotes:
    """What was read in the booth. Readings µm, temperature °C, relative humidity %."""

    started_at: datetime | None = None  # when a timer was started
    stopped_at: datetime | None = None
    readings: tuple[Decimal, ...] = ()
    temperature: Decimal | None = None
    humidity: Decimal | None = None
    clock_off_s: int | None = None

    @property
    def mean_reading(self) -> Decimal | None:
        """The mean of the gauge readings, µm; None without any."""
        return round(Decimal(str(fmean(self.readings))), 2) if self.readings else None

    def as_fields(self) -> Mapping[str, Any]:
        """The fields of a log."""
        return {
            "started_at": self.started_at,
            "readings": [float(reading) for reading in self.readings],
            "temperature": self.temperature,
            "humidity": self.humidity,
            "clock_off_s": self.clock_off_s,
        }

    def check(self) -> None:
        """Raise WorkError for what no gauge, thermometer or timer says."""
        for reading in self.readings:
            if not LEAST_READING <= reading <= MOST_READING:
                raise WorkError(
                    f"{show.film(reading)} is no wet film that a gauge reads. Readings lie between "
                    f"{show.film(LEAST_READING)} and {show.film(MOST_READING)}.",
                    field="readings",
                )
        if len(self.readings) > MOST_READINGS:
            raise WorkError(f"These are {len(self.readings)} readings. Give {MOST_READINGS} at most.", field="readings")
        if self.temperature is not None and not COLDEST <= self.temperature <= HOTTEST:
            raise WorkError(
                f"{show.temperature(self.temperature)} can’t be the air of the booth. Check the thermometer and the unit.",
                field="temperature",
            )
        if self.humidity is not None and not 1 <= self.humidity <= 100:
            raise WorkError("Relative humidity lies between 1 and 100 %.", field="humidity")
        self._check_timer()

    def _check_timer(self) -> None:
        if self.started_at is None or self.stopped_at is None:
            return
        ran = self.stopped_at - self.started_at
        since = timezone.localtime(self.started_at)
        if ran < timedelta(0):
            raise WorkError("The timer ends before it starts. Type the time that was worked.", field="minutes")
        if ran > LONGEST_TIMER:
            raise WorkError(
                f"The timer has run {show.minutes(Decimal(int(ran.total_seconds() // 60)))}, since {since:%H:%M} on "
                f"{show.day(since)}. It was left on: type the time that was worked.",
                field="minutes",
            )


NO_NOTES = BoothNotes()


def check_dry(step: JobStep, *, begun_at: datetime, reason: str) -> None:
    """Raise EarlyCoatError where something under this step dries until after ``begun_at`` and no reason is given."""
    if reason.strip():
        return
    under = CoatLog.objects.standing().filter(
        step__job=step.job_id,
        step__position__lt=step.position,
        step__dry_minutes__gt=0,
        done_at__gt=begun_at - timedelta(days=45),
    )
    wet = [(log.done_local + timedelta(minutes=float(log.step.dry_minutes)), log.step) for log in under.select_related("step")]
    ready_at, last = max(wet, key=lambda pair: pair[0], default=(begun_at, step))
    if ready_at - begun_at >= A_MINUTE:
        raise EarlyCoatError(last, ready_at)


def check_takes(step: JobStep, takes: Sequence[BatchTake], *, done_at: datetime) -> None:
    """Raise for a batch that was taken back, is another job's or another mix, is over without a reason, or too small.

    Whoever calls holds the lock of the job, so that two people on one batch come one after the other.
    """
    held = {
        batch.pk: batch
        for batch in Batch.objects.standing().with_left().select_related("step").filter(pk__in=[take.batch.pk for take in takes])
    }
    if len(held) != len(takes):
        missing = next((take.batch for take in takes if take.batch.pk not in held), None)
        if missing is None:
            raise WorkError("A batch comes twice. Give it once, with all that was sprayed of it.", field="batch")
        raise BatchGoneError(missing)
    for take in takes:
        _check_take(step, held[take.batch.pk], take, done_at=done_at)


def _check_take(step: JobStep, batch: Batch, take: BatchTake, *, done_at: datetime) -> None:
    if batch.step.job_id != step.job_id or mix_of(batch.step) != mix_of(step):
        raise WorkError(f"{batch.number} was mixed for {batch.step} and is not the mix of {step}.", field="batch")
    if take.litres <= 0:
        raise WorkError("Say how much of the batch was sprayed, more than 0.", field="litres")
    if take.litres > batch.left:
        raise MoreThanMixedError(batch, take.litres)
    if done_at < batch.mixed_at - A_MINUTE:
        raise WorkError(f"{batch.number} was mixed at {batch.mixed_local:%H:%M}, after this coat was done.", field="done_at")
    if batch.is_expired(done_at) and not take.late_reason.strip():
        raise BatchExpiredError(batch, done_at)


def mix_of(step: JobStep) -> frozenset[tuple[int, Decimal]]:
    """What a step is mixed from: materials with their parts, to tell whether a batch fits another coat."""
    return frozenset((line.material_id, line.parts) for line in step.materials.all() if line.parts is not None)
