"""Lots: one batch of a material as received."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django.conf import settings
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now, Upper
from django.urls import reverse

from finishing.fields import MoneyField, QuantityField
from inventory.choices import LocationKind, LotEventKind
from inventory.core.lots import LotView, last_day_of_use
from inventory.models.buying import PurchaseOrderLine
from inventory.models.materials import Material, Pack, Supplier
from inventory.models.places import Location

SET_ASIDE = Q(is_quarantined=True) | Q(location__kind=LocationKind.QUARANTINE)
"""Lots that nobody may take from: set aside one by one, or standing in a quarantine place."""


class LotQuerySet(models.QuerySet["Lot"]):
    """Named reads of lots."""

    def with_state(self) -> LotQuerySet:
        """Each lot with its material and its place, on which it depends whether it may be used."""
        return self.select_related("material", "location")

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
    location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="lots", null=True, blank=True)
    containers = models.PositiveSmallIntegerField(
        default=1, validators=[MinValueValidator(1)], help_text="Cans or boxes of this lot."
    )
    split_from = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        related_name="parts",
        null=True,
        blank=True,
        help_text="The lot of which this part was moved.",
    )
    order_line = models.ForeignKey(PurchaseOrderLine, on_delete=models.PROTECT, related_name="lots", null=True, blank=True)
    pack = models.ForeignKey(
        Pack,
        on_delete=models.PROTECT,
        related_name="lots",
        null=True,
        blank=True,
        help_text="It was bought in this, where known.",
    )
    unit_cost = MoneyField(validators=[MinValueValidator(Decimal(0))], help_text="Per stock unit, as paid.")
    on_hand = QuantityField(default=Decimal(0), db_default=0, editable=False)

    objects = LotQuerySet.as_manager()

    class Meta:
        ordering = ["material", "expires_on", "pk"]
        indexes = [
            models.Index(fields=["material", "expires_on"], name="lot_material_expiry"),
            # A recall looks a number up in capital and small letters.
            models.Index(Upper("number"), name="lot_number_any_case"),
        ]
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
    def place(self) -> str:
        """The name of where it stands; empty when nobody has noted it. Read with ``with_state()``."""
        return self.location.name if self.location else ""

    @property
    def is_set_aside(self) -> bool:
        """True for a lot in quarantine, by a word of somebody or by where it stands. Read with ``with_state()``."""
        return self.is_quarantined or (self.location is not None and self.location.is_quarantine)

    @property
    def why_set_aside(self) -> str:
        """The reason somebody gave, or the quarantine place; empty when there is neither."""
        if self.is_quarantined and self.quarantine_reason:
            return self.quarantine_reason
        in_quarantine = self.location is not None and self.location.is_quarantine
        return f"it stands in {self.place}" if in_quarantine else ""

    @property
    def usable_until(self) -> date | None:
        """The last day of use: the earlier of expiry and the end of open life (replenishment model, section 1)."""
        return last_day_of_use(expires_on=self.expires_on, opened_on=self.opened_on, open_life_days=self.material.open_life_days)

    def is_usable(self, on: date) -> bool:
        """True when the lot is here on a day and may be used without anybody's word."""
        return self.as_view().usable(on)

    @property
    def came_with(self) -> Decimal:
        """How much came in as this lot. One query."""
        first = self.movements.filter(quantity__gt=0).order_by("pk").first()
        return first.quantity if first else Decimal(0)

    def as_view(self) -> LotView:
        """The lot as the choice of lots sees it."""
        return LotView(
            lot_id=self.pk,
            on_hand=self.on_hand,
            received_on=self.received_on,
            expires_on=self.expires_on,
            opened_on=self.opened_on,
            open_life_days=self.material.open_life_days,
            quarantined=self.is_set_aside,
        )

    @property
    def value(self) -> Decimal:
        """What is left, at the lot's own cost."""
        return self.on_hand * self.unit_cost


class LotEvent(models.Model):
    """A lot was opened, set aside, freed or moved: by whom, when and why. Never changed, never deleted.

    ``posting`` is the issue that opened the container, where one did. ``key`` is that of the form that moved a whole lot.
    """

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(max_length=10, choices=LotEventKind)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="lot_events")
    on = models.DateField("day")
    reason = models.CharField(max_length=200, blank=True, default="")
    from_location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="departures", null=True, blank=True)
    to_location = models.ForeignKey(Location, on_delete=models.PROTECT, related_name="arrivals", null=True, blank=True)
    posting = models.ForeignKey("inventory.Posting", on_delete=models.PROTECT, related_name="lot_events", null=True, blank=True)
    key = models.UUIDField(unique=True, null=True, blank=True, editable=False)
    created_at = models.DateTimeField(db_default=Now(), editable=False)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.get_kind_display()
