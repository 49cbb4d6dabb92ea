"""Jobs and their log: what an accepted quote asks for, step by step, and what was done."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import (
    BooleanField,
    Case,
    Count,
    Exists,
    ExpressionWrapper,
    F,
    IntegerField,
    OuterRef,
    Q,
    Subquery,
    Value,
    When,
)
from django.db.models.functions import Coalesce, Now
from django.urls import reverse
from django.utils import timezone

from costing.choices import Driver, JobStatus, OperationKind
from costing.models.quotes import QuoteOption
from costing.models.systems import SpraySetup
from finishing.fields import QuantityField
from inventory.models import Booking, Material, Movement, Posting

ZERO = Decimal(0)
COLDEST, HOTTEST = Decimal(-10), Decimal(60)  # °C, of the air in a workshop
OPEN_STATUSES = (JobStatus.BOOKED, JobStatus.IN_WORK)


class JobQuerySet(models.QuerySet["Job"]):
    """Named reads of jobs."""

    def open(self) -> JobQuerySet:
        """Jobs that still have work to do."""
        return self.filter(status__in=OPEN_STATUSES)

    def in_order_of_work(self) -> JobQuerySet:
        """Jobs in work first, then what is booked by its day, then closed jobs, the latest first."""
        place = Case(
            When(status=JobStatus.IN_WORK, then=Value(0)),
            When(status=JobStatus.BOOKED, then=Value(1)),
            default=Value(2),
            output_field=IntegerField(),
        )
        return self.order_by(place, Case(When(status__in=OPEN_STATUSES, then=F("starts_on"))), "-closed_on", "-pk")

    def with_progress(self) -> JobQuerySet:
        """Adds ``step_count`` and ``done_count``, the steps and those of them that are finished."""
        steps = JobStep.objects.filter(job=OuterRef("pk")).order_by()
        return self.annotate(step_count=_count(steps), done_count=_count(steps.filter(_has_finishing_log())))

    def with_every_step_done(self) -> JobQuerySet:
        """Jobs in which no step is left to finish."""
        steps = JobStep.objects.filter(job=OuterRef("pk"))
        return self.filter(Exists(steps), ~Exists(steps.filter(~_has_finishing_log())))


def _count(steps: models.QuerySet[JobStep]) -> Coalesce:
    counted = steps.values("job").annotate(count=Count("pk")).values("count")
    return Coalesce(Subquery(counted, output_field=IntegerField()), 0)


def _has_finishing_log() -> Exists:
    return Exists(CoatLog.objects.standing().filter(step=OuterRef("pk"), finishes_step=True))


class Job(models.Model):
    """Work that a customer accepted."""

    key = models.UUIDField(unique=True, editable=False)
    quote_option = models.OneToOneField(QuoteOption, on_delete=models.PROTECT, related_name="job")
    title = models.CharField(max_length=120)
    customer_name = models.CharField(max_length=120)
    starts_on = models.DateField(help_text="The day by which the material must be here.")
    status = models.CharField(max_length=9, choices=JobStatus, default=JobStatus.BOOKED)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="jobs")
    created_at = models.DateTimeField(db_default=Now(), editable=False)
    closed_on = models.DateField("done or cancelled on", null=True, blank=True, editable=False)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="closed_jobs",
        null=True,
        blank=True,
        editable=False,
    )

    objects = JobQuerySet.as_manager()

    class Meta:
        ordering = ["starts_on", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(status__in=["booked", "in_work"], closed_on__isnull=True)
                | Q(status__in=["done", "cancelled"], closed_on__isnull=False),
                name="job_closed_has_a_day",
                violation_error_message="A job that is done or cancelled has the day on which it was closed.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.title}"

    def get_absolute_url(self) -> str:
        """The job's page."""
        return reverse("job", args=[self.pk])

    @property
    def number(self) -> str:
        """The number that people say: J-0003."""
        return f"J-{self.pk:04d}" if self.pk else "new"

    @property
    def is_open(self) -> bool:
        """True while work can be logged on it."""
        return self.status in OPEN_STATUSES

    @property
    def holder(self) -> str:
        """How its bookings name it; unique, since the number is."""
        return str(self)[:120]


class JobStepQuerySet(models.QuerySet["JobStep"]):
    """Named reads of steps."""

    def with_logged(self) -> JobStepQuerySet:
        """Adds what standing logs say: ``is_done`` and ``log_count``."""
        logs = CoatLog.objects.standing().filter(step=OuterRef("pk")).order_by()
        count = logs.values("step").annotate(count=Count("pk")).values("count")
        return self.annotate(is_done=_has_finishing_log(), log_count=Coalesce(Subquery(count, output_field=IntegerField()), 0))


class JobStep(models.Model):
    """An operation of the job as planned when the quote was accepted. Area in m², times in min, volume in L."""

    job = models.ForeignKey(Job, on_delete=models.CASCADE, related_name="steps")
    position = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=8, choices=OperationKind)
    area = models.DecimalField(max_digits=14, decimal_places=6, default=ZERO)
    planned_minutes = models.DecimalField(max_digits=10, decimal_places=2, default=ZERO)
    dry_minutes = models.DecimalField(max_digits=8, decimal_places=2, default=ZERO)
    planned_mix = QuantityField(null=True, blank=True)
    planned_fills = models.PositiveIntegerField(default=0)
    planned_batches = models.PositiveIntegerField(default=0)
    wet_film = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)
    pot_life_min = models.PositiveIntegerField(null=True, blank=True)
    setup_name = models.CharField(max_length=80, blank=True, default="")
    setup = models.ForeignKey(SpraySetup, on_delete=models.SET_NULL, related_name="job_steps", null=True, blank=True)
    induction_min = models.PositiveIntegerField(default=0)

    objects = JobStepQuerySet.as_manager()

    class Meta:
        ordering = ["job", "position"]
        constraints = [models.UniqueConstraint(fields=["job", "position"], name="job_step_position_unique")]

    def __str__(self) -> str:
        return self.name

    @property
    def is_coat(self) -> bool:
        """True for a step that applies a coat."""
        return self.kind == OperationKind.COAT


class JobStepMaterial(models.Model):
    """What a step draws from stock: a component of its mix (with parts) or a supply (without)."""

    step = models.ForeignKey(JobStep, on_delete=models.CASCADE, related_name="materials")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="job_steps")
    planned = QuantityField()
    parts = models.DecimalField(
        max_digits=10,
        decimal_places=5,
        null=True,
        blank=True,
        help_text="Parts by volume of the mix; empty for a supply.",
    )
    driver = models.CharField(
        max_length=12, choices=Driver, blank=True, default="", help_text="What a supply depends on; empty for a component."
    )
    per_driver = QuantityField(null=True, blank=True, help_text="Stock units for each unit of the driver.")
    whole_units = models.BooleanField("counted in whole units", default=False)
    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="step_materials")

    class Meta:
        ordering = ["step", "pk"]

    def __str__(self) -> str:
        return f"{self.planned}"

    @property
    def is_component(self) -> bool:
        """True for a part of the mix, False for a supply."""
        return self.parts is not None


class CoatLogQuerySet(models.QuerySet["CoatLog"]):
    """Named reads of the log."""

    def standing(self) -> CoatLogQuerySet:
        """Logs that count: those that were not taken back, and whose issue of material has not been reversed."""
        return self.filter(~_was_reversed(), withdrawn_at__isnull=True)

    def with_reversed(self) -> CoatLogQuerySet:
        """Adds ``is_reversed``: true where the log or its issue of material was taken back, so that it no longer counts."""
        taken_back = _was_reversed() | Q(withdrawn_at__isnull=False)
        return self.annotate(is_reversed=ExpressionWrapper(taken_back, output_field=BooleanField()))


def _was_reversed() -> Exists:
    return Exists(Movement.objects.filter(posting=OuterRef("posting"), reversed_by__isnull=False))


class CoatLog(models.Model):
    """Work on a step as logged, the whole step or a part of it. Material was issued by ``posting``.

    What was logged is not changed afterwards: a mistake is mended by reversing the posting or taking the log back, and the
    log then no longer counts. What was sprayed out of batches that had been mixed before stands in ``batch_uses``; ``mixed``
    is then empty.
    """

    key = models.UUIDField(unique=True, editable=False)
    step = models.ForeignKey(JobStep, on_delete=models.PROTECT, related_name="logs")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="coat_logs")
    done_at = models.DateTimeField()
    created_at = models.DateTimeField(db_default=Now(), editable=False)
    posting = models.ForeignKey(Posting, on_delete=models.PROTECT, related_name="coat_logs", null=True, blank=True)
    mixed = QuantityField("mixed", null=True, blank=True)
    fills = models.PositiveSmallIntegerField(default=0, validators=[MaxValueValidator(500)])
    minutes = models.DecimalField(
        max_digits=8,
        decimal_places=2,
        default=ZERO,
        validators=[MinValueValidator(ZERO), MaxValueValidator(Decimal(1440))],
    )
    wet_film = models.DecimalField(
        "wet film, mean reading, µm",
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(1)), MaxValueValidator(Decimal(2000))],
    )
    started_at = models.DateTimeField(null=True, blank=True, help_text="When the timer was started.")
    readings = models.JSONField(default=list, blank=True, help_text="Wet film gauge readings, µm.")
    temperature = models.DecimalField(
        "air temperature, °C",
        max_digits=5,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(COLDEST), MaxValueValidator(HOTTEST)],
    )
    humidity = models.DecimalField(
        "relative humidity, %",
        max_digits=5,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(1)), MaxValueValidator(Decimal(100))],
    )
    early_reason = models.CharField(
        max_length=300, blank=True, default="", help_text="Why it was begun before the coat under it was dry."
    )
    clock_off_s = models.IntegerField(
        "tablet’s clock ahead of the server’s, s",
        null=True,
        blank=True,
        help_text="Where it was off by minutes; times are mended.",
    )
    reworks = models.ForeignKey(
        "costing.Defect",
        on_delete=models.PROTECT,
        related_name="reworks",
        null=True,
        blank=True,
        help_text="The defect that this work mends.",
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True, editable=False)
    withdrawn_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="withdrawn_logs",
        null=True,
        blank=True,
        editable=False,
    )
    withdrawn_reason = models.CharField(max_length=300, blank=True, default="", editable=False)
    note = models.CharField(max_length=300, blank=True, default="")
    finishes_step = models.BooleanField("the step is finished", default=True)

    if TYPE_CHECKING:
        is_reversed: bool  # there after with_reversed()

    objects = CoatLogQuerySet.as_manager()

    class Meta:
        ordering = ["-done_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(minutes__gte=0),
                name="coat_log_minutes_not_negative",
                violation_error_message="Minutes can’t be below 0.",
            ),
            models.CheckConstraint(
                condition=Q(mixed__isnull=True) | Q(mixed__gt=0),
                name="coat_log_mixed_positive",
                violation_error_message="What was mixed is more than 0.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.step}"

    @property
    def done_local(self) -> datetime:
        """When it was done, in the shop's time zone."""
        return timezone.localtime(self.done_at)
