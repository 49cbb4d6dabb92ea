"""Which lots to draw from. Pure: no Django, no clock; the day is an argument.

A lot is usable until the earlier of its expiry date and (opened date + open life), that day included; a lot in quarantine
is not usable (replenishment model, section 1). Usable lots are drawn first expired first out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class LotView:
    """What the choice of lots needs to know of a lot."""

    lot_id: int
    on_hand: Decimal  # in the material's stock unit
    received_on: date
    expires_on: date | None = None  # last day of use, unopened
    opened_on: date | None = None
    open_life_days: int | None = None  # days of use once opened
    quarantined: bool = False

    def __post_init__(self) -> None:
        if not self.on_hand.is_finite() or self.on_hand < 0:
            raise ValueError(f"lot {self.lot_id} can’t hold {self.on_hand}")

    @property
    def usable_until(self) -> date | None:
        """The last day of use, or None when there is none."""
        return last_day_of_use(expires_on=self.expires_on, opened_on=self.opened_on, open_life_days=self.open_life_days)

    def usable(self, on: date) -> bool:
        """True when the lot is here on that day and may be used without anybody's word."""
        until = self.usable_until
        return not self.quarantined and self.received_on <= on and (until is None or on <= until)


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """So much from that lot."""

    lot_id: int
    quantity: Decimal  # above 0


class ShortageError(ValueError):
    """The usable lots hold less than is wanted; quantities in the material's stock unit."""

    def __init__(self, *, wanted: Decimal, usable: Decimal) -> None:
        super().__init__(f"{wanted} wanted, {usable} usable")
        self.wanted = wanted
        self.usable = usable


def last_day_of_use(*, expires_on: date | None, opened_on: date | None, open_life_days: int | None) -> date | None:
    """The earlier of expiry and the end of open life; None when neither is known.

    >>> last_day_of_use(expires_on=date(2030, 6, 1), opened_on=date(2030, 1, 1), open_life_days=30)
    datetime.date(2030, 1, 31)
    """
    ends = [] if expires_on is None else [expires_on]
    if opened_on is not None and open_life_days is not None:
        ends.append(opened_on + timedelta(days=min(open_life_days, (date.max - opened_on).days)))
    return min(ends, default=None)


def first_expired_first(lots: Sequence[LotView]) -> list[LotView]:
    """The lots in the order of use: by last day of use, then day of receipt, then number; without an end they come last."""
    return sorted(lots, key=lambda lot: (lot.usable_until or date.max, lot.received_on, lot.lot_id))


def next_container(*, on_hand: Decimal, came: Decimal, containers: int) -> Decimal:
    """What the next container of a lot is likely to hold: one that was begun first, then a full one.

    >>> next_container(on_hand=Decimal(19), came=Decimal(20), containers=4)
    Decimal('4')
    """
    full = came / containers
    return (on_hand % full or min(full, on_hand)) if full > 0 else on_hand


def choose_lots(lots: Sequence[LotView], *, quantity: Decimal, on: date) -> tuple[Take, ...]:
    """Which usable lots to draw ``quantity`` from, first expired first out.

    Raises ``ShortageError`` when the usable lots do not hold enough, ``ValueError`` for a quantity that is not above 0.

    >>> old = LotView(lot_id=7, on_hand=Decimal(2), received_on=date(2029, 1, 1), expires_on=date(2030, 1, 1))
    >>> new = LotView(lot_id=5, on_hand=Decimal(9), received_on=date(2029, 2, 1), expires_on=date(2031, 1, 1))
    >>> [(take.lot_id, take.quantity) for take in choose_lots((new, old), quantity=Decimal(3), on=date(2029, 6, 1))]
    [(7, Decimal('2')), (5, Decimal('1'))]
    """
    if not quantity.is_finite() or quantity <= 0:
        raise ValueError(f"can’t draw {quantity}")
    usable = [lot for lot in lots if lot.usable(on) and lot.on_hand > 0]
    takes: list[Take] = []
    left = quantity
    for lot in first_expired_first(usable):
        if left == 0:
            break
        part = min(left, lot.on_hand)
        takes.append(Take(lot_id=lot.lot_id, quantity=part))
        left -= part
    if left:
        raise ShortageError(wanted=quantity, usable=quantity - left)
    return tuple(takes)


def expiry(*, made_on: date | None, shelf_life_days: int | None) -> date | None:
    """The last day of use of an unopened container, or None when its age or shelf life is not known.

    >>> expiry(made_on=date(2030, 1, 1), shelf_life_days=365)
    datetime.date(2031, 1, 1)
    """
    if made_on is None or shelf_life_days is None:
        return None
    return made_on + timedelta(days=min(shelf_life_days, (date.max - made_on).days))
