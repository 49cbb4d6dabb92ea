"""The open life begins on the day a container is opened: by hand, by a tick on the issue, or by the first issue."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from finishing.models import User
from finishing.show import day
from inventory.choices import LotEventKind, PostingKind
from inventory.core.lots import next_container
from inventory.errors import LotStateError, NotEnoughStockError, StockError
from inventory.models import Location, Lot, LotEvent, Material, Posting
from inventory.services import ledger
from inventory.services.opening import open_container
from tests.inventory.ledger.counter import Counter, on_hand
from tests.inventory.pages.shop import errors, key, words

pytestmark = [pytest.mark.django_db, pytest.mark.database]
D = Decimal


@pytest.fixture
def four_cans(counter: Counter, clear: Material, shelf_a: Location, today: date) -> Lot:
    """20 L in four cans, good for another 300 days."""
    return counter.receive(
        clear, "20", on=today - timedelta(days=9), location=shelf_a, containers=4, expires_on=today + timedelta(days=300)
    )


def issue(client: Client, material: Material, **data: str) -> object:
    sent = {"key": key(), "quantity": "1", "reference": "Job 7", "lot": "", "on": data.pop("on"), **data}
    return client.post(reverse("stock_issue", query={"material": material.pk}), sent, follow=True)


# ---------------------------------------------------------------- one container of several


def test_the_opened_can_becomes_a_lot_of_its_own_and_the_others_keep_their_date(four_cans: Lot, by: User, today: date) -> None:
    opened = open_container(key=uuid4(), by=by, on=today, lot=four_cans, quantity=D(5))
    rest = Lot.objects.with_state().get(pk=four_cans.pk)
    opened = Lot.objects.with_state().get(pk=opened.pk)
    assert (rest.on_hand, rest.opened_on, rest.usable_until) == (15, None, today + timedelta(days=300))
    assert (opened.on_hand, opened.opened_on, opened.usable_until) == (5, today, today + timedelta(days=30))
    assert (opened.number, opened.location, opened.split_from, opened.containers) == ("A1", rest.location, rest, 1)
    event = LotEvent.objects.get()
    assert (event.lot, event.kind, event.by, event.on) == (opened, LotEventKind.OPENED, by, today)


def test_the_opened_can_is_used_first(four_cans: Lot, by: User, counter: Counter, today: date) -> None:
    opened = open_container(key=uuid4(), by=by, on=today, lot=four_cans, quantity=D(5))
    counter.issue(four_cans.material, "6")
    assert (on_hand(opened), on_hand(four_cans)) == (0, 14)


def test_the_last_can_opens_the_lot_itself(four_cans: Lot, by: User, today: date) -> None:
    for _ in range(3):
        open_container(key=uuid4(), by=by, on=today, lot=four_cans, quantity=D(5))
    assert open_container(key=uuid4(), by=by, on=today, lot=four_cans, quantity=D(5)) == four_cans
    assert Lot.objects.filter(opened_on=today, on_hand=5).count() == 4


def test_the_same_form_opens_one_can(four_cans: Lot, by: User, today: date, counter: Counter) -> None:
    counter.issue(four_cans.material, "10")
    form = uuid4()
    first = open_container(key=form, by=by, on=today, lot=four_cans, quantity=D(5))
    assert open_container(key=form, by=by, on=today, lot=four_cans, quantity=D(5)) == first
    assert (on_hand(four_cans), Lot.objects.count()) == (5, 2)


def test_reversing_the_parting_closes_the_can_again(four_cans: Lot, by: User, today: date, counter: Counter) -> None:
    opened = open_container(key=uuid4(), by=by, on=today, lot=four_cans, quantity=D(5))
    counter.reverse(Posting.objects.get(kind=PostingKind.TRANSFER))
    opened.refresh_from_db()
    assert (on_hand(four_cans), opened.on_hand, opened.opened_on) == (20, 0, None)


def test_more_than_there_is_and_what_is_open_are_refused(four_cans: Lot, by: User, today: date) -> None:
    with pytest.raises(NotEnoughStockError):
        open_container(key=uuid4(), by=by, on=today, lot=four_cans, quantity=D(21))
    opened = open_container(key=uuid4(), by=by, on=today, lot=four_cans, quantity=D(5))
    for quantity in (D(5), D(2)):
        with pytest.raises(LotStateError, match="was opened on"):
            open_container(key=uuid4(), by=by, on=today, lot=opened, quantity=quantity)
    assert Lot.objects.count() == 2


@pytest.mark.parametrize(
    ("on_hand", "came", "containers", "expected"),
    [("20", "20", 4, "5"), ("19", "20", 4, "4"), ("3", "20", 4, "3"), ("7", "7", 1, "7")],
)
def test_the_likely_content_is_what_was_begun_or_a_full_one(on_hand: str, came: str, containers: int, expected: str) -> None:
    assert next_container(on_hand=D(on_hand), came=D(came), containers=containers) == D(expected)


def test_the_page_asks_for_one_can_and_offers_what_it_likely_holds(
    finisher: Client, four_cans: Lot, counter: Counter, today: date
) -> None:
    counter.issue(four_cans.material, "6")
    address = reverse("lot_open", args=[four_cans.pk])
    page = finisher.get(address)
    assert "came in 4 containers" in words(page)
    assert page.context["form"]["quantity"].value() == "4"
    assert list(errors(finisher.post(address, {"key": key(), "quantity": "15", "on": today}))) == ["quantity"]
    done = words(finisher.post(address, {"key": key(), "quantity": "4", "on": today}, follow=True))
    assert f"4 L of lot A1 counts as opened on {day(today)}. Usable until: {day(today + timedelta(days=30))}." in done
    assert on_hand(four_cans) == 10


# ---------------------------------------------------------------- by an issue


def test_a_tick_on_the_issue_opens_the_lot_on_that_day(finisher: Client, counter: Counter, clear: Material, today: date) -> None:
    lot = counter.receive(clear, "5", on=today - timedelta(days=9))
    day_of_issue = today - timedelta(days=2)
    issue(finisher, clear, on=day_of_issue.isoformat(), opens="on")
    lot = Lot.objects.with_state().get()
    assert (lot.on_hand, lot.opened_on, lot.usable_until) == (4, day_of_issue, day_of_issue + timedelta(days=30))
    event = LotEvent.objects.get()
    assert (event.kind, event.posting) == (LotEventKind.OPENED, Posting.objects.get(kind=PostingKind.ISSUE))


def test_without_the_tick_nothing_is_opened(finisher: Client, counter: Counter, clear: Material, today: date) -> None:
    counter.receive(clear, "5")
    issue(finisher, clear, on=today.isoformat())
    assert (Lot.objects.get().on_hand, Lot.objects.get().opened_on) == (4, None)


def test_a_lot_in_several_cans_is_not_opened_as_a_whole(finisher: Client, four_cans: Lot, today: date) -> None:
    refused = issue(finisher, four_cans.material, on=today.isoformat(), opens="on")
    assert "came in 4 containers" in errors(refused)["opens"][0]
    four_cans.refresh_from_db()
    assert (four_cans.on_hand, four_cans.opened_on) == (20, None)


def test_the_tick_is_offered_only_where_it_means_something(
    finisher: Client, counter: Counter, clear: Material, by: User, today: date
) -> None:
    address = reverse("stock_issue", query={"material": clear.pk})
    assert "opens" not in finisher.get(address).context["form"].fields  # nothing in stock
    counter.receive(clear, "5")
    assert "It can then be used for 30 days" in words(finisher.get(address))
    counter.issue(clear, "1", opens=True)
    assert "opens" not in finisher.get(address).context["form"].fields  # what is there is open
    counter.receive(clear, "5")
    Material.objects.update(opens_on_issue=True)
    page = finisher.get(address)
    assert "opens" not in page.context["form"].fields
    assert "The first issue from a lot opens its container" in words(page)
    Material.objects.update(opens_on_issue=False, open_life_days=None)
    assert "opens" not in finisher.get(address).context["form"].fields


def test_the_first_issue_opens_where_the_material_says_so(counter: Counter, clear: Material, today: date) -> None:
    clear.opens_on_issue = True
    clear.save()
    lot = counter.receive(clear, "5", on=today - timedelta(days=9))
    several = counter.receive(clear, "20", containers=4, on=today - timedelta(days=9), expires_on=today)
    counter.issue(clear, "1", lot=lot, on=today - timedelta(days=5))
    counter.issue(clear, "1", lot=lot)
    counter.issue(clear, "1", lot=several)
    lot.refresh_from_db()
    several.refresh_from_db()
    assert (lot.opened_on, several.opened_on) == (today - timedelta(days=5), None)


def test_reversing_the_issue_that_opened_it_closes_it_unless_more_was_taken(
    counter: Counter, clear: Material, today: date
) -> None:
    lot = counter.receive(clear, "5")
    first = counter.issue(clear, "1", opens=True)
    counter.issue(clear, "1")
    counter.reverse(first)
    lot.refresh_from_db()
    assert lot.opened_on == today  # the second issue took from it, so it is open

    other = counter.receive(clear, "5", number="A2")
    counter.reverse(counter.issue(clear, "1", lot=other, opens=True))
    other.refresh_from_db()
    assert other.opened_on is None


def test_the_same_issue_sent_twice_opens_once_and_another_tick_is_another_form(
    counter: Counter, clear: Material, by: User, today: date
) -> None:
    counter.receive(clear, "5")
    form = uuid4()
    line = ledger.IssueLine(material=clear, quantity=D(1))
    sent = {"key": form, "by": by, "on": today, "lines": [line], "reference": "job"}
    first = ledger.issue(**sent, opens=True)
    assert ledger.issue(**sent, opens=True) == first
    assert LotEvent.objects.count() == 1
    with pytest.raises(StockError, match="with other figures"):
        ledger.issue(**sent, opens=False)
