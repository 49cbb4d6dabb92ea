"""Adds the whole ledger up again and lists every disagreement.

Nothing here trusts a balance: quantities are summed from the movements, values from quantities and costs. The number of
queries does not depend on the size of the ledger; of single movements and postings only those that disagree are read.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal

from django.db import DEFAULT_DB_ALIAS, connections, transaction
from django.db.models import Count, Exists, F, OuterRef, Q, Sum

from inventory.choices import PostingKind
from inventory.errors import amount
from inventory.models import Booking, Lot, Movement, Posting
from inventory.triggers import missing_guards

ZERO = Decimal(0)
_INTO_STOCK = (PostingKind.RECEIPT, PostingKind.RETURN)
_OUT_OF_STOCK = (PostingKind.ISSUE, PostingKind.WRITE_OFF)
_USE = (PostingKind.ISSUE, PostingKind.RETURN)


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerReport:
    """What was looked at, and what disagrees, in sentences."""

    lots: int
    postings: int
    movements: int
    bookings: int
    value: Decimal  # money: the sum over lots of on hand at the lot's cost
    disagreements: tuple[str, ...]


def check_ledger(*, guards: bool = True) -> LedgerReport:
    """Recompute balances and values, and check signs, costs, days, reversals, bookings and (with ``guards``) the triggers."""
    with _one_moment():
        lots = list(Lot.objects.order_by("pk").only("number", "on_hand", "unit_cost", "received_on"))
        found = [*_balances(lots), *_movements(), *_reversals(), *_postings(), *_transfers(), *_net_use(), *_bookings()]
        if guards:
            found += [f"Guard {name} is missing in the database." for name in missing_guards(connections[DEFAULT_DB_ALIAS])]
        return LedgerReport(
            lots=len(lots),
            postings=Posting.objects.count(),
            movements=Movement.objects.count(),
            bookings=Booking.objects.count(),
            value=sum((lot.value for lot in lots), ZERO),
            disagreements=tuple(found),
        )


@contextmanager
def _one_moment() -> Iterator[None]:
    """All queries see the same state, whatever others post meanwhile.

    On SQLite the transaction keeps writers waiting; PostgreSQL gives it a snapshot, unless one is under way already.
    """
    connection = connections[DEFAULT_DB_ALIAS]
    fresh = not connection.in_atomic_block
    with transaction.atomic():
        if fresh and connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
        yield


def _balances(lots: list[Lot]) -> Iterator[str]:
    """On hand against the sum of the movements, and value against the sum of what came and went at its cost."""
    sums: dict[int, Decimal] = defaultdict(Decimal)
    values: dict[int, Decimal] = defaultdict(Decimal)
    for row in Movement.objects.order_by().values("lot", "unit_cost").annotate(total=Sum("quantity")):
        sums[row["lot"]] += row["total"]
        values[row["lot"]] += row["total"] * row["unit_cost"]
    for lot in lots:
        if lot.on_hand != sums[lot.pk]:
            yield f"Lot {lot.pk} ({lot.number}) says {amount(lot.on_hand)}, its movements say {amount(sums[lot.pk])}."
        if lot.value != values[lot.pk]:
            yield f"Lot {lot.pk} ({lot.number}) is worth {amount(lot.value)}, its movements {amount(values[lot.pk])}."
        if lot.on_hand < 0:
            yield f"Lot {lot.pk} ({lot.number}) holds less than nothing: {amount(lot.on_hand)}."


def _movements() -> Iterator[str]:
    """Each movement against its lot, its posting and its booking."""
    wrong = {
        "does not carry the unit cost of its lot": ~Q(unit_cost=F("lot__unit_cost")),
        "moves nothing": Q(quantity=0),
        "goes the wrong way": Q(posting__kind__in=_INTO_STOCK, quantity__lt=0)
        | Q(posting__kind__in=_OUT_OF_STOCK, quantity__gt=0),
        "is older than its lot": Q(posting__on__lt=F("lot__received_on")),
        "is booked to a booking of another material": Q(booking__isnull=False) & ~Q(booking__material=F("lot__material")),
        "reverses something, though its posting is no counter-movement": Q(reverses__isnull=False)
        & ~Q(posting__kind=PostingKind.REVERSAL),
        "is a counter-movement of nothing": Q(reverses__isnull=True, posting__kind=PostingKind.REVERSAL),
    }
    return (
        f"Movement {pk} {what}."
        for what, condition in wrong.items()
        for pk in Movement.objects.filter(condition).order_by("pk").values_list("pk", flat=True)
    )


def _reversals() -> Iterator[str]:
    """A counter-movement mirrors one movement, and a reversed posting is reversed whole, by one posting, once."""
    counters = Movement.objects.filter(reverses__isnull=False).order_by("pk")
    mirrored = Q(lot=F("reverses__lot"), unit_cost=F("reverses__unit_cost")) & (
        Q(booking=F("reverses__booking")) | Q(booking__isnull=True, reverses__booking__isnull=True)
    )
    # A sum of 0 is compared, not a negated column: SQL would negate by multiplying, and -1 is a million steps here.
    uneven = counters.exclude(mirrored, quantity=0 - F("reverses__quantity")).values_list("pk", "reverses_id")
    for pk, original in uneven:
        yield f"Movement {pk} does not mirror movement {original}, which it reverses."
    for pk in counters.filter(reverses__posting__kind=PostingKind.REVERSAL).values_list("pk", flat=True):
        yield f"Movement {pk} reverses a counter-movement."
    early = counters.filter(posting__on__lt=F("reverses__posting__on")).values_list("pk", "reverses_id")
    for pk, original in early:
        yield f"Movement {pk} is older than movement {original}, which it reverses."
    partly = (
        Posting.objects.filter(pk__in=counters.order_by().values("reverses__posting"))
        .annotate(
            moved=Count("movements"),
            taken_back=Count("movements__reversed_by"),
            counters=Count("movements__reversed_by__posting", distinct=True),
        )
        .exclude(moved=F("taken_back"), counters=1)
    )
    for posting in partly.order_by("pk"):
        yield f"{posting} is reversed in part, or by several postings."


def _postings() -> Iterator[str]:
    """A posting without movements was half written."""
    empty = Posting.objects.filter(~Exists(Movement.objects.filter(posting=OuterRef("pk"))))
    return (f"{posting} has no movement." for posting in empty.order_by("pk"))


def _transfers() -> Iterator[str]:
    """A transfer takes from one place what it brings to another: of one material, at one cost, in one sum of 0."""
    moved = Movement.objects.filter(posting__kind=PostingKind.TRANSFER).order_by().values("posting", "lot__material", "unit_cost")
    for row in moved.annotate(total=Sum("quantity")).exclude(total=0).order_by("posting"):
        yield f"Transfer {row['posting']} does not bring what it takes: {amount(row['total'])} are left over."


def _net_use() -> Iterator[str]:
    """No more comes back to a lot, or from a booking, than was issued."""
    back: dict[int, Decimal] = defaultdict(Decimal)
    back_from: dict[tuple[int, int], Decimal] = defaultdict(Decimal)
    moved = Movement.objects.order_by().values("lot", "booking", "posting__kind", "reverses__posting__kind")
    for row in moved.annotate(total=Sum("quantity")):
        if (row["reverses__posting__kind"] or row["posting__kind"]) in _USE:
            back[row["lot"]] += row["total"]
            if row["booking"] is not None:
                back_from[row["lot"], row["booking"]] += row["total"]
    for lot, total in back.items():
        if total > 0:
            yield f"{amount(total)} more came back to lot {lot} than was issued from it."
    for (lot, booking), total in back_from.items():
        if total > 0:
            yield f"{amount(total)} more came back to lot {lot} for booking {booking} than was issued for it."


def _bookings() -> Iterator[str]:
    """A booking is for something."""
    return (f"Booking {pk} is for nothing." for pk in Booking.objects.filter(planned__lte=0).values_list("pk", flat=True))
