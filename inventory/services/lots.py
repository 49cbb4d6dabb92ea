"""What happens to a lot besides movements: opened, set aside, freed. Each leaves a record of who, when and why."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from django.db import transaction
from django.utils import timezone

from finishing.models import User
from inventory.choices import LotEventKind
from inventory.errors import LotStateError
from inventory.models import Lot, LotEvent, Posting
from inventory.services.checks import kept_text, not_before, past_day
from inventory.services.moves import net_issued


@transaction.atomic
def open_lot(*, lot: Lot, on: date, by: User) -> Lot:
    """Note the day a container was opened; its open life counts from there. Raises ``LotStateError`` or ``DayError``."""
    past_day(on, what="Opening")
    kept = _locked(lot)
    not_before(on, kept.received_on, what=f"lot {kept.number} came in")
    if kept.opened_on is not None:
        raise LotStateError(kept, f"was opened on {kept.opened_on} already")
    kept.opened_on = on
    kept.save(update_fields=["opened_on"])
    LotEvent.objects.create(lot=kept, kind=LotEventKind.OPENED, by=by, on=on)
    return kept


@transaction.atomic
def quarantine_lot(*, lot: Lot, reason: str, by: User) -> Lot:
    """Set a lot aside so that it is not issued. Raises ``LotStateError``, or ``TextError`` without a reason."""
    why = kept_text(Lot, "quarantine_reason", reason, required="Say why the lot is set aside.", shown_as="reason")
    kept = _locked(lot)
    if kept.is_quarantined:
        raise LotStateError(kept, "is in quarantine already")
    kept.is_quarantined, kept.quarantine_reason = True, why
    kept.save(update_fields=["is_quarantined", "quarantine_reason"])
    LotEvent.objects.create(lot=kept, kind=LotEventKind.QUARANTINED, by=by, on=timezone.localdate(), reason=why)
    return kept


@transaction.atomic
def release_lot(*, lot: Lot, by: User) -> Lot:
    """Free a lot from quarantine. Raises ``LotStateError`` when it is not in quarantine."""
    kept = _locked(lot)
    if not kept.is_quarantined:
        raise LotStateError(kept, "is not in quarantine")
    kept.is_quarantined, kept.quarantine_reason = False, ""
    kept.save(update_fields=["is_quarantined", "quarantine_reason"])
    LotEvent.objects.create(lot=kept, kind=LotEventKind.RELEASED, by=by, on=timezone.localdate())
    return kept


def open_first_issued(posting: Posting, lots: Iterable[Lot]) -> None:
    """Note lots as opened by this issue, where the material says so and the lot came in one container.

    Of several containers nobody knows which one was opened; such a lot is opened by hand. Called by the ledger, under its locks.
    """
    for lot in lots:
        if lot.opened_on is None and lot.containers == 1 and lot.material.opens_on_issue:
            lot.opened_on = posting.on
            lot.save(update_fields=["opened_on"])
            LotEvent.objects.create(
                lot=lot, kind=LotEventKind.OPENED, by=posting.by, on=posting.on, reason="By its first issue.", posting=posting
            )


def close_again(posting: Posting, counter: Posting) -> None:
    """Take back that an issue opened a lot, once the issue is reversed and nothing else was taken from the lot.

    Called by the ledger, under its locks.
    """
    for event in LotEvent.objects.filter(posting=posting, kind=LotEventKind.OPENED).select_related("lot").order_by("pk"):
        lot = event.lot
        if lot.opened_on == event.on and not net_issued(lot) and not lot.parts.exists():
            lot.opened_on = None
            lot.save(update_fields=["opened_on"])
            LotEvent.objects.create(
                lot=lot,
                kind=LotEventKind.CLOSED,
                by=counter.by,
                on=counter.on,
                reason=f"{posting} was reversed.",
                posting=counter,
            )


def _locked(lot: Lot) -> Lot:
    return Lot.objects.select_for_update(of=("self",)).with_state().get(pk=lot.pk)
