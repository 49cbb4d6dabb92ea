"""Another number of packs is answered at once with days of cover and expected expiry, with script and without."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from finishing import show
from finishing.models import User
from inventory.models import Material, Pack, PurchaseOrder
from inventory.services.bookings import book
from tests.inventory.reorder.shelf import deliver

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def clear(clear: Material) -> Material:
    """Two litres a week."""
    clear.weekly_use = D(2)
    clear.save()
    return clear


@pytest.fixture
def desk(client: Client, office: User) -> Client:
    client.force_login(office)
    return client


def cover(desk: Client, material: Material, **packs: object) -> str:
    box = f"packs-{Pack.objects.get(material=material).pk}"
    return desk.get(reverse("reorder_cover", args=[material.pk]), {box: packs.get("count", "")}).text


def posted(desk: Client, material: Material, count: str, **more: str) -> tuple[int, str]:
    data = {"key": str(uuid.uuid4()), f"packs-{Pack.objects.get(material=material).pk}": count, **more}
    answer = desk.post(reverse("reorder_order"), data)
    return answer.status_code, answer.text


def test_more_packs_last_longer(desk: Client, clear: Material, today: date) -> None:
    # nothing on hand, 2 L a week; what is ordered today comes in 7 days, when 2 L have gone short.
    # 10 L then last for 8 / 2 weeks from there on: days 7 to 34.
    assert f"With 10 L for $218.00 it lasts until {show.day(today + timedelta(days=34))}, 35 days of cover." in cover(
        desk, clear, count=2
    )
    assert "70 days of cover" in cover(desk, clear, count=4)
    assert f"Short from {show.day(today)} on until it is here on {show.day(today + timedelta(days=7))}." in cover(
        desk, clear, count=2
    )


def test_what_would_go_out_of_date_is_told_with_its_money(desk: Client, clear: Material) -> None:
    clear.shelf_life_days = 60
    clear.save()
    assert "None of it is expected to go out of date." in cover(desk, clear, count=2)
    # 60 days at 2 L a week use 17.143 L of 50 L: 32.857 L spoil, at 21.80 a litre
    assert "32.857 L of it, $716.29, is expected to go out of date unused." in cover(desk, clear, count=10)


def test_nothing_bought_says_when_it_runs_short(desk: Client, clear: Material) -> None:
    assert "Without an order it is short from today on." in cover(desk, clear, count=0)


def test_what_is_on_hand_lasts_its_days_without_an_order(desk: Client, clear: Material, office: User, today: date) -> None:
    deliver(clear, "1", by=office)
    # 1 L at 2 / 7 L a day: the fourth day takes more than there is
    text = cover(desk, clear, count=0)
    assert f"Without an order it lasts until {show.day(today + timedelta(days=2))}, 3 days of cover." in text
    assert f"An order of today can be here on {show.day(today + timedelta(days=7))}." in text


def test_a_number_that_can_t_be_read_is_told(desk: Client, clear: Material) -> None:
    text = cover(desk, clear, count="two")
    assert "Write a whole number of packs." in text
    assert "of cover" not in text


def test_without_script_a_button_says_it_and_nothing_typed_is_lost(desk: Client, clear: Material) -> None:
    status, text = posted(desk, clear, "4", look="1")
    assert status == 200
    assert "70 days of cover" in text
    assert 'value="4"' in text
    assert not PurchaseOrder.objects.exists()


def test_a_bad_number_stays_in_its_box(desk: Client, clear: Material) -> None:
    status, text = posted(desk, clear, "two", look="1")
    assert status == 422
    assert 'value="two"' in text
    assert "Write a whole number of packs." in text


def test_packs_in_a_draft_are_counted(desk: Client, clear: Material) -> None:
    posted(desk, clear, "2")
    assert "With 10 L for $218.00 (drafts counted)" in desk.get(reverse("reorder_list")).text
    assert "With 15 L for $327.00 (drafts counted)" in cover(desk, clear, count=1)


def test_a_booking_shortens_what_it_covers(desk: Client, clear: Material, today: date) -> None:
    book(material=clear, quantity=D(5), needed_on=today + timedelta(days=10), holder="J-1")
    # in the second week 5 L are booked in place of the 2 L that were expected
    assert "24 days of cover" in cover(desk, clear, count=2)


def test_only_buyers_ask(client: Client, clear: Material) -> None:
    client.force_login(User.objects.create_user("finisher", is_finisher=True))
    for name in ("reorder_cover", "reorder_chart"):
        assert client.get(reverse(name, args=[clear.pk])).status_code == 403
