"""Lists that were uploaded: what was read from them, what they would change, and who applied them when."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now
from django.urls import reverse

from inventory.choices import ListKind
from inventory.models.materials import Supplier


class ListUpload(models.Model):
    """One uploaded list, between its dry run and its application.

    What is applied is what was read for the dry run: the rows are kept here, not the file. They are dropped once they are
    applied; the report stays.
    """

    key = models.UUIDField(unique=True, editable=False)
    kind = models.CharField(max_length=9, choices=ListKind)
    file_name = models.CharField(max_length=120)
    digest = models.CharField(max_length=64, editable=False, help_text="SHA-256 of the file.")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="list_uploads", null=True, blank=True)
    on = models.DateField("day", help_text="From which prices hold, or of which the stock is.")
    named = models.JSONField(default=dict, help_text="The rows as read: headings, lines and notes.")
    report = models.JSONField(default=dict, help_text="What each row would change, or changed.")
    counts = models.JSONField(default=dict, help_text="Rows by state.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="list_uploads")
    created_at = models.DateTimeField(db_default=Now(), editable=False)
    applied_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="lists_applied", null=True, blank=True
    )
    applied_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(applied_at__isnull=True, applied_by__isnull=True)
                | Q(applied_at__isnull=False, applied_by__isnull=False),
                name="list_applied_by_somebody",
                violation_error_message="A list that was applied says by whom and when.",
            )
        ]

    def __str__(self) -> str:
        return self.file_name

    def get_absolute_url(self) -> str:
        """The page that shows what it would change, or changed."""
        return reverse("list_upload", args=[self.pk])
