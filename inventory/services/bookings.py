"""Bookings: material promised to a job, and freed when the job needs no more."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django.db import transaction

from inventory.models import Booking, Material
from inventory.services.checks import exact_quantity, kept_text


@transaction.atomic
def book(*, material: Material, quantity: Decimal, needed_on: date, holder: str) -> Booking:
    """Promise ``quantity`` (stock units) of a material to ``holder`` for a day. More may be promised than is on hand.

    Raises ``QuantityError`` or ``TextError``.
    """
    return Booking.objects.create(
        material=material,
        planned=exact_quantity(quantity),
        needed_on=needed_on,
        holder=kept_text(Booking, "holder", holder, required="Say for which job it is booked."),
    )


@transaction.atomic
def close_bookings(*, holder: str) -> int:
    """Free what is still booked for ``holder`` and not drawn; gives the number of bookings that were open."""
    return Booking.objects.filter(holder=holder.strip(), is_open=True).update(is_open=False)
