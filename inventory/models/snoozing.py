"""Lines of the reorder list that somebody put off."""

from __future__ import annotations

from datetime import date

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.db.models.functions import Now

from inventory.models.materials import Material


class Snooze(models.Model):
    """A material that is not to be ordered up to a day, and why. Ended, never deleted: the rows are the history."""

    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="snoozes")
    reason = models.CharField(max_length=200)
    from_day = models.DateField()
    until = models.DateField(help_text="Last day on which it is not ordered.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="snoozes")
    created_at = models.DateTimeField(db_default=Now(), editable=False)
    ended_on = models.DateField(null=True, blank=True)
    ended_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="snoozes_ended", null=True, blank=True
    )

    class Meta:
        ordering = ["-from_day", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["material"],
                condition=Q(ended_on__isnull=True),
                name="snooze_one_open_per_material",
                violation_error_message="It is put off already.",
            ),
            models.CheckConstraint(
                condition=Q(until__gte=F("from_day")) & ~Q(reason=""),
                name="snooze_makes_sense",
                violation_error_message="A line is put off to a day that is still to come, with a reason.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.material} until {self.until}"

    def is_in_force(self, on: date) -> bool:
        """Whether it keeps its material off the list on a day."""
        return self.ended_on is None and self.until >= on
