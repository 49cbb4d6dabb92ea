"""Mixed batches: components' lots in, coats out, the rest thrown away or put back.

A batch is one mixing of material. Its lots went in by ``posting``; ``uses`` say which coats it went on; ``rests`` say what
became of what was left. Nothing is changed afterwards: a mistake is mended by reversing the posting, and the batch then no
longer counts. Volumes in L, times in min.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models
from django.db.models import Exists, F, OuterRef, Q, Subquery, Sum, Value
from django.db.models.functions import Coalesce, Now
from django.urls import reverse
from django.utils import timezone

from costing.choices import RestCause, RestFate
from costing.models.jobs import CoatLog, JobStep
from finishing.fields import QuantityField
from inventory.models import Lot, Movement, Posting

ZERO = Decimal(0)


class BatchQuerySet(models.QuerySet["Batch"]):
    """Named reads of batches."""

    def standing(self) -> BatchQuerySet:
        """Batches that count: those whose issue of components has not been reversed."""
        return self.filter(~Exists(Movement.objects.filter(posting=OuterRef("posting"), reversed_by__isnull=False)))

    def with_left(self) -> BatchQuerySet:
        """Adds ``used`` (on coats that stand) and ``gone`` (thrown away or put back), both L."""
        uses = BatchUse.objects.standing().filter(batch=OuterRef("pk")).order_by()
        rests = BatchRest.objects.filter(batch=OuterRef("pk")).order_by()
        return self.annotate(used=_sum(uses), gone=_sum(rests))

    def open(self) -> BatchQuerySet:
        """Batches that count and still hold something, with ``used`` and ``gone``."""
        return self.standing().with_left().filter(litres__gt=F("used") + F("gone"))

    def of_lot(self, lot: Lot) -> BatchQuerySet:
        """Batches into which a lot went, those that were taken back too."""
        return self.filter(posting__movements__lot=lot).distinct()


def _sum(rows: models.QuerySet[BatchUse] | models.QuerySet[BatchRest]) -> Coalesce:
    nothing = Value(ZERO, output_field=QuantityField())
    summed = rows.values("batch").annotate(total=Sum("litres")).values("total")
    return Coalesce(Subquery(summed, output_field=QuantityField()), nothing)


class Batch(models.Model):
    """One mixing of the material of a coat."""

    key = models.UUIDField(unique=True, editable=False)
    step = models.ForeignKey(JobStep, on_delete=models.PROTECT, related_name="batches")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="batches")
    mixed_at = models.DateTimeField()
    created_at = models.DateTimeField(db_default=Now(), editable=False)
    litres = QuantityField()
    pot_life_min = models.PositiveIntegerField(null=True, blank=True)
    induction_min = models.PositiveIntegerField(default=0)
    posting = models.ForeignKey(Posting, on_delete=models.PROTECT, related_name="batches")
    note = models.CharField(max_length=300, blank=True, default="")

    objects = BatchQuerySet.as_manager()

    if TYPE_CHECKING:
        used: Decimal  # there after with_left()
        gone: Decimal

    class Meta:
        ordering = ["-mixed_at", "-pk"]
        verbose_name_plural = "batches"
        constraints = [
            models.CheckConstraint(
                condition=Q(litres__gt=0), name="batch_litres_positive", violation_error_message="A batch holds more than 0."
            )
        ]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        """The batch's page."""
        return reverse("batch", args=[self.pk])

    @property
    def number(self) -> str:
        """The number that people say and write on the pot: M-0012."""
        return f"M-{self.pk:04d}" if self.pk else "new"

    @property
    def left(self) -> Decimal:
        """What is still in the pot, L. Read with ``with_left()``."""
        return max(self.litres - self.used - self.gone, ZERO)

    @property
    def mixed_local(self) -> datetime:
        """When it was mixed, in the shop's time zone."""
        return timezone.localtime(self.mixed_at)

    @property
    def usable_from(self) -> datetime:
        """When its induction time is over, local time."""
        return self.mixed_local + timedelta(minutes=self.induction_min)

    @property
    def usable_until(self) -> datetime | None:
        """When its pot life ends, local time; None for a material without one."""
        return None if self.pot_life_min is None else self.mixed_local + timedelta(minutes=self.pot_life_min)

    def is_expired(self, at: datetime) -> bool:
        """True when its pot life is over at a moment."""
        until = self.usable_until
        return until is not None and at > until


class BatchUseQuerySet(models.QuerySet["BatchUse"]):
    """Named reads of what went on coats."""

    def standing(self) -> BatchUseQuerySet:
        """Uses on logs that count."""
        return self.filter(log__in=CoatLog.objects.standing())


class BatchUse(models.Model):
    """So much of a batch went on a coat."""

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="uses")
    log = models.ForeignKey(CoatLog, on_delete=models.PROTECT, related_name="batch_uses")
    litres = QuantityField()
    late_reason = models.CharField(
        max_length=300, blank=True, default="", help_text="Why it was sprayed after its pot life was over."
    )

    objects = BatchUseQuerySet.as_manager()

    class Meta:
        ordering = ["batch", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(litres__gt=0), name="batch_use_positive", violation_error_message="A use is more than 0."
            ),
            models.UniqueConstraint(
                fields=["batch", "log"], name="batch_use_once", violation_error_message="Each batch stands once in a log."
            ),
        ]

    def __str__(self) -> str:
        return f"{self.litres} L of {self.batch}"


class BatchRest(models.Model):
    """What was left of a batch: thrown away, or put back into its lot by ``posting``."""

    key = models.UUIDField(unique=True, editable=False)
    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="rests")
    litres = QuantityField()
    fate = models.CharField(max_length=8, choices=RestFate)
    cause = models.CharField(max_length=8, choices=RestCause)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="batch_rests")
    at = models.DateTimeField()
    created_at = models.DateTimeField(db_default=Now(), editable=False)
    note = models.CharField(max_length=300, blank=True, default="")
    posting = models.ForeignKey(Posting, on_delete=models.PROTECT, related_name="batch_rests", null=True, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(litres__gt=0), name="batch_rest_positive", violation_error_message="A rest is more than 0."
            )
        ]

    def __str__(self) -> str:
        return f"{self.litres} L of {self.batch}"
