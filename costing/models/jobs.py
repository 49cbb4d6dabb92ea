"""Jobs and their log: what an accepted quote asks for, step by step, and what was done."""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now
from django.urls import reverse

from costing.choices import JobStatus, OperationKind
from costing.models.quotes import QuoteOption
from finishing.fields import QuantityField
from inventory.models import Booking, Material, Posting

ZERO = Decimal(0)


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

    class Meta:
        ordering = ["starts_on", "pk"]

    def __str__(self) -> str:
        return f"{self.number} {self.title}"

    def get_absolute_url(self) -> str:
        """The job's page."""
        return reverse("job", args=[self.pk])

    @property
    def number(self) -> str:
        """The number that people say: J-0003."""
        return f"J-{self.pk:04d}" if self.pk else "new"


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
    wet_film = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)
    pot_life_min = models.PositiveIntegerField(null=True, blank=True)
    setup_name = models.CharField(max_length=80, blank=True, default="")

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
    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="step_materials")

    class Meta:
        ordering = ["step", "pk"]

    def __str__(self) -> str:
        return f"{self.planned}"


class CoatLog(models.Model):
    """A step logged as done. Material was issued by ``posting``; nothing is changed afterwards."""

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
    note = models.CharField(max_length=300, blank=True, default="")

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
