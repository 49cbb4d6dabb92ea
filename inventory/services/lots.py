"""What happens to a lot besides movements: opened, set aside, freed. Each leaves a record of who, when and why."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from django.db import transaction
from django.utils import timezone

from finishing.models import User
from inventory.choices import LotEventKind
from inventory.errors import LotStateError, StockError
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


def open_first_issued(posting: Posting, lots: Iterable[Lot], *, asked: bool) -> None:
    """Note lots as opened by this issue, where somebody says so (``asked``) or the material does.

    A lot in several containers would have its open life begin in all of them: it is refused when asked for, and left alone
    otherwise; one of them is opened by hand (``services.opening``). Called by the ledger, under its locks.
    """
    for lot in lots:
        if lot.opened_on is not None or not (asked or lot.material.opens_on_issue):
            continue
        if lot.containers == 1:
            open_by(posting, lot, "By its first issue.")
        elif asked:
            raise StockError(
                f"Lot {lot.number} came in {lot.containers} containers. Open one of them on the page of the lot first, "
                "so that the others keep their date.",
                field="opens",
            )


def open_by(posting: Posting, lot: Lot, reason: str = "") -> None:
    """Note a lot as opened by a posting, on its day. Called by the ledger, under its locks."""
    if lot.opened_on is not None:
        raise LotStateError(lot, f"was opened on {lot.opened_on} already")
    lot.opened_on = posting.on
    lot.save(update_fields=["opened_on"])
    LotEvent.objects.create(lot=lot, kind=LotEventKind.OPENED, by=posting.by, on=posting.on, reason=reason, posting=posting)


def close_again(posting: Posting, counter: Posting) -> None:
    """Take back that a posting opened a lot, once it is reversed and nothing else was taken from the lot.

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
