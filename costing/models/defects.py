"""Defects of a coat and what their rework cost."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now
from django.utils import timezone

from costing.choices import DefectCause, DefectKind
from costing.models.jobs import JobStep


class Defect(models.Model):
    """Something wrong with a coat: what, why, on how much of it (m²). Logs that mend it name it as ``reworks``."""

    key = models.UUIDField(unique=True, editable=False)
    step = models.ForeignKey(JobStep, on_delete=models.PROTECT, related_name="defects")
    kind = models.CharField(max_length=12, choices=DefectKind)
    cause = models.CharField(max_length=12, choices=DefectCause, default=DefectCause.UNKNOWN)
    area = models.DecimalField(
        "area affected, m²",
        max_digits=14,
        decimal_places=6,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.0001")), MaxValueValidator(Decimal(10_000))],
    )
    found_at = models.DateTimeField()
    created_at = models.DateTimeField(db_default=Now(), editable=False)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="defects")
    note = models.CharField(max_length=300, blank=True, default="")

    class Meta:
        ordering = ["-found_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(area__isnull=True) | Q(area__gt=0),
                name="defect_area_positive",
                violation_error_message="The area affected is more than 0.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} on {self.step}"

    @property
    def found_local(self) -> datetime:
        """When it was found, in the shop's time zone."""
        return timezone.localtime(self.found_at)
