"""Purchase orders, and the history of what packs cost."""

from __future__ import annotations

from decimal import Decimal

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now
from django.urls import reverse

from finishing.fields import MoneyField, QuantityField
from inventory.choices import OrderStatus, PriceSource
from inventory.models.materials import Material, Pack, Supplier


class PurchaseOrder(models.Model):
    """What was ordered from one supplier. How much of it came is told by the lots that were received against its lines."""

    key = models.UUIDField(unique=True, editable=False)
    number = models.PositiveIntegerField(unique=True, editable=False)
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="orders")
    status = models.CharField(max_length=9, choices=OrderStatus, default=OrderStatus.DRAFT)
    sent_on = models.DateField(null=True, blank=True)
    sent_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="orders_sent", null=True, blank=True
    )
    wished_on = models.DateField("delivery wished for", null=True, blank=True)
    promised_on = models.DateField("promised for", null=True, blank=True)
    closed_on = models.DateField(null=True, blank=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="orders_closed", null=True, blank=True
    )
    close_reason = models.CharField(max_length=200, blank=True, default="", help_text="Why it was closed short, or cancelled.")
    note = models.TextField("note to the supplier", blank=True, default="", max_length=1000)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="purchase_orders")
    created_at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        ordering = ["-number"]
        indexes = [models.Index(fields=["status", "supplier"], name="order_status_supplier")]

    def __str__(self) -> str:
        return self.label

    def get_absolute_url(self) -> str:
        """The order's page."""
        return reverse("purchase_order", args=[self.pk])

    @property
    def label(self) -> str:
        """The number as printed: P-0012."""
        return f"P-{self.number:04d}"


class PurchaseOrderLine(models.Model):
    """So many of one pack, at the content and price of the day on which it was ordered."""

    order = models.ForeignKey(PurchaseOrder, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField()
    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="order_lines")
    pack = models.ForeignKey(Pack, on_delete=models.PROTECT, related_name="order_lines")
    packs = models.PositiveIntegerField(validators=[MinValueValidator(1), MaxValueValidator(10_000)])
    content = QuantityField(help_text="Of one pack, in the stock unit.")
    price = MoneyField(help_text="Of one pack, without tax.")

    class Meta:
        ordering = ["order", "position", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(packs__gte=1, content__gt=0, price__gte=0),
                name="order_line_makes_sense",
                violation_error_message="A line orders at least one pack that holds something, at a price of 0 or more.",
            )
        ]

    def __str__(self) -> str:
        return f"Line {self.position}"

    @property
    def quantity(self) -> Decimal:
        """What was ordered, in the stock unit."""
        return self.content * self.packs

    @property
    def amount(self) -> Decimal:
        """Price of the line, unrounded."""
        return self.price * self.packs


class PackPrice(models.Model):
    """A pack's price from a day on, and how the shop learnt of it. Never changed: a new price is a new row."""

    pack = models.ForeignKey(Pack, on_delete=models.PROTECT, related_name="prices")
    price = MoneyField()
    valid_from = models.DateField()
    source = models.CharField(max_length=10, choices=PriceSource)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="pack_prices", null=True, blank=True)
    note = models.CharField(max_length=120, blank=True, default="")
    created_at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        ordering = ["pack", "-valid_from", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(price__gte=0), name="pack_price_row_not_negative", violation_error_message="A price can’t be below 0."
            )
        ]

    def __str__(self) -> str:
        return f"from {self.valid_from}"
