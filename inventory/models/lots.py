"""Lots: one batch of a material as received."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.urls import reverse

from finishing.fields import MoneyField, QuantityField
from inventory.models.materials import Material, Supplier


class LotQuerySet(models.QuerySet["Lot"]):
    """Named reads of lots."""

    def in_stock(self) -> LotQuerySet:
        """Lots with something left."""
        return self.filter(on_hand__gt=0)

    def first_expired_first(self) -> LotQuerySet:
        """In the order in which lots are to be used up; lots without an expiry date come last."""
        return self.order_by(models.F("expires_on").asc(nulls_last=True), "received_on", "pk")


class Lot(models.Model):
    """One batch of a material with its own lot number, dates and cost.

    ``on_hand`` equals the sum of the lot's movements at every commit; only the ledger service changes it.
    """

    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="lots")
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="lots", null=True, blank=True)
    number = models.CharField("lot number", max_length=40)
    received_on = models.DateField()
    made_on = models.DateField(null=True, blank=True)
    expires_on = models.DateField(null=True, blank=True)
    opened_on = models.DateField(null=True, blank=True)
    is_quarantined = models.BooleanField("in quarantine", default=False)
    quarantine_reason = models.CharField(max_length=200, blank=True, default="")
    place = models.CharField(max_length=60, blank=True, default="")
    unit_cost = MoneyField(validators=[MinValueValidator(Decimal(0))], help_text="Per stock unit, as paid.")
    on_hand = QuantityField(default=Decimal(0), db_default=0, editable=False)

    objects = LotQuerySet.as_manager()

    class Meta:
        ordering = ["material", "expires_on", "pk"]
        indexes = [models.Index(fields=["material", "expires_on"], name="lot_material_expiry")]
        constraints = [
            models.CheckConstraint(
                condition=Q(on_hand__gte=0),
                name="lot_on_hand_not_negative",
                violation_error_message="A lot can’t hold less than nothing.",
            ),
            models.CheckConstraint(
                condition=Q(unit_cost__gte=0),
                name="lot_unit_cost_not_negative",
                violation_error_message="A cost can’t be below 0.",
            ),
            models.CheckConstraint(
                condition=Q(made_on__isnull=True) | Q(expires_on__isnull=True) | Q(expires_on__gte=models.F("made_on")),
                name="lot_expires_after_made",
                violation_error_message="A lot can’t expire before it was made.",
            ),
        ]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        """The lot's page."""
        return reverse("lot", args=[self.pk])

    @property
    def usable_until(self) -> date | None:
        """The last day of use: the earlier of expiry and the end of open life (replenishment model, section 1)."""
        ends = [self.expires_on] if self.expires_on else []
        if self.opened_on and self.material.open_life_days:
            ends.append(self.opened_on + timedelta(days=self.material.open_life_days))
        return min(ends, default=None)

    def is_usable(self, on: date) -> bool:
        """True when the lot may be used on a day without anybody's word."""
        until = self.usable_until
        return not self.is_quarantined and (until is None or on <= until)

    @property
    def value(self) -> Decimal:
        """What is left, at the lot's own cost."""
        return self.on_hand * self.unit_cost
