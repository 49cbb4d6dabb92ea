"""Materials with their technical data, suppliers, and the packs in which materials are bought."""

from __future__ import annotations

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from simple_history.models import HistoricalRecords

from finishing.fields import MoneyField, QuantityField
from inventory.choices import LIQUIDS, FlammableCategory, MaterialKind, SignalWord, StockUnit
from inventory.models.places import Location

ZERO = Decimal(0)
PERCENT = [MinValueValidator(ZERO), MaxValueValidator(Decimal(100))]
SHARE = [MinValueValidator(ZERO), MaxValueValidator(Decimal(1))]


class Material(models.Model):
    """Something the finishing department uses up: a coating, a hardener, a box of liners.

    Technical data come from the product's own data sheets. Volumes are in litres, density in kg/L, solids in percent,
    VOC in g per litre as supplied (the actual content), water and exempt compounds as volume fractions.
    """

    code = models.SlugField("code", max_length=30, unique=True, help_text="A short code of your own, for example CLEAR-WB.")
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=12, choices=MaterialKind)
    stock_unit = models.CharField("kept in", max_length=3, choices=StockUnit, default=StockUnit.LITRE)
    is_active = models.BooleanField("in use", default=True)

    density = models.DecimalField(
        "density, kg/L",
        max_digits=7,
        decimal_places=4,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.3")), MaxValueValidator(Decimal(5))],
    )
    volume_solids = models.DecimalField(
        "volume solids, %", max_digits=6, decimal_places=3, null=True, blank=True, validators=PERCENT
    )
    mass_solids = models.DecimalField("mass solids, %", max_digits=6, decimal_places=3, null=True, blank=True, validators=PERCENT)
    voc = models.DecimalField(
        "VOC as supplied, g/L",
        max_digits=8,
        decimal_places=3,
        null=True,
        blank=True,
        validators=[MinValueValidator(ZERO), MaxValueValidator(Decimal(2000))],
    )
    water_fraction = models.DecimalField("water, volume fraction", max_digits=5, decimal_places=4, default=ZERO, validators=SHARE)
    exempt_fraction = models.DecimalField(
        "exempt compounds, volume fraction", max_digits=5, decimal_places=4, default=ZERO, validators=SHARE
    )
    yield_fraction = models.DecimalField(
        "yield of a can",
        max_digits=5,
        decimal_places=4,
        default=Decimal(1),
        validators=[MinValueValidator(Decimal("0.01")), MaxValueValidator(Decimal(1))],
        help_text="Share that can be poured out: 0.98 leaves a heel of 2 %.",
    )
    pot_life_min = models.PositiveIntegerField(
        "pot life once mixed, min", null=True, blank=True, help_text="For a base or hardener of a two-component mix."
    )
    shelf_life_days = models.PositiveIntegerField(
        "shelf life, days", null=True, blank=True, help_text="From the day it was made, unopened."
    )
    open_life_days = models.PositiveIntegerField(
        "open life, days", null=True, blank=True, help_text="Once the container has been opened."
    )
    opens_on_issue = models.BooleanField(
        "the first issue opens the container",
        default=False,
        help_text="The open life then counts from the first issue of a lot that came in one container.",
    )

    signal_word = models.CharField(max_length=8, choices=SignalWord, blank=True, default=SignalWord.NONE)
    h_codes = models.CharField(
        "H-codes",
        max_length=120,
        blank=True,
        default="",
        validators=[RegexValidator(r"^(H\d{3}[A-Za-z]{0,2}([ ,]+|$))*$", "Write H-codes such as H225, H317.")],
        help_text="From the safety data sheet, separated by commas.",
    )
    flammable_category = models.PositiveSmallIntegerField(
        choices=FlammableCategory, null=True, blank=True, help_text="As the safety data sheet says."
    )
    sds_reference = models.CharField(
        "safety data sheet",
        max_length=200,
        blank=True,
        default="",
        help_text="Where the sheet is kept: a folder, a page, a revision date.",
    )

    weekly_use = QuantityField(
        "expected use per week", null=True, blank=True, help_text="Used until the log has taught the real rate."
    )
    weekly_use_sd = QuantityField(
        "spread of weekly use",
        null=True,
        blank=True,
        help_text="Standard deviation; leave empty to assume half the weekly use.",
    )
    service_level = models.DecimalField(
        "service target",
        max_digits=5,
        decimal_places=4,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.5")), MaxValueValidator(Decimal("0.999"))],
        help_text="Empty: the shop’s own target.",
    )
    usual_location = models.ForeignKey(
        Location,
        on_delete=models.PROTECT,
        related_name="materials",
        null=True,
        blank=True,
        verbose_name="usual place",
        help_text="Where a delivery of it is put.",
    )
    note = models.TextField(blank=True, default="", max_length=2000)

    history = HistoricalRecords()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(yield_fraction__gt=0, yield_fraction__lte=1),
                name="material_yield_share",
                violation_error_message="The yield is a share above 0 and at most 1.",
            ),
            models.CheckConstraint(
                condition=Q(volume_solids__isnull=True) | Q(volume_solids__gte=0, volume_solids__lte=100),
                name="material_volume_solids_percent",
                violation_error_message="Volume solids are between 0 and 100 %.",
            ),
            models.CheckConstraint(
                condition=Q(mass_solids__isnull=True) | Q(mass_solids__gte=0, mass_solids__lte=100),
                name="material_mass_solids_percent",
                violation_error_message="Mass solids are between 0 and 100 %.",
            ),
            models.CheckConstraint(
                condition=Q(water_fraction__gte=0, exempt_fraction__gte=0) & Q(water_fraction__lte=1 - F("exempt_fraction")),
                name="material_water_and_exempt_share",
                violation_error_message="Water and exempt compounds together are at most the whole volume.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        """The material's page."""
        return reverse("material", args=[self.pk])

    @property
    def unit(self) -> StockUnit:
        """The stock unit as a choice."""
        return StockUnit(self.stock_unit)

    @property
    def is_liquid(self) -> bool:
        """True for what counts as a liquid for VOC, disposal and storage."""
        return self.kind in LIQUIDS

    @property
    def place(self) -> str:
        """The name of its usual place; empty when it has none."""
        return self.usual_location.name if self.usual_location else ""

    @property
    def h_code_list(self) -> tuple[str, ...]:
        """The H-codes, one by one."""
        return tuple(self.h_codes.replace(",", " ").split())


class Supplier(models.Model):
    """Somebody the shop buys from."""

    name = models.CharField(max_length=120, unique=True)
    contact = models.CharField(max_length=120, blank=True, default="")
    email = models.EmailField(blank=True, default="")
    phone = models.CharField(max_length=40, blank=True, default="")
    account_number = models.CharField("our account number", max_length=40, blank=True, default="")
    lead_time_days = models.DecimalField(
        "lead time, days",
        max_digits=5,
        decimal_places=1,
        default=Decimal(7),
        validators=[MinValueValidator(ZERO), MaxValueValidator(Decimal(365))],
    )
    lead_time_sd_days = models.DecimalField(
        "spread of the lead time, days",
        max_digits=5,
        decimal_places=1,
        default=Decimal(2),
        validators=[MinValueValidator(ZERO), MaxValueValidator(Decimal(180))],
    )
    minimum_order = MoneyField("minimum order value", default=ZERO, validators=[MinValueValidator(ZERO)])
    delivery_charge = MoneyField(default=ZERO, validators=[MinValueValidator(ZERO)])
    is_active = models.BooleanField("in use", default=True)
    note = models.TextField(blank=True, default="", max_length=2000)

    history = HistoricalRecords()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(lead_time_days__gte=0, lead_time_sd_days__gte=0),
                name="supplier_lead_time_not_negative",
                violation_error_message="A lead time can’t be below 0 days.",
            ),
            models.CheckConstraint(
                condition=Q(minimum_order__gte=0, delivery_charge__gte=0),
                name="supplier_money_not_negative",
                violation_error_message="Charges can’t be below 0.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        """The supplier's page."""
        return reverse("supplier", args=[self.pk])


class Pack(models.Model):
    """A container in which a supplier sells a material: how much is in it and what it costs."""

    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="packs")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="packs")
    supplier_code = models.CharField("supplier’s code", max_length=60, blank=True, default="")
    gtin = models.CharField(
        "GTIN",
        max_length=14,
        blank=True,
        default="",
        validators=[RegexValidator(r"^\d{8}$|^\d{12,14}$", "A GTIN has 8, 12, 13 or 14 digits.")],
    )
    description = models.CharField(max_length=60, help_text="For example: 5 L can, box of 50.")
    content = QuantityField(help_text="How much is in it, in the unit the material is kept in.")
    price = MoneyField(help_text="For one pack, without tax.")
    minimum_packs = models.PositiveSmallIntegerField("at least, packs", default=1, validators=[MinValueValidator(1)])
    is_usual = models.BooleanField(
        "the pack we usually buy", default=False, help_text="Estimates price the material by this pack."
    )
    is_active = models.BooleanField("on sale", default=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["material", "content", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(content__gt=0),
                name="pack_content_positive",
                violation_error_message="A pack holds more than 0.",
            ),
            models.CheckConstraint(
                condition=Q(price__gte=0),
                name="pack_price_not_negative",
                violation_error_message="A price can’t be below 0.",
            ),
            models.UniqueConstraint(
                fields=["material"],
                condition=Q(is_usual=True),
                name="pack_one_usual_per_material",
                violation_error_message="This material has a usual pack already.",
            ),
            models.UniqueConstraint(
                fields=["gtin"],
                condition=~Q(gtin=""),
                name="pack_gtin_unique",
                violation_error_message="Another pack has this GTIN.",
            ),
        ]

    def __str__(self) -> str:
        return self.description

    def get_absolute_url(self) -> str:
        """Packs are shown on their material's page."""
        return f"{self.material.get_absolute_url()}#packs"

    @property
    def unit_price(self) -> Decimal:
        """Price per stock unit, unrounded."""
        return self.price / self.content
