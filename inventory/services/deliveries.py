"""Deliveries as people book them: through the ledger, with a question first when the same delivery note was booked before.

A form that is sent twice carries the same key and is harmless. Two forms filled in from one paper carry two keys: only the
supplier and the number of the note tell that they are the same delivery. So the second is a question, not a refusal for good:
one note can bring the goods of two orders, and suppliers begin their numbers anew.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from uuid import UUID

from django.db import transaction

from finishing.models import User
from finishing.show import day, quantity
from inventory.choices import PostingKind
from inventory.errors import StockError
from inventory.models import Posting, Supplier
from inventory.services import ledger

_LEAD = re.compile(
    r"(delivery\s*note|packing\s*(slip|list|note)|delivery|dn(?![a-z]))[\s.:#_-]*((number|no|nr)(?![a-z])[\s.:#_-]*)?"
)
_GAPS = re.compile(r"[\s_\-‐‑–—]+")  # blanks and every kind of hyphen
SHOWN = 4  # lots of the earlier delivery that the question names


class BookedBeforeError(StockError):
    """A delivery note of this supplier that stands in the books already, and nobody said that this is another delivery."""

    def __init__(self, earlier: Posting, supplier: Supplier) -> None:
        super().__init__(_words(earlier, supplier), field="reference")
        self.earlier = earlier


@transaction.atomic
def receive_delivery(
    *,
    key: UUID,
    by: User,
    on: date,
    supplier: Supplier | None,
    reference: str,
    lines: Sequence[ledger.ReceiptLine],
    accept_expired_reason: str = "",
    knowing: int | None = None,
) -> Posting:
    """``ledger.receive``, after ``ask_first``. One transaction, so that of two forms sent at once the second is asked."""
    ask_first(key=key, supplier=supplier, reference=reference, knowing=knowing)
    return ledger.receive(
        key=key,
        by=by,
        on=on,
        supplier=supplier,
        reference=reference,
        lines=lines,
        accept_expired_reason=accept_expired_reason,
    )


@transaction.atomic
def ask_first(*, key: UUID, supplier: Supplier | None, reference: str, knowing: int | None = None) -> None:
    """Raise ``BookedBeforeError`` when another submission booked this supplier's delivery note.

    ``knowing`` is the number of the earlier posting that the person was shown and calls another delivery; a later one is asked
    about again. What was reversed does not count, and neither does stock that nobody delivered. The supplier stays locked until
    the transaction ends.
    """
    if supplier is None or not reference.strip():
        return
    Supplier.objects.select_for_update(no_key=True).get(pk=supplier.pk)
    if Posting.objects.filter(key=key).exists():
        return  # the same form again: the ledger answers with what it booked
    earlier = booked_before(key=key, supplier=supplier, reference=reference)
    if earlier is not None and earlier.pk != knowing:
        raise BookedBeforeError(earlier, supplier)


def booked_before(*, key: UUID, supplier: Supplier, reference: str) -> Posting | None:
    """The latest standing delivery of this supplier with this note, however written; not the one of ``key``. Two queries."""
    found = Posting.objects.filter(
        kind=PostingKind.RECEIPT, movements__lot__supplier=supplier, movements__reversed_by__isnull=True
    ).exclude(key=key)
    asked = note_number(reference)
    noted = found.order_by("-pk").values_list("pk", "reference").distinct()
    same = next((pk for pk, words in noted if note_number(words) == asked), None)
    return None if same is None else Posting.objects.select_related("by").get(pk=same)


def note_number(reference: str) -> str:
    """A delivery note's number as it is compared: without blanks, hyphens, capitals and words like “Delivery note” before it.

    >>> note_number("Delivery note NY-2402") == note_number("ny 2402")
    True
    """
    words = reference.casefold().strip()
    return _GAPS.sub("", _LEAD.sub("", words, count=1) if _LEAD.match(words) else words) or words


def _words(earlier: Posting, supplier: Supplier) -> str:
    moves = list(earlier.movements.select_related("lot__material").order_by("pk"))
    parts = [
        f"{quantity(move.quantity, move.lot.material.stock_unit)} of {move.lot.material.name}, lot {move.lot.number}"
        for move in moves[:SHOWN]
    ]
    more = len(moves) - len(parts)
    brought = "; ".join([*parts, *([f"{more} more"] if more else [])])
    return (
        f"“{earlier.reference}” of {supplier.name} is in the books already: {earlier} of {day(earlier.on)}, "
        f"by {earlier.by}, brought {brought}. Nothing is booked yet."
    )
