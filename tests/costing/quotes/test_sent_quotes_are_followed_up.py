"""Sent quotes stand on one page until they are answered, with the day on which the shop means to ask."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Quote
from costing.services.following_up import awaiting_answer, plan_follow_up
from costing.services.quoting import QuoteError, QuoteStateError, decline_quote
from finishing import show
from finishing.models import User
from tests.costing.pricing.door_shop import TODAY, DoorShop, set_shop

Browser = Callable[[User], Client]


def rows(browser: Client) -> list[dict[str, str]]:
    """What the table shows, by column."""
    table = browser.get(reverse("follow_ups")).context["table"]
    return [{column.name: str(cell) for column, cell in row.items()} for row in table.paginated_rows]


def sent_ago(quote: Quote, days: int) -> Quote:
    Quote.objects.filter(pk=quote.pk).update(status_on=TODAY() - timedelta(days=days))
    return quote


def test_it_says_how_long_ago_it_was_sent_and_how_long_it_stands(doors: DoorShop, as_: Browser, estimator: User) -> None:
    sent_ago(doors.quote(sent=True, valid_until=TODAY() + timedelta(days=1)), 9)
    (row,) = rows(as_(estimator))
    assert (row["status_on"], row["valid_until"], row["cost"]) == ("9 days ago", "1 day left", "as quoted")


def test_a_lapsed_one_stays_and_says_so(doors: DoorShop, as_: Browser, estimator: User) -> None:
    quote = doors.lapsed(doors.quote(sent=True))
    (row,) = rows(as_(estimator))
    days = (TODAY() - Quote.objects.get(pk=quote.pk).valid_until).days
    assert row["valid_until"] == f"lapsed {days} day{'' if days == 1 else 's'} ago"


def test_it_names_the_contact(doors: DoorShop, as_: Browser, estimator: User) -> None:
    quote = doors.quote(sent=True)
    quote.customer.contact, quote.customer.phone, quote.customer.email = "Ask for Kit", "0100 200", ""
    quote.customer.save()
    assert rows(as_(estimator))[0]["contact"] == "Ask for Kit, 0100 200"


def test_a_cost_that_moved_is_told_to_those_who_may_see_costs(
    doors: DoorShop, as_: Browser, estimator: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    doors.quote(sent=True)
    set_shop(booth_rate=Decimal(150))
    assert rows(as_(estimator))[0]["cost"].endswith(" % up")
    may = User.has_perm
    monkeypatch.setattr(User, "has_perm", lambda self, perm, obj=None: perm != "costing.see_costs" and may(self, perm, obj))
    assert "cost" not in rows(as_(estimator))[0]


def test_drafts_and_answers_are_not_listed(doors: DoorShop) -> None:
    doors.quote()
    decline_quote(quote=doors.quote(sent=True), reason="Price", on=TODAY())
    assert not awaiting_answer().exists()


def test_the_earliest_reminder_comes_first_and_no_reminder_last(doors: DoorShop) -> None:
    none, late, early = doors.quote(sent=True), doors.quote(sent=True), doors.quote(sent=True)
    for quote, days in ((late, 5), (early, 2)):
        plan_follow_up(quote=quote, on=TODAY() + timedelta(days=days), note="", today=TODAY())
    assert [quote.pk for quote in awaiting_answer()] == [early.pk, late.pk, none.pk]


def test_the_estimator_sets_a_day_with_a_note(doors: DoorShop, as_: Browser, estimator: User) -> None:
    quote, browser, on = doors.quote(sent=True), as_(estimator), TODAY() + timedelta(days=3)
    url = reverse("quote_follow_up", args=[quote.pk])
    browser.post(url, {"follow_up_on": on.isoformat(), "follow_up_note": "Ask about the colour"})
    (row,) = rows(browser)
    assert row["follow_up_on"] == f"{show.day(on)}: Ask about the colour"
    browser.post(url, {"follow_up_on": "", "follow_up_note": ""})
    assert rows(browser)[0]["follow_up_on"] == show.NOTHING


def test_a_day_in_the_past_is_refused_at_its_field(doors: DoorShop, as_: Browser, estimator: User) -> None:
    quote = doors.quote(sent=True)
    past = (TODAY() - timedelta(days=1)).isoformat()
    page = as_(estimator).post(reverse("quote_follow_up", args=[quote.pk]), {"follow_up_on": past, "follow_up_note": "Typed"})
    assert page.status_code == 422
    assert "Choose a day from" in page.context["follow_up"].errors["follow_up_on"][0]
    assert "Typed" in page.text
    assert Quote.objects.get(pk=quote.pk).follow_up_on is None


def test_a_day_that_has_come_may_stay_while_the_note_changes(doors: DoorShop) -> None:
    quote, on = doors.quote(sent=True), TODAY()
    plan_follow_up(quote=quote, on=on, note="First", today=on)
    kept = plan_follow_up(quote=quote, on=on, note="Second", today=on + timedelta(days=2))
    assert (kept.follow_up_on, kept.follow_up_note) == (on, "Second")


def test_a_note_needs_a_day(doors: DoorShop) -> None:
    with pytest.raises(QuoteError, match="Give the day"):
        plan_follow_up(quote=doors.quote(sent=True), on=None, note="Ask", today=TODAY())


def test_only_a_sent_quote_is_followed_up(doors: DoorShop) -> None:
    with pytest.raises(QuoteStateError, match="awaits no answer"):
        plan_follow_up(quote=doors.quote(), on=TODAY(), note="", today=TODAY())


def test_an_empty_list_says_when_a_quote_comes_here(as_: Browser, estimator: User) -> None:
    assert "No customer owes an answer" in as_(estimator).get(reverse("follow_ups")).text


@pytest.mark.parametrize("name", ["follow_ups", "quote_follow_up"])
def test_it_is_not_for_the_finisher(doors: DoorShop, as_: Browser, finisher: User, name: str) -> None:
    quote = doors.quote(sent=True)
    browser = as_(finisher)
    answer = browser.get(reverse(name)) if name == "follow_ups" else browser.post(reverse(name, args=[quote.pk]))
    assert answer.status_code == 403
