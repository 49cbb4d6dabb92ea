"""The shop itself and the people who sign in."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django.contrib.auth.models import AbstractUser
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from finishing import show
from finishing.choices import CURRENCIES, PageSize
from finishing.fields import MoneyField
from finishing.logo import CleanLogo
from finishing.roles import Role
from finishing.units import UnitSystem


class User(AbstractUser):
    """A person who signs in, with one or more roles."""

    is_office = models.BooleanField(
        "office", default=False, help_text="Buying desk: materials, deliveries, stock, what to order."
    )
    is_estimator = models.BooleanField("estimator", default=False, help_text="Pricing desk: systems, estimates, quotes.")
    is_finisher = models.BooleanField("finisher", default=False, help_text="Spray room: jobs and the log.")
    is_owner = models.BooleanField("owner", default=False, help_text="Owner’s desk: everything, and the shop’s settings.")

    def __str__(self) -> str:
        return self.get_full_name() or self.username

    @property
    def roles(self) -> frozenset[Role]:
        """The roles this person holds."""
        return frozenset(role for role in Role if getattr(self, f"is_{role.value}"))


class Shop(models.Model):
    """The shop's own settings: one row, made with sensible defaults when first asked for."""

    name = models.CharField(max_length=120, default="Our finishing shop")
    address = models.TextField(blank=True, default="", max_length=400)
    email = models.EmailField(blank=True, default="")
    phone = models.CharField(max_length=40, blank=True, default="")
    currency = models.CharField(max_length=3, default="USD", choices=CURRENCIES)
    locale = models.CharField(
        max_length=12, default="en_US", help_text="How numbers and dates are written, for example en_US or en_GB."
    )
    unit_system = models.CharField(
        "units shown",
        max_length=6,
        default=UnitSystem.METRIC,
        choices=[(UnitSystem.METRIC, "metric"), (UnitSystem.US, "US customary")],
    )
    page_size = models.CharField(max_length=6, default=PageSize.A4, choices=PageSize)
    time_zone = models.CharField(
        max_length=64, blank=True, default="", help_text="Decides when a day begins: days of postings, expiry and quotes."
    )

    booth_rate = MoneyField("booth rate per hour", default=Decimal("0"), validators=[MinValueValidator(Decimal(0))])
    overhead_rate = models.DecimalField(
        "overhead on labour",
        max_digits=6,
        decimal_places=4,
        default=Decimal("0"),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(20))],
        help_text="As a share of the labour cost: 0.80 adds 80 %.",
    )
    rework_allowance = models.DecimalField(
        max_digits=5,
        decimal_places=4,
        default=Decimal("0"),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(1))],
        help_text="As a share of everything before it: 0.03 adds 3 %.",
    )
    disposal_fee = MoneyField("disposal fee per litre", default=Decimal("0"), validators=[MinValueValidator(Decimal(0))])
    voc_recovered = models.DecimalField(
        "recovered share of VOC",
        max_digits=5,
        decimal_places=4,
        default=Decimal("0"),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(1))],
    )
    voc_limit = models.DecimalField(
        "VOC limit to compare with, g/L",
        max_digits=8,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0))],
        help_text="Content as applied, less water and exempt compounds. Your permit and local rules decide.",
    )
    working_hours = models.DecimalField(
        "working hours a day",
        max_digits=4,
        decimal_places=2,
        default=Decimal("8"),
        validators=[MinValueValidator(Decimal("0.5")), MaxValueValidator(Decimal(24))],
    )

    margin = models.DecimalField(
        max_digits=5,
        decimal_places=4,
        default=Decimal("0.3"),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal("0.99"))],
        help_text="Share of the price: 0.35 keeps 35 % of the price.",
    )
    minimum_charge = MoneyField(default=Decimal("0"), validators=[MinValueValidator(Decimal(0))])
    price_step = MoneyField("round prices up to", default=Decimal("1"), validators=[MinValueValidator(Decimal(0))])
    tax_rate = models.DecimalField(
        max_digits=5,
        decimal_places=4,
        default=Decimal("0"),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(1))],
    )
    tax_name = models.CharField(max_length=30, default="Tax")
    quote_days = models.PositiveSmallIntegerField(
        "quotes are valid for, days", default=30, validators=[MinValueValidator(1), MaxValueValidator(365)]
    )
    quote_terms = models.TextField(blank=True, default="", max_length=2000)
    deposit_share = models.DecimalField(
        "deposit with the order",
        max_digits=5,
        decimal_places=4,
        default=Decimal("0"),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(1))],
        help_text="Share of the price with tax: 0.3 asks for 30 %.",
    )
    cost_moved_share = models.DecimalField(
        "tell when a quote’s cost has moved by",
        max_digits=5,
        decimal_places=4,
        default=Decimal("0.05"),
        validators=[MinValueValidator(Decimal("0.001")), MaxValueValidator(Decimal(1))],
        help_text="Share of the cost that the quote was reckoned with: 0.05 is 5 %.",
    )

    review_days = models.PositiveSmallIntegerField(
        "days between orders",
        default=7,
        validators=[MinValueValidator(1), MaxValueValidator(90)],
        help_text="How often the shop looks at the reorder list.",
    )
    service_level = models.DecimalField(
        "service target",
        max_digits=5,
        decimal_places=4,
        default=Decimal("0.95"),
        validators=[MinValueValidator(Decimal("0.5")), MaxValueValidator(Decimal("0.999"))],
        help_text="Share of order cycles in which nothing runs out.",
    )
    expiring_days = models.PositiveSmallIntegerField(
        "warn before expiry, days", default=30, validators=[MinValueValidator(1), MaxValueValidator(365)]
    )

    history = HistoricalRecords()

    class Meta:
        verbose_name = "shop settings"
        verbose_name_plural = "shop settings"
        constraints = [
            models.CheckConstraint(condition=Q(pk=1), name="shop_single_row"),
            models.CheckConstraint(
                condition=Q(margin__gte=0, margin__lt=1),
                name="shop_margin_below_one",
                violation_error_message="A margin is a share of the price and stays below 100 %.",
            ),
            models.CheckConstraint(
                condition=Q(booth_rate__gte=0, disposal_fee__gte=0, minimum_charge__gte=0, price_step__gte=0),
                name="shop_money_not_negative",
                violation_error_message="Rates and charges can’t be below 0.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Keep the one row, and show things its way from now on."""
        self.pk = 1
        super().save(*args, **kwargs)
        show.use(None)

    @classmethod
    def current(cls) -> Shop:
        """The shop's settings; a shop that has set nothing yet gets the defaults, unsaved."""
        return cls.objects.filter(pk=1).first() or cls(pk=1)

    @property
    def units(self) -> UnitSystem:
        """The unit system that people see."""
        return UnitSystem(self.unit_system)


class ShopLogo(models.Model):
    """The shop's logo: one row of its own, because every page asks for the settings and few for the picture."""

    data = models.BinaryField(editable=False)  # PNG, as ``finishing.logo`` wrote it
    width = models.PositiveSmallIntegerField()  # px
    height = models.PositiveSmallIntegerField()  # px

    def __str__(self) -> str:
        return "Logo"

    @classmethod
    def current(cls) -> ShopLogo | None:
        """The logo, or None for a shop without one."""
        return cls.objects.filter(pk=1).first()

    @classmethod
    def keep(cls, logo: CleanLogo) -> None:
        """Put this one in the place of the one before."""
        cls.objects.update_or_create(pk=1, defaults={"data": logo.png, "width": logo.width, "height": logo.height})
