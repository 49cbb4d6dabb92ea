"""Counts: what is really on the shelf, beside what the books say."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now
from django.urls import reverse

from finishing.fields import QuantityField
from inventory.choices import CountStatus
from inventory.models.ledger import Posting
from inventory.models.lots import Lot
from inventory.models.places import Location


class StockCount(models.Model):
    """One count of a place, or of the whole shop: an audit record."""

    key = models.UUIDField(unique=True, editable=False)
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="counts", null=True, blank=True)
    is_blind = models.BooleanField("without book figures", default=False, help_text="The sheet does not show what the books say.")
    status = models.CharField(max_length=9, choices=CountStatus, default=CountStatus.OPEN)
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="counts_opened")
    opened_at = models.DateTimeField(db_default=Now(), editable=False)
    posted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="counts_posted", null=True, blank=True
    )
    posted_at = models.DateTimeField(null=True, blank=True)
    posting = models.OneToOneField(Posting, on_delete=models.PROTECT, related_name="count", null=True, blank=True)
    note = models.CharField(max_length=200, blank=True, default="")

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.label

    def get_absolute_url(self) -> str:
        """The count's page."""
        return reverse("stock_count", args=[self.pk])

    @property
    def label(self) -> str:
        """The number that people say: C-0004."""
        return f"C-{self.pk:04d}" if self.pk else "new"


class CountLine(models.Model):
    """One lot on a count. ``book`` is what the books said when the count was opened, ``counted`` what was found."""

    count = models.ForeignKey(StockCount, on_delete=models.CASCADE, related_name="lines")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="count_lines")
    book = QuantityField()
    counted = QuantityField(null=True, blank=True)
    counted_at = models.DateTimeField(null=True, blank=True)
    counted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="count_lines", null=True, blank=True
    )
    book_when_counted = QuantityField(null=True, blank=True, help_text="What the books said at the moment of counting.")
    reason = models.CharField(max_length=200, blank=True, default="")

    class Meta:
        ordering = ["count", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["count", "lot"], name="count_line_lot_once"),
            models.CheckConstraint(
                condition=Q(counted__isnull=True) | Q(counted__gte=0),
                name="count_line_not_negative",
                violation_error_message="Nobody counts less than nothing.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.book} in the books"
