"""What can be said of a lot on a day: fresh, expiring soon, expired, in quarantine, opened, used up.

A lot is usable until the earlier of its expiry date and the end of its open life (replenishment model, section 1).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.db import models
from django.db.models import Q

from finishing.show import day
from inventory.models import Lot, Material
from inventory.models.lots import SET_ASIDE


class LotState(models.TextChoices):
    """A filter of the lots list."""

    FRESH = "fresh", "Fresh"
    SOON = "soon", "Expires soon"
    EXPIRED = "expired", "Expired"
    QUARANTINED = "quarantined", "In quarantine"
    OPENED = "opened", "Opened"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A badge: its kind in the house look, and its words."""

    kind: str
    words: str


def mark_of(lot: Lot, *, on: date, window: int) -> Mark:
    """The one badge of a lot; ``window`` is how many days ahead the shop wants to be warned of an expiry."""
    if not lot.on_hand:
        return Mark(kind="empty", words="used up")
    if lot.is_set_aside:
        return Mark(kind="quarantined", words="in quarantine")
    until = lot.usable_until
    if until is None:
        return Mark(kind="fresh", words="fresh")
    if until < on:
        return Mark(kind="expired", words="expired")
    if until <= on + timedelta(days=window):
        return Mark(kind="soon", words="expires soon")
    return Mark(kind="fresh", words="fresh")


def why_until(lot: Lot) -> str:
    """Why a lot is usable until its last day."""
    until = lot.usable_until
    if until is None:
        return "It has no expiry date."
    if until == lot.expires_on:
        return "That is its expiry date."
    return f"It was opened on {day(lot.opened_on)}; the open life is {lot.material.open_life_days} days."


def open_lives() -> list[int]:
    """The different open lives in days, for ``ends_before``. One query."""
    stated = Material.objects.filter(open_life_days__isnull=False).values_list("open_life_days", flat=True)
    return [days for days in stated.order_by().distinct() if days is not None]


def ends_before(on: date, lives: Iterable[int]) -> Q:
    """Lots whose last day of use lies before ``on``. Date arithmetic over a column differs between databases, so each
    open life becomes one plain comparison."""
    ended = Q(expires_on__lt=on)
    for days in lives:
        if days >= (on - date.min).days:
            continue
        ended |= Q(material__open_life_days=days, opened_on__lt=on - timedelta(days=days))
    return ended


def in_state(state: str, *, on: date, window: int, lives: Iterable[int]) -> Q:
    """The condition for lots in a state of the filter. ``expired`` and ``soon`` hold for lots in quarantine too."""
    lives = list(lives)
    expired = ends_before(on, lives)
    ending = ends_before(on + timedelta(days=window + 1), lives)
    return {
        LotState.EXPIRED: expired,
        LotState.SOON: ending & ~expired,
        LotState.FRESH: ~ending & ~SET_ASIDE,
        LotState.QUARANTINED: SET_ASIDE,
        LotState.OPENED: Q(opened_on__isnull=False),
    }[LotState(state)]
