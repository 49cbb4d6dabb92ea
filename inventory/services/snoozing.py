"""Putting off a line of the reorder list, and taking that back."""

from __future__ import annotations

from datetime import date, timedelta

from django.db import transaction

from finishing.models import User
from finishing.show import day
from inventory.errors import DayError, StockError
from inventory.models import Material, Snooze
from inventory.services.checks import kept_text

LONGEST = timedelta(days=366)


class SnoozeError(StockError):
    """A line that can't be put off, or is not put off any more: somebody was faster."""


@transaction.atomic
def snooze(*, material: Material, until: date, reason: str, by: User, today: date) -> Snooze:
    """Keep a material off the reorder list up to and with a day.

    Raises ``TextError`` without a reason, ``DayError`` for a day that is over or more than a year away, ``SnoozeError`` where it
    is put off already.
    """
    why = kept_text(Snooze, "reason", reason, required="Say in a few words why it is not ordered now.")
    if until < today:
        raise DayError(f"{day(until)} is over. Give {day(today)} or a later day.", on=until, field="until")
    if until > today + LONGEST:
        latest = day(today + LONGEST)
        raise DayError(f"This is more than a year away. Give a day up to {latest}.", on=until, field="until")
    Material.objects.select_for_update().get(pk=material.pk)  # two people at once: the second sees what the first did
    before = Snooze.objects.filter(material=material, ended_on__isnull=True).select_related("by").first()
    if before is not None:
        if before.is_in_force(today):
            raise SnoozeError(f"{before.by} has put it off already, until {day(before.until)}.")
        _end(before, on=before.until, by=None)
    return Snooze.objects.create(material=material, reason=why, from_day=today, until=until, by=by)


@transaction.atomic
def end_snooze(*, snooze: Snooze, by: User, today: date) -> Snooze:
    """Let a material back on the list before its day. Raises ``SnoozeError`` where that has happened already."""
    current = Snooze.objects.select_for_update(of=("self",)).select_related("material").get(pk=snooze.pk)
    if not current.is_in_force(today):
        raise SnoozeError(f"{current.material.name} is not put off any more.")
    return _end(current, on=today, by=by)


def _end(current: Snooze, *, on: date, by: User | None) -> Snooze:
    current.ended_on, current.ended_by = on, by
    current.save(update_fields=["ended_on", "ended_by"])
    return current
