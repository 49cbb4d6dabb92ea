"""Where stock is kept, and how much flammable liquid each place may hold."""

from __future__ import annotations

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from finishing.fields import QuantityField
from inventory.choices import LocationKind

NOT_NEGATIVE = [MinValueValidator(Decimal(0))]


class Location(models.Model):
    """A shelf, a flammables cabinet, a booth or a quarantine place.

    The limits are in litres of flammable liquid by category, as the shop entered them; the local fire code decides what
    they must be. Stock in a quarantine place is not usable.
    """

    name = models.CharField(max_length=60, unique=True)
    kind = models.CharField(max_length=10, choices=LocationKind, default=LocationKind.SHELF)
    limit_category_1_to_3 = QuantityField(
        "limit for categories 1 to 3, L",
        null=True,
        blank=True,
        validators=NOT_NEGATIVE,
        help_text="Together; empty: no limit entered.",
    )
    limit_category_4 = QuantityField(
        "limit for all categories, L",
        null=True,
        blank=True,
        validators=NOT_NEGATIVE,
        help_text="Categories 1 to 4 together; empty: no limit entered.",
    )
    is_active = models.BooleanField("in use", default=True)
    note = models.CharField(max_length=200, blank=True, default="")

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=(Q(limit_category_1_to_3__isnull=True) | Q(limit_category_1_to_3__gte=0))
                & (Q(limit_category_4__isnull=True) | Q(limit_category_4__gte=0)),
                name="location_limits_not_negative",
                violation_error_message="A limit can’t be below 0.",
            )
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        """The place's page."""
        return reverse("location", args=[self.pk])

    @property
    def has_limits(self) -> bool:
        """True when the shop has entered a limit for it."""
        return self.limit_category_1_to_3 is not None or self.limit_category_4 is not None

    @property
    def is_quarantine(self) -> bool:
        """True for a place whose stock nobody may use."""
        return self.kind == LocationKind.QUARANTINE
