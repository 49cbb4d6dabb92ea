"""Sent quotes that await an answer: which they are, and when the shop means to ask after each."""

from __future__ import annotations

from datetime import date, timedelta

from django.db import transaction
from django.db.models import F, Prefetch, QuerySet

from costing.choices import QuoteStatus
from costing.models import Quote, QuoteOption
from costing.services.quoting import QuoteError, QuoteStateError
from finishing.show import day

FURTHEST = timedelta(days=730)
LONGEST_NOTE = 300


def awaiting_answer() -> QuerySet[Quote]:
    """Sent quotes, lapsed ones too: the earliest reminder first, those without one after them by validity."""
    options = QuoteOption.objects.defer("snapshot")
    return (
        Quote.objects.filter(status=QuoteStatus.SENT)
        .select_related("customer", "estimate")
        .prefetch_related(Prefetch("options", queryset=options))
        .order_by(F("follow_up_on").asc(nulls_last=True), "valid_until", "pk")
    )


@transaction.atomic
def plan_follow_up(*, quote: Quote, on: date | None, note: str, today: date) -> Quote:
    """Keep the day on which to ask after a sent quote, and what to remember then; no day takes the reminder away.

    Raises QuoteStateError when no answer is awaited, QuoteError for a new day in the past or too far away and for a note
    without a day. A day that was kept before may stay though it has passed.
    """
    current = Quote.objects.select_for_update().get(pk=quote.pk)
    if current.status != QuoteStatus.SENT:
        raise QuoteStateError(
            f"{current.label} awaits no answer: it is {current.get_status_display().lower()}. Nothing was changed."
        )
    if on is None and note.strip():
        raise QuoteError("Give the day that this note is for.", field="follow_up_on")
    if on is not None and on != current.follow_up_on and not today <= on <= today + FURTHEST:
        raise QuoteError(f"Choose a day from {day(today)} to {day(today + FURTHEST)}.", field="follow_up_on")
    if len(note.strip()) > LONGEST_NOTE:
        raise QuoteError(f"Keep the note within {LONGEST_NOTE} characters.", field="follow_up_note")
    current.follow_up_on, current.follow_up_note = on, note.strip()
    current.save(update_fields=["follow_up_on", "follow_up_note"])
    return current
