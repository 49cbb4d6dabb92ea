"""Counts: what is really on the shelf, beside what the books say."""

from __future__ import annotations

import hashlib

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now
from django.urls import reverse

from finishing.fields import MoneyField, QuantityField
from inventory.choices import CountStatus
from inventory.models.ledger import Posting
from inventory.models.lots import Lot
from inventory.models.materials import Material
from inventory.models.places import Location


class StockCount(models.Model):
    """One count of a place, of the materials that were due, or of the whole shop: an audit record.

    Once it is posted or cancelled, the database refuses to change it or its lines (``inventory.triggers_counts``).
    """

    key = models.UUIDField(unique=True, editable=False)
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="counts", null=True, blank=True)
    is_selection = models.BooleanField("some materials only", default=False, help_text="It was opened for chosen materials.")
    is_blind = models.BooleanField("without book figures", default=False, help_text="The sheet does not show what the books say.")
    status = models.CharField(max_length=9, choices=CountStatus, default=CountStatus.OPEN)
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="counts_opened")
    opened_at = models.DateTimeField(db_default=Now(), editable=False)
    posted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="counts_posted", null=True, blank=True
    )
    posted_at = models.DateTimeField(null=True, blank=True)
    posting = models.OneToOneField(
        Posting,
        on_delete=models.PROTECT,
        related_name="count",
        null=True,
        blank=True,
        help_text="Empty where the shelf agreed with the books.",
    )
    counted_lines = models.PositiveIntegerField(default=0, help_text="Lines that were counted, noted when it was posted.")
    accurate_lines = models.PositiveIntegerField(default=0, help_text="Those of them within tolerance.")
    difference_value = MoneyField(null=True, blank=True, help_text="What the differences are worth together, with their signs.")
    cancelled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="counts_cancelled", null=True, blank=True
    )
    cancelled_at = models.DateTimeField(null=True, blank=True)
    cancel_reason = models.CharField(max_length=200, blank=True, default="")
    note = models.CharField(max_length=200, blank=True, default="")

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(status=CountStatus.POSTED) | Q(posted_by__isnull=False, posted_at__isnull=False),
                name="count_posted_by_somebody",
                violation_error_message="A posted count says who posted it and when.",
            ),
            models.CheckConstraint(
                condition=~Q(status=CountStatus.CANCELLED) | Q(cancelled_by__isnull=False, cancelled_at__isnull=False),
                name="count_cancelled_by_somebody",
                violation_error_message="A cancelled count says who cancelled it and when.",
            ),
        ]

    def __str__(self) -> str:
        return self.label

    def get_absolute_url(self) -> str:
        """The count's page."""
        return reverse("stock_count", args=[self.pk])

    @property
    def label(self) -> str:
        """The number that people say: C-0004."""
        return f"C-{self.pk:04d}" if self.pk else "new"

    @property
    def is_open(self) -> bool:
        """True while lines can be entered."""
        return self.status == CountStatus.OPEN

    @property
    def scope(self) -> str:
        """What is counted, in words."""
        if self.location is not None:
            return self.location.name
        return "Chosen materials" if self.is_selection else "The whole shop"


class CountLine(models.Model):
    """One lot on a count. ``book`` is what the books said when the count was opened, ``counted`` what was found.

    What the books said when it was counted is known by the lot's last movement at that moment, which no clock can blur;
    a filled sheet has no such mark, there ``counted_at`` decides.
    """

    count = models.ForeignKey(StockCount, on_delete=models.CASCADE, related_name="lines")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="count_lines")
    book = QuantityField()
    counted = QuantityField(null=True, blank=True)
    counted_at = models.DateTimeField(null=True, blank=True)
    counted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="count_lines", null=True, blank=True
    )
    book_when_counted = QuantityField(null=True, blank=True, help_text="What the books said at the moment of counting.")
    last_movement = models.BigIntegerField(
        null=True, blank=True, help_text="The lot’s last movement in the books when it was counted; empty for a filled sheet."
    )
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
        return self.label

    @property
    def label(self) -> str:
        """What finds the line again in a filled sheet: C-0004/17."""
        return f"C-{self.count_id:04d}/{self.pk}"

    @property
    def version(self) -> str:
        """Changes with every entry, so that a page notices what somebody else entered meanwhile."""
        said = f"{self.counted} {self.counted_at} {self.counted_by_id} {self.reason}"
        return hashlib.sha256(said.encode()).hexdigest()[:16]


class CountFind(models.Model):
    """A lot that somebody found and the books do not know: a note for the office, which books it as a delivery.

    It is settled once a lot of this number is on the count.
    """

    count = models.ForeignKey(StockCount, on_delete=models.CASCADE, related_name="finds")
    number = models.CharField("lot number", max_length=40)
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="count_finds", null=True, blank=True)
    amount = models.CharField("how much", max_length=60)
    note = models.CharField(max_length=200, blank=True, default="")
    found_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="count_finds")
    found_at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        ordering = ["count", "pk"]

    def __str__(self) -> str:
        return self.number
