"""Draft, sent, declined, replaced, lapsed: what a state no longer allows is refused in words, and nothing changes."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from costing.choices import QuoteStatus
from costing.models import Quote
from costing.services.quoting import QuoteError, QuoteStateError, decline_quote, revise_quote, send_quote
from finishing.models import User
from tests.costing.pricing.door_shop import TODAY, DoorShop, form_data

Browser = Callable[[User], Client]


def put(quote: Quote, status: QuoteStatus) -> Quote:
    """The quote in a state that another desk brought it to."""
    Quote.objects.filter(pk=quote.pk).update(status=status, status_on=TODAY())
    return quote


def status(quote: Quote) -> str:
    """As the database has it."""
    return Quote.objects.get(pk=quote.pk).status


def test_a_draft_is_sent_on_a_day(doors: DoorShop) -> None:
    sent = send_quote(quote=doors.quote(), on=TODAY())
    assert (sent.status, sent.status_on) == (QuoteStatus.SENT, TODAY())


@pytest.mark.parametrize(
    ("state", "words"),
    [
        (QuoteStatus.SENT, "was marked as sent already"),
        (QuoteStatus.ACCEPTED, "was accepted already"),
        (QuoteStatus.DECLINED, "was declined"),
        (QuoteStatus.REPLACED, "has been replaced"),
    ],
)
def test_only_a_draft_is_sent(doors: DoorShop, state: QuoteStatus, words: str) -> None:
    quote = put(doors.quote(), state)
    with pytest.raises(QuoteStateError, match=words):
        send_quote(quote=quote, on=TODAY())
    assert status(quote) == state


def test_a_lapsed_draft_is_not_sent(doors: DoorShop) -> None:
    quote = doors.lapsed(doors.quote())
    with pytest.raises(QuoteStateError, match="was valid until"):
        send_quote(quote=quote, on=TODAY())
    assert status(quote) == QuoteStatus.DRAFT


def test_the_last_day_still_counts(doors: DoorShop) -> None:
    quote = doors.quote(valid_until=TODAY())
    assert send_quote(quote=quote, on=TODAY()).status == QuoteStatus.SENT
    assert not quote.has_lapsed(TODAY())
    assert quote.has_lapsed(TODAY() + timedelta(days=1))


def test_a_sent_quote_is_declined_with_its_reason(doors: DoorShop) -> None:
    declined = decline_quote(quote=doors.quote(sent=True), reason=" Too late for them ", on=TODAY())
    assert (declined.status, declined.decline_reason) == (QuoteStatus.DECLINED, "Too late for them")


@pytest.mark.parametrize("state", [QuoteStatus.DRAFT, QuoteStatus.ACCEPTED, QuoteStatus.DECLINED, QuoteStatus.REPLACED])
def test_only_a_sent_quote_is_declined(doors: DoorShop, state: QuoteStatus) -> None:
    quote = put(doors.quote(), state)
    with pytest.raises(QuoteStateError, match="Nothing was changed"):
        decline_quote(quote=quote, reason="no", on=TODAY())
    assert status(quote) == state


def test_a_decline_without_a_reason_is_refused(doors: DoorShop) -> None:
    quote = doors.quote(sent=True)
    with pytest.raises(QuoteError, match="in a few words"):
        decline_quote(quote=quote, reason="  ", on=TODAY())
    assert status(quote) == QuoteStatus.SENT


@pytest.mark.parametrize(
    ("state", "words"), [(QuoteStatus.ACCEPTED, "was accepted on"), (QuoteStatus.REPLACED, "has been replaced")]
)
def test_what_is_accepted_or_replaced_is_not_revised(doors: DoorShop, state: QuoteStatus, words: str) -> None:
    quote = put(doors.quote(), state)
    with pytest.raises(QuoteStateError, match=words):
        revise_quote(key=uuid4(), by=doors.by, quote=quote, offer=doors.offer(), on=TODAY())
    assert Quote.objects.count() == 1


def test_the_buttons_of_the_page_move_the_quote(doors: DoorShop, as_: Browser, estimator: User) -> None:
    quote, browser = doors.quote(), as_(estimator)
    assert "is marked as sent" in browser.post(reverse("quote_send", args=[quote.pk]), follow=True).text
    assert "was marked as sent already" in browser.post(reverse("quote_send", args=[quote.pk]), follow=True).text
    refused = browser.post(reverse("quote_decline", args=[quote.pk]), {"reason": ""})
    assert refused.status_code == 422
    assert "Say in a few words why" in refused.text
    assert (
        "is noted as declined" in browser.post(reverse("quote_decline", args=[quote.pk]), {"reason": "Price"}, follow=True).text
    )
    assert "was declined" in browser.post(reverse("quote_decline", args=[quote.pk]), {"reason": "Price"}, follow=True).text
    assert status(quote) == QuoteStatus.DECLINED


def test_a_stale_revision_form_leads_back_to_the_quote(doors: DoorShop, as_: Browser, estimator: User) -> None:
    quote = put(doors.quote(), QuoteStatus.ACCEPTED)
    answer = as_(estimator).post(reverse("quote_revise", args=[quote.pk]), form_data(doors, doors.system), follow=True)
    assert answer.redirect_chain == [(reverse("quote", args=[quote.pk]), 302)]  # type: ignore[attr-defined]
    assert "was accepted on" in answer.text


def test_a_quote_is_not_moved_by_looking_at_an_address(doors: DoorShop, as_: Browser, estimator: User) -> None:
    quote = doors.quote()
    assert as_(estimator).get(reverse("quote_send", args=[quote.pk])).status_code == 405
    assert status(quote) == QuoteStatus.DRAFT
