"""Writing off what is out of date, several lots at once."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Sum

from finishing.models import User
from inventory.choices import WriteOffCause
from inventory.errors import LotStateError, StockError, TextError
from inventory.models import Lot, Movement, Posting
from inventory.services import ledger
from inventory.services.checks import kept_text

MOST = 500  # lots at once: more than a board holds


@transaction.atomic
def write_off_expired(*, key: UUID, by: User, on: date, lots: Collection[Lot], reason: str, disposal: str) -> list[Posting]:
    """Write off all that is left of lots that are out of date, with the reason and how it leaves the shop: all of them or none.

    Each lot gets a posting of its own, under a key made from this form's key and the lot, so that the same form sent again
    writes off nothing twice. Raises ``StockError`` for no lots or too many, ``TextError`` for a missing reason or disposal,
    ``LotStateError`` for a lot that is still good or used up by now, ``KeyUsedError``.
    """
    why = kept_text(Posting, "reason", reason, required="Say why it is written off.")
    gone = kept_text(Posting, "reason", disposal, required="Say how it leaves the shop.", shown_as="disposal")
    said = f"{why} Disposal: {gone}" if why.endswith((".", "!")) else f"{why}. Disposal: {gone}"
    longest = Posting._meta.get_field("reason").max_length or 0
    if len(said) > longest:
        raise TextError(f"Reason and disposal together are {len(said) - longest} characters too long.", field="disposal")
    if not lots:
        raise StockError("Choose at least one lot.", field="lots")
    if len(lots) > MOST:
        raise StockError(f"Choose at most {MOST} lots at once.", field="lots")
    keys = {lot.pk: uuid5(key, str(lot.pk)) for lot in lots}
    kept = list(Lot.objects.select_for_update(of=("self",)).with_state().filter(pk__in=keys).order_by("pk"))
    # Under the locks: the same form sent twice at once finds what its twin has booked, not an empty lot.
    booked = Movement.objects.filter(posting__key__in=keys.values()).order_by()
    before = {row["lot"]: -row["total"] for row in booked.values("lot").annotate(total=Sum("quantity"))}
    return [
        ledger.write_off(
            key=keys[lot.pk],
            by=by,
            on=on,
            lot=lot,
            quantity=before[lot.pk] if lot.pk in before else _all_of(lot, on).on_hand,
            cause=WriteOffCause.EXPIRED,
            reason=said,
        )
        for lot in kept
    ]


def _all_of(lot: Lot, on: date) -> Lot:
    """The lot, when it is out of date and holds something; raises ``LotStateError``."""
    if lot.usable_until is None or lot.usable_until >= on:
        raise LotStateError(lot, "is not out of date. Write it off on its own page, with its cause")
    if not lot.on_hand:
        raise LotStateError(lot, "is used up by now; there is nothing to write off")
    return lot
