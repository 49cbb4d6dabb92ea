"""The page of the expiry board: what it says to whom, and writing off from it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from finishing.roles import Role, permissions_of
from finishing.show import day
from inventory.choices import PostingKind
from inventory.models import Location, Lot, Material, Posting
from inventory.services.bookings import book
from tests.inventory.ledger.counter import Counter, on_hand
from tests.inventory.pages.shop import booked, errors, key, words

pytestmark = pytest.mark.django_db
D = Decimal
BOARD = "expiry_board"


@pytest.fixture
def old(counter: Counter, clear: Material, shelf_a: Location, today: date) -> Lot:
    return counter.receive(
        clear, "4", cost="20", number="OLD", on=today - timedelta(days=90), expires_on=today - timedelta(days=1), location=shelf_a
    )


@pytest.fixture
def ending(counter: Counter, clear: Material, today: date) -> Lot:
    return counter.receive(
        clear, "6", cost="30", number="END", on=today - timedelta(days=90), expires_on=today + timedelta(days=9)
    )


def send(client: Client, *lots: Lot, **data: str) -> object:
    sent = {"key": key(), "reason": "Out of date.", "disposal": "Collection 12", "lots": [lot.pk for lot in lots], **data}
    return client.post(reverse(BOARD), sent, follow=True)


def test_it_says_what_ends_what_it_is_worth_and_which_job_can_use_it(
    office: Client, old: Lot, ending: Lot, clear: Material, today: date
) -> None:
    book(material=clear, quantity=D(2), needed_on=today + timedelta(days=3), holder="Kitchen")
    book(material=clear, quantity=D(1), needed_on=today + timedelta(days=30), holder="Bench")
    page = words(office.get(reverse(BOARD)))
    assert "Out of date now 1 lot $80.00 Ends in the weeks shown 1 lot $180.00 Expected to expire unused $120.00" in page
    assert f"Clear coat, lot OLD Shelf A {day(old.expires_on)} 4 L $80.00" in page
    assert (
        f"Clear coat, lot END {day(ending.expires_on)} 6 L $180.00 2 L for Kitchen, needed {day(today + timedelta(days=3))}"
        f" If done earlier: Bench, which needs 1 L on {day(today + timedelta(days=30))} – 4 L $120.00"
    ) in page


def test_a_shop_where_nothing_ends_is_told_so(office: Client, clear: Material) -> None:
    page = words(office.get(reverse(BOARD)))
    assert "Nothing goes out of date soon" in page
    assert "Write off the chosen lots" not in page


def test_chosen_lots_are_written_off_and_the_board_says_so(office: Client, old: Lot, ending: Lot) -> None:
    page = words(send(office, old))
    posting = Posting.objects.get(kind=PostingKind.WRITE_OFF)
    assert f"1 lot is written off: {posting}." in page
    assert "Nothing in stock is out of date." in page
    assert posting.reason == "Out of date. Disposal: Collection 12"
    assert (on_hand(old), on_hand(ending)) == (0, 6)
    assert "Out of date. Disposal: Collection 12" in words(office.get(old.get_absolute_url()))


def test_the_allowance_it_adds_to_prices_is_shown_with_its_numbers(
    office: Client, old: Lot, ending: Lot, counter: Counter, clear: Material
) -> None:
    assert "so estimates add nothing" in words(office.get(reverse(BOARD)))
    counter.issue(clear, "4", lot=ending)
    page = words(send(office, old))
    assert "Clear coat 40 % x = lost / (used + lost)" in page
    assert "at the lots’ cost $80.00" in page
    assert "at the lots’ cost $120.00" in page


@pytest.mark.parametrize(
    ("data", "field", "told"),
    [
        ({"disposal": " "}, "disposal", "Say how it leaves the shop."),
        ({"reason": ""}, "reason", "Say why it is written off."),
        ({"reason": "x" * 121}, "reason", "Keep this to 120"),
        ({"lots": "999999"}, "lots", "can’t be chosen"),
        ({"lots": "nothing"}, "lots", "can’t be chosen"),
        ({"key": "no key"}, "key", ""),
    ],
)
def test_what_is_wrong_stands_at_its_field_and_what_was_typed_stays(
    office: Client, old: Lot, data: dict[str, str], field: str, told: str
) -> None:
    before = booked()
    response = send(office, old, **{"disposal": "To the yard", **data})
    assert told in errors(response)[field][0]
    assert booked() == before
    if field not in ("lots", "disposal"):
        assert f'value="{old.pk}" id="lot-{old.pk}"' in response.text
        assert response.text.count(" checked") == 1
    if field != "disposal":
        assert 'value="To the yard"' in response.text


def test_a_lot_that_is_good_or_gone_is_refused_in_words(
    office: Client, old: Lot, ending: Lot, counter: Counter, today: date
) -> None:
    before = booked()
    assert "Lot END is not out of date" in errors(send(office, old, ending))["lots"][0]
    assert booked() == before
    counter.write_off(old, "4")
    response = send(office, old)
    assert "Lot OLD is used up by now" in words(response)


def test_no_lot_chosen_is_told(office: Client, old: Lot) -> None:
    assert "Choose at least one lot." in errors(send(office))["lots"][0]


@pytest.mark.parametrize("role", list(Role))
def test_who_may_see_it_and_who_may_write_off(role: Role, as_role: Callable[[str], Client], old: Lot, ending: Lot) -> None:
    """Everybody sees the board; only those who may write off get the boxes; money is for those who may see costs."""
    allowed = permissions_of(frozenset({role}))
    client = as_role(role)
    page = client.get(reverse(BOARD))
    assert page.status_code == 200
    assert (f'id="lot-{old.pk}"' in page.text) == ("inventory.write_off" in allowed)
    assert ("$" in page.text) == ("costing.see_costs" in allowed)
    assert "lot OLD" in page.text
    before = booked()
    response = client.post(reverse(BOARD), {"key": key(), "reason": "x", "disposal": "y", "lots": [old.pk]})
    assert response.status_code == (302 if "inventory.write_off" in allowed else 403)
    assert (booked() == before) == ("inventory.write_off" not in allowed)


def test_a_stranger_is_sent_to_the_sign_in_page() -> None:
    assert Client().get(reverse(BOARD)).url.startswith(reverse("login"))


def test_the_page_asks_as_often_for_many_lots_as_for_few(office: Client, counter: Counter, clear: Material, today: date) -> None:
    def fill(first: int, last: int) -> None:
        for number in range(first, last):
            material = Material.objects.create(code=f"M{number}", name=f"M{number}", kind="coating")
            for days in (-2, 3):
                lot = counter.receive(
                    material,
                    "4",
                    number=f"{number}/{days}",
                    on=today - timedelta(days=50),
                    expires_on=today + timedelta(days=days),
                    accept_expired_reason="for a test",
                    location=Location.objects.create(name=f"Place {number}/{days}"),
                )
            counter.issue(material, "1", lot=lot)
            counter.write_off(lot, "1", cause="expired")
            book(material=material, quantity=D(4), needed_on=today, holder="Job")

    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert "Job" in office.get(reverse(BOARD)).text
        return len(captured)

    fill(0, 3)
    queries()  # the first page of a process reads what later pages have in memory
    few = queries()
    fill(3, 15)
    assert queries() == few <= 15
