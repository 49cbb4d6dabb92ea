"""Spray setups, labour classes, and coating systems with their ordered operations."""

from __future__ import annotations

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from costing.choices import Driver, OperationKind, OperationZone
from finishing.fields import MoneyField, QuantityField
from inventory.models import Material

ZERO = Decimal(0)
NOT_NEGATIVE = [MinValueValidator(ZERO)]
SHARE_ABOVE_ZERO = [MinValueValidator(Decimal("0.01")), MaxValueValidator(Decimal(1))]


class SpraySetup(models.Model):
    """A gun, its air supply, tip and cup as used together. Volumes in litres, rate in m²/h, pressure in kPa."""

    name = models.CharField(max_length=80, unique=True)
    description = models.CharField(max_length=200, blank=True, default="", help_text="Gun, air supply, tip, cup.")
    transfer_efficiency = models.DecimalField(
        max_digits=5,
        decimal_places=4,
        validators=SHARE_ABOVE_ZERO,
        help_text="Share of the sprayed solids that lands on the work: 0.65 for 65 %.",
    )
    cup_capacity = QuantityField(validators=[MinValueValidator(Decimal("0.01"))], help_text="What one filling of the cup holds.")
    residue_per_fill = QuantityField(default=ZERO, validators=NOT_NEGATIVE, help_text="What stays in the cup liner each time.")
    residue_per_batch = QuantityField(
        default=ZERO, validators=NOT_NEGATIVE, help_text="What stays in the mixing vessel and strainer."
    )
    spray_rate = models.DecimalField(
        "spraying rate, m²/h",
        max_digits=7,
        decimal_places=3,
        validators=[MinValueValidator(Decimal("0.1")), MaxValueValidator(Decimal(2000))],
    )
    fill_minutes = models.DecimalField(
        "minutes to load a cup", max_digits=6, decimal_places=2, default=Decimal(2), validators=NOT_NEGATIVE
    )
    batch_minutes = models.DecimalField(
        "minutes to mix a batch", max_digits=6, decimal_places=2, default=Decimal(5), validators=NOT_NEGATIVE
    )
    start_pressure_kpa = models.DecimalField(
        "pressure to start from, kPa", max_digits=7, decimal_places=2, null=True, blank=True, validators=NOT_NEGATIVE
    )
    is_active = models.BooleanField("in use", default=True)
    note = models.TextField(blank=True, default="", max_length=1000)

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(transfer_efficiency__gt=0, transfer_efficiency__lte=1),
                name="setup_transfer_efficiency_share",
                violation_error_message="Transfer efficiency is a share above 0 and at most 1.",
            ),
            models.CheckConstraint(
                condition=Q(cup_capacity__gt=F("residue_per_fill")),
                name="setup_cup_above_residue",
                violation_error_message="The cup must hold more than what stays in it each time.",
            ),
            models.CheckConstraint(
                condition=Q(residue_per_fill__gte=0, residue_per_batch__gte=0),
                name="setup_residue_not_negative",
                violation_error_message="A residue can’t be below 0.",
            ),
            models.CheckConstraint(
                condition=Q(spray_rate__gt=0),
                name="setup_spray_rate_positive",
                violation_error_message="The spraying rate is above 0.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        """The setup's page."""
        return reverse("setup", args=[self.pk])


class LabourClass(models.Model):
    """A kind of work with its wage; the loaded rate adds the burden (taxes, insurance, paid time off)."""

    name = models.CharField(max_length=60, unique=True)
    wage = MoneyField("wage per hour", validators=NOT_NEGATIVE)
    burden = models.DecimalField(
        max_digits=5,
        decimal_places=4,
        default=ZERO,
        validators=[MinValueValidator(ZERO), MaxValueValidator(Decimal(3))],
        help_text="On top of the wage: 0.25 adds 25 %.",
    )
    is_active = models.BooleanField("in use", default=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "labour classes"
        constraints = [
            models.CheckConstraint(
                condition=Q(wage__gte=0, burden__gte=0),
                name="labour_class_not_negative",
                violation_error_message="Wage and burden can’t be below 0.",
            )
        ]

    def __str__(self) -> str:
        return self.name


class CoatingSystem(models.Model):
    """The ordered operations that make a finish."""

    name = models.CharField(max_length=100, unique=True)
    customer_text = models.TextField(
        "words for the customer", blank=True, default="", max_length=600, help_text="Printed on the quote."
    )
    is_active = models.BooleanField("in use", default=True)
    note = models.TextField(blank=True, default="", max_length=2000)

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        """The system's page."""
        return reverse("system", args=[self.pk])


class Operation(models.Model):
    """One step of a coating system. The coat fields are filled for a coat and empty otherwise. Film in µm, times in min."""

    key = models.UUIDField(unique=True, null=True, editable=False)  # the form it was made from: sent twice, made once
    system = models.ForeignKey(CoatingSystem, on_delete=models.CASCADE, related_name="operations")
    position = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=8, choices=OperationKind)
    zone = models.CharField(max_length=6, choices=OperationZone, default=OperationZone.BOTH)
    labour_class = models.ForeignKey(LabourClass, on_delete=models.PROTECT, related_name="operations")
    crew = models.PositiveSmallIntegerField("people on it", default=1, validators=[MinValueValidator(1), MaxValueValidator(20)])
    dry_minutes = models.DecimalField(
        "dry time before the next operation, min", max_digits=8, decimal_places=2, default=ZERO, validators=NOT_NEGATIVE
    )

    stacking_minutes = models.DecimalField(
        "time to stacking after the last coat, min", max_digits=8, decimal_places=2, default=ZERO, validators=NOT_NEGATIVE
    )
    setup = models.ForeignKey(SpraySetup, on_delete=models.PROTECT, related_name="operations", null=True, blank=True)
    wet_film = models.DecimalField(
        "wet film, µm",
        max_digits=7,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(1)), MaxValueValidator(Decimal(2000))],
    )
    dry_film = models.DecimalField(
        "dry film, µm",
        max_digits=7,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(1)), MaxValueValidator(Decimal(2000))],
    )
    sag_limit = models.DecimalField(
        "sags above, µm wet",
        max_digits=7,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(1)), MaxValueValidator(Decimal(2000))],
    )
    thinner = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="thinned_operations", null=True, blank=True)
    thinning_percent = models.DecimalField(
        "thinning, % of the mix before thinning",
        max_digits=6,
        decimal_places=3,
        default=ZERO,
        validators=[MinValueValidator(ZERO), MaxValueValidator(Decimal(200))],
    )
    pot_life_min = models.PositiveIntegerField("usable pot life, min", null=True, blank=True, validators=[MinValueValidator(1)])
    induction_min = models.PositiveIntegerField(
        "induction time after mixing, min", default=0, help_text="How long the mix stands before it is sprayed."
    )
    spray_rate = models.DecimalField(
        "spraying rate for this coat, m²/h",
        max_digits=7,
        decimal_places=3,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.1")), MaxValueValidator(Decimal(2000))],
        help_text="Empty: the setup’s own rate.",
    )
    flash_minutes = models.DecimalField(
        "flash-off in the booth, min", max_digits=7, decimal_places=2, default=ZERO, validators=NOT_NEGATIVE
    )

    class Meta:
        ordering = ["system", "position", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(kind="coat") | Q(setup__isnull=False),
                name="operation_coat_has_setup",
                violation_error_message="A coat needs a spray setup.",
            ),
            models.CheckConstraint(
                condition=~Q(kind="coat") | (Q(wet_film__isnull=False) ^ Q(dry_film__isnull=False)),
                name="operation_coat_states_one_film",
                violation_error_message="A coat states its wet film or its dry film, one of the two.",
            ),
            models.CheckConstraint(
                condition=Q(thinning_percent=0) | Q(thinner__isnull=False),
                name="operation_thinning_has_thinner",
                violation_error_message="Thinning needs a thinner.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class CoatComponent(models.Model):
    """A component of a coat's mix, in parts by volume."""

    operation = models.ForeignKey(Operation, on_delete=models.CASCADE, related_name="components")
    position = models.PositiveSmallIntegerField(default=1)
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="components")
    parts = models.DecimalField(
        "parts by volume", max_digits=8, decimal_places=3, validators=[MinValueValidator(Decimal("0.001"))]
    )

    class Meta:
        ordering = ["operation", "position", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(parts__gt=0),
                name="component_parts_positive",
                violation_error_message="A component has more than 0 parts.",
            ),
            models.UniqueConstraint(
                fields=["operation", "material"],
                name="component_material_once",
                violation_error_message="Each material stands once in a mix.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.parts} parts"


class TimeLine(models.Model):
    """Minutes of work per driver. Spraying, loading and mixing follow from the coat and are not written here."""

    operation = models.ForeignKey(Operation, on_delete=models.CASCADE, related_name="time_lines")
    label = models.CharField(max_length=80)
    driver = models.CharField(max_length=12, choices=Driver, default=Driver.OPERATION)
    minutes = models.DecimalField(max_digits=9, decimal_places=4, validators=NOT_NEGATIVE)

    class Meta:
        ordering = ["operation", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(minutes__gte=0),
                name="time_line_not_negative",
                violation_error_message="Minutes can’t be below 0.",
            ),
            models.CheckConstraint(
                condition=~Q(driver__in=["labour hour", "overspray kg"]),
                name="time_line_driver",
                violation_error_message="A time line can’t depend on labour hours or overspray.",
            ),
        ]

    def __str__(self) -> str:
        return self.label


class SupplyLine(models.Model):
    """Supplies used per driver: quantity in the material's stock unit."""

    operation = models.ForeignKey(Operation, on_delete=models.CASCADE, related_name="supply_lines")
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="supply_lines")
    driver = models.CharField(max_length=12, choices=Driver, default=Driver.OPERATION)
    quantity = QuantityField(validators=NOT_NEGATIVE)
    whole_units = models.BooleanField(
        "counted in whole units", default=False, help_text="Summed over the whole system, then rounded up once."
    )

    class Meta:
        ordering = ["operation", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__gte=0),
                name="supply_line_not_negative",
                violation_error_message="A quantity can’t be below 0.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.driver}"
