"""The stock ledger's rows. Only ``inventory.services.ledger`` writes them.

The database itself refuses to change or delete a posting or a movement.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from django.conf import settings
from django.db import models
from django.db.models import ExpressionWrapper, Q, Sum, Value
from django.db.models.functions import Coalesce, Now

from finishing.fields import MoneyField, QuantityField
from inventory.choices import PostingKind, WriteOffCause
from inventory.models.lots import Lot
from inventory.models.materials import Material

ZERO = Decimal(0)


class BookingQuerySet(models.QuerySet["Booking"]):
    """Named reads of bookings."""

    def open(self) -> BookingQuerySet:
        """Bookings that still hold material."""
        return self.filter(is_open=True)

    def with_remaining(self) -> BookingQuerySet:
        """Each booking with ``drawn``: what its movements took, less what came back or was reversed."""
        nothing = Value(ZERO, output_field=QuantityField())
        # Taken from nothing, since a minus sign would make SQL multiply by -1, and -1 is a million steps.
        taken = ExpressionWrapper(nothing - Coalesce(Sum("movements__quantity"), nothing), output_field=QuantityField())
        return self.annotate(drawn=taken)


class Booking(models.Model):
    """Material promised to a job: what was planned, and until when it is needed.

    What the job still needs is the planned quantity less what movements with this booking have drawn.
    """

    material = models.ForeignKey(Material, on_delete=models.PROTECT, related_name="bookings")
    holder = models.CharField(max_length=120, help_text="The job that it is promised to.")
    planned = QuantityField()
    needed_on = models.DateField()
    is_open = models.BooleanField(default=True)
    created_at = models.DateTimeField(db_default=Now(), editable=False)

    if TYPE_CHECKING:
        drawn: Decimal  # there after with_remaining()

    objects = BookingQuerySet.as_manager()

    class Meta:
        ordering = ["needed_on", "pk"]
        indexes = [models.Index(fields=["material", "is_open"], name="booking_material_open")]
        constraints = [
            models.CheckConstraint(
                condition=Q(planned__gt=0),
                name="booking_planned_positive",
                violation_error_message="A booking is for more than 0.",
            )
        ]

    def __str__(self) -> str:
        return self.holder

    @property
    def remaining(self) -> Decimal:
        """What is still to be drawn, never below 0; needs ``with_remaining()``."""
        return max(self.planned - self.drawn, ZERO)


class Posting(models.Model):
    """One submission to the ledger: who moved what when and why. Its key makes a second arrival harmless."""

    key = models.UUIDField(unique=True, editable=False)
    kind = models.CharField(max_length=10, choices=PostingKind)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="postings")
    on = models.DateField("day")
    created_at = models.DateTimeField(db_default=Now(), editable=False)
    reference = models.CharField(max_length=120, blank=True, default="", help_text="Delivery note, job, or what it was for.")
    reason = models.CharField(max_length=300, blank=True, default="")
    cause = models.CharField(max_length=8, choices=WriteOffCause, blank=True, default=WriteOffCause.NONE)
    digest = models.CharField(
        max_length=64,
        editable=False,
        default="",
        help_text="Fingerprint of what was submitted: the same key must bring the same.",
    )

    class Meta:
        ordering = ["-pk"]
        indexes = [models.Index(fields=["kind", "on"], name="posting_kind_day")]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.pk}"


class MovementQuerySet(models.QuerySet["Movement"]):
    """Named reads of movements."""

    # A counter-movement mirrors one movement and counts on its day, so that both together are nothing: to leave out what was
    # reversed gives the same sums as to add both, and reads the movements of the days asked for only.

    def standing_for(self, *kinds: PostingKind) -> MovementQuerySet:
        """Movements of these kinds that stand: nobody has taken them back."""
        return self.filter(posting__kind__in=kinds, reversed_by__isnull=True)

    def out_of_date(self) -> MovementQuerySet:
        """Write-offs of what went out of date that stand."""
        return self.filter(posting__kind=PostingKind.WRITE_OFF, posting__cause=WriteOffCause.EXPIRED, reversed_by__isnull=True)

    def counting_in(self, *, since: date, before: date) -> MovementQuerySet:
        """Movements that count on a day from ``since`` to before ``before``."""
        return self.filter(posting__on__gte=since, posting__on__lt=before)

    def total(self) -> Decimal:
        """The sum of the quantities."""
        total: Decimal = self.aggregate(total=Coalesce(Sum("quantity"), Value(ZERO, output_field=QuantityField())))["total"]
        return total


class Movement(models.Model):
    """A change of one lot: in or out, at the lot's unit cost. Never changed, never deleted."""

    posting = models.ForeignKey(Posting, on_delete=models.PROTECT, related_name="movements")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="movements")
    quantity = QuantityField(help_text="Above 0 into stock, below 0 out of it.")
    unit_cost = MoneyField()
    booking = models.ForeignKey(Booking, on_delete=models.PROTECT, related_name="movements", null=True, blank=True)
    reverses = models.OneToOneField("self", on_delete=models.PROTECT, related_name="reversed_by", null=True, blank=True)
    override_reason = models.CharField(
        max_length=300, blank=True, default="", help_text="Why an expired or quarantined lot was used."
    )

    objects = MovementQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        # Sums by lot, also those up to a day, read this index alone and no row of the table.
        indexes = [models.Index(fields=["lot", "posting", "quantity"], name="movement_lot_posting_quantity")]
        constraints = [
            models.CheckConstraint(
                condition=~Q(quantity=0),
                name="movement_quantity_not_zero",
                violation_error_message="A movement moves something.",
            )
        ]

    def __str__(self) -> str:
        return f"Movement {self.pk}"

    @property
    def value(self) -> Decimal:
        """The money that moved: quantity at the lot's unit cost."""
        return self.quantity * self.unit_cost
