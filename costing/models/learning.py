"""Decisions about what the log teaches: which figure was shown, and whether the shop took it."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models.functions import Now

from costing.choices import LearntFate, LearntKind
from costing.models.systems import SpraySetup


class LearntDecision(models.Model):
    """A learnt figure of a setup as it was shown, and what was decided. Efficiency is a share, a rate m²/h."""

    key = models.UUIDField(unique=True, editable=False)
    setup = models.ForeignKey(SpraySetup, on_delete=models.CASCADE, related_name="learnt_decisions")
    kind = models.CharField(max_length=10, choices=LearntKind)
    fate = models.CharField(max_length=8, choices=LearntFate)
    before = models.DecimalField(max_digits=9, decimal_places=4)
    value = models.DecimalField(max_digits=9, decimal_places=4)
    low = models.DecimalField(max_digits=9, decimal_places=4)
    high = models.DecimalField(max_digits=9, decimal_places=4)
    coats = models.PositiveIntegerField(help_text="Logged coats that counted.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="learnt_decisions")
    at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.setup}"
