"""Customers, estimates and their takeoff. Sizes in mm, areas in m²."""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now
from django.urls import reverse
from simple_history.models import HistoricalRecords

from costing.choices import AssumptionKind, RowForm, RowZone
from costing.models.systems import CoatingSystem

MAX_LENGTH_MM = Decimal(10_000)
MAX_THICKNESS_MM = Decimal(500)
SIZE = [MinValueValidator(Decimal("0.1")), MaxValueValidator(MAX_LENGTH_MM)]
SIDES = [MinValueValidator(0), MaxValueValidator(2)]


class Customer(models.Model):
    """Somebody the shop works for."""

    key = models.UUIDField(unique=True, null=True, editable=False)  # the form it was made from: sent twice, made once
    name = models.CharField(max_length=120)
    contact = models.CharField(max_length=120, blank=True, default="")
    email = models.EmailField(blank=True, default="")
    phone = models.CharField(max_length=40, blank=True, default="")
    address = models.TextField(blank=True, default="", max_length=400)
    note = models.TextField(blank=True, default="", max_length=2000)

    history = HistoricalRecords()

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        """The customer's page."""
        return reverse("customer", args=[self.pk])


class Estimate(models.Model):
    """A job to be priced: a takeoff, and the coating systems under which it is priced."""

    key = models.UUIDField(unique=True, null=True, editable=False)  # the form it was made from: sent twice, made once
    takeoff_key = models.UUIDField(null=True, editable=False)  # the form that last changed the rows: an older page is stale
    name = models.CharField(max_length=120, help_text="What is to be finished, for example: Kitchen refinish, 24 doors.")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="estimates", null=True, blank=True)
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="estimates",
        null=True,
        blank=True,
        editable=False,
    )
    created_at = models.DateTimeField(db_default=Now(), editable=False)
    margin = models.DecimalField(
        "margin for this job",
        max_digits=5,
        decimal_places=4,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal("0.99"))],
        help_text="Empty: the shop’s own margin.",
    )
    note = models.TextField(blank=True, default="", max_length=2000)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(margin__isnull=True) | Q(margin__gte=0, margin__lt=1),
                name="estimate_margin_below_one",
                violation_error_message="A margin is a share of the price and stays below 100 %.",
            )
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        """The estimate's page."""
        return reverse("estimate", args=[self.pk])

    @property
    def number(self) -> str:
        """The number that people say: E-0012."""
        return f"E-{self.pk:04d}" if self.pk else "new"


class TakeoffRow(models.Model):
    """A number of like pieces (costing model, section 1)."""

    estimate = models.ForeignKey(Estimate, on_delete=models.CASCADE, related_name="rows")
    position = models.PositiveIntegerField()
    label = models.CharField(max_length=80)
    pieces = models.PositiveIntegerField(validators=[MinValueValidator(1), MaxValueValidator(100_000)])
    form = models.CharField("stated as", max_length=8, choices=RowForm, default=RowForm.PANEL)
    length = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True, validators=SIZE)
    width = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True, validators=SIZE)
    thickness = models.DecimalField(
        max_digits=12,
        decimal_places=6,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(MAX_THICKNESS_MM)],
    )
    girth = models.DecimalField(max_digits=12, decimal_places=6, null=True, blank=True, validators=SIZE)
    area = models.DecimalField(
        "area of all pieces, m²",
        max_digits=14,
        decimal_places=8,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.0001")), MaxValueValidator(Decimal(100_000))],
    )
    faces = models.PositiveSmallIntegerField("faces finished", default=2, validators=SIDES)
    long_edges = models.PositiveSmallIntegerField("long edges finished", default=2, validators=SIDES)
    short_edges = models.PositiveSmallIntegerField("short edges finished", default=2, validators=SIDES)
    profile_factor = models.DecimalField(
        max_digits=6,
        decimal_places=4,
        default=Decimal(1),
        validators=[MinValueValidator(Decimal(1)), MaxValueValidator(Decimal(10))],
        help_text="Developed surface over flat surface of the faces: 1 for flat, 1.05 for a shaker door.",
    )
    geometry_factor = models.DecimalField(
        max_digits=5,
        decimal_places=4,
        default=Decimal(1),
        validators=[MinValueValidator(Decimal("0.05")), MaxValueValidator(Decimal(1))],
        help_text="How much of the transfer efficiency survives on this shape: flat 1, frames and slats less.",
    )
    zone = models.CharField(max_length=6, choices=RowZone, default=RowZone.SHOW)
    typed = models.JSONField("sizes as typed", default=dict, blank=True, editable=False)  # text by field, shown while it fits

    class Meta:
        ordering = ["estimate", "position", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(pieces__gte=1),
                name="takeoff_row_pieces_positive",
                violation_error_message="A row has at least one piece.",
            ),
            models.CheckConstraint(
                condition=Q(form="panel", length__gt=0, width__gt=0, thickness__gte=0)
                | Q(form="area", area__gt=0)
                | Q(form="moulding", length__gt=0, girth__gt=0),
                name="takeoff_row_states_its_area",
                violation_error_message="A row needs length, width and thickness; or its area; or length and girth.",
            ),
        ]

    def __str__(self) -> str:
        return self.label


class EstimateAssumption(models.Model):
    """A figure that this estimate reckons with in place of the shop's own, for this job alone."""

    estimate = models.ForeignKey(Estimate, on_delete=models.CASCADE, related_name="assumptions")
    kind = models.CharField(max_length=10, choices=AssumptionKind)
    of = models.PositiveBigIntegerField(default=0)  # primary key of what it is a figure of; 0 for the shop's rates
    value = models.DecimalField(max_digits=18, decimal_places=6)

    class Meta:
        ordering = ["estimate", "kind", "of"]
        constraints = [
            models.UniqueConstraint(fields=["estimate", "kind", "of"], name="estimate_assumption_once"),
            models.CheckConstraint(condition=Q(value__gte=0), name="estimate_assumption_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.value}"


class EstimateOption(models.Model):
    """A coating system under which the estimate is priced."""

    estimate = models.ForeignKey(Estimate, on_delete=models.CASCADE, related_name="options")
    position = models.PositiveSmallIntegerField()
    system = models.ForeignKey(CoatingSystem, on_delete=models.PROTECT, related_name="estimate_options")

    class Meta:
        ordering = ["estimate", "position", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["estimate", "system"],
                name="estimate_option_system_once",
                violation_error_message="This system is priced already.",
            )
        ]

    def __str__(self) -> str:
        return f"Option {self.position}"
