"""Quotes: offers with frozen prices. What was offered never changes when prices do."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now
from django.urls import reverse

from costing.choices import QuoteStatus
from costing.models.estimates import Customer, Estimate
from costing.models.systems import CoatingSystem
from finishing.fields import MoneyField

ZERO = Decimal(0)


class Quote(models.Model):
    """An offer to a customer. A revision is a new row with the same number."""

    key = models.UUIDField(unique=True, editable=False)
    number = models.PositiveIntegerField()
    revision = models.PositiveSmallIntegerField(default=1)
    estimate = models.ForeignKey(Estimate, on_delete=models.PROTECT, related_name="quotes")
    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="quotes")
    title = models.CharField(max_length=120)
    customer_block = models.TextField("name and address as printed", max_length=600)
    introduction = models.TextField(blank=True, default="", max_length=2000)
    terms = models.TextField(blank=True, default="", max_length=2000)
    currency = models.CharField(max_length=3)
    tax_name = models.CharField(max_length=30)
    tax_rate = models.DecimalField(
        max_digits=5, decimal_places=4, validators=[MinValueValidator(ZERO), MaxValueValidator(Decimal(1))]
    )
    deposit_share = models.DecimalField(
        "deposit with the order",
        max_digits=5,
        decimal_places=4,
        default=ZERO,
        validators=[MinValueValidator(ZERO), MaxValueValidator(Decimal(1))],
    )
    issued_on = models.DateField()
    valid_until = models.DateField()
    status = models.CharField(max_length=8, choices=QuoteStatus, default=QuoteStatus.DRAFT)
    status_on = models.DateField(null=True, blank=True)
    decline_reason = models.CharField(max_length=300, blank=True, default="")
    follow_up_on = models.DateField("follow up on", null=True, blank=True)  # the shop's own reminder, never printed
    follow_up_note = models.CharField("note for it", max_length=300, blank=True, default="")
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="quotes")
    created_at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        ordering = ["-number", "-revision"]
        constraints = [
            models.UniqueConstraint(fields=["number", "revision"], name="quote_number_revision_unique"),
            models.CheckConstraint(
                condition=Q(valid_until__gte=models.F("issued_on")),
                name="quote_valid_after_issue",
                violation_error_message="A quote is valid until its date of issue or later.",
            ),
        ]

    def __str__(self) -> str:
        return self.label

    def get_absolute_url(self) -> str:
        """The quote's page."""
        return reverse("quote", args=[self.pk])

    @property
    def label(self) -> str:
        """The number as printed: Q-0007, or Q-0007 revision 2."""
        plain = f"Q-{self.number:04d}"
        return plain if self.revision == 1 else f"{plain} revision {self.revision}"

    def deposit_of(self, total: Decimal) -> Decimal:
        """What is asked with the order, of a price with tax, unrounded."""
        return total * self.deposit_share

    def has_lapsed(self, today: date) -> bool:
        """True when an open offer is past its validity date."""
        return self.status in {QuoteStatus.DRAFT, QuoteStatus.SENT} and today > self.valid_until


class QuoteOption(models.Model):
    """One system offered, with its frozen price and the whole reckoning behind it."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="options")
    position = models.PositiveSmallIntegerField()
    label = models.CharField(max_length=60)
    system = models.ForeignKey(CoatingSystem, on_delete=models.PROTECT, related_name="quote_options")
    system_name = models.CharField(max_length=100)
    customer_text = models.TextField(blank=True, default="", max_length=600)
    area = models.DecimalField("area, m²", max_digits=14, decimal_places=6)
    cost = MoneyField()
    net = MoneyField("price before tax")
    tax = MoneyField()
    total = MoneyField("price with tax")
    snapshot = models.JSONField(editable=False, help_text="Inputs and results of the reckoning when the quote was made.")

    class Meta:
        ordering = ["quote", "position"]
        constraints = [
            models.UniqueConstraint(fields=["quote", "position"], name="quote_option_position_unique"),
            models.CheckConstraint(
                condition=Q(position__gte=1, position__lte=3),
                name="quote_option_at_most_three",
                violation_error_message="A quote offers up to three systems.",
            ),
            models.CheckConstraint(
                condition=Q(cost__gte=0, net__gte=0, tax__gte=0, total__gte=0), name="quote_option_money_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return self.label


class QuoteExtra(models.Model):
    """Something that the customer may add to any option, with its frozen price; ``chosen`` is told at acceptance."""

    quote = models.ForeignKey(Quote, on_delete=models.CASCADE, related_name="extras")
    position = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=100)
    net = MoneyField("price before tax")
    tax = MoneyField()
    total = MoneyField("price with tax")
    chosen = models.BooleanField(default=False)

    class Meta:
        ordering = ["quote", "position"]
        constraints = [
            models.UniqueConstraint(fields=["quote", "position"], name="quote_extra_position_unique"),
            models.UniqueConstraint(fields=["quote", "name"], name="quote_extra_name_unique"),
            models.CheckConstraint(condition=Q(net__gte=0, tax__gte=0, total__gte=0), name="quote_extra_money_not_negative"),
        ]

    def __str__(self) -> str:
        return self.name
