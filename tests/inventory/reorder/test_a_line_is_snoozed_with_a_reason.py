"""A line can be put off with a reason and an end day; it is neither ordered nor counted, and that can be taken back."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from finishing.models import User
from inventory.errors import DayError, TextError
from inventory.models import Material, PurchaseOrder, Snooze
from inventory.reorder import reorder_list
from inventory.selectors_orders import in_drafts
from inventory.services.snoozing import SnoozeError, end_snooze, snooze
from inventory.to_order import to_order
from tests.inventory.reorder.shelf import deliver

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def desk(client: Client, office: User) -> Client:
    client.force_login(office)
    return client


def put_off(material: Material, by: User, today: date, *, days: int = 10) -> Snooze:
    return snooze(material=material, until=today + timedelta(days=days), reason=" A rival sends a sample. ", by=by, today=today)


def test_a_snoozed_line_is_neither_listed_nor_counted(clear: Material, office: User, today: date) -> None:
    assert to_order(reorder_list(today=today), in_drafts()).materials == 1
    kept = put_off(clear, office, today)
    found = reorder_list(today=today)
    assert (found.orders, found.enough, found.unbuyable) == ((), (), ())
    assert [one.snooze for one in found.snoozed] == [kept]
    assert kept.reason == "A rival sends a sample."
    left = to_order(found, in_drafts())
    assert (left.materials, left.amount) == (0, 0)


def test_it_comes_back_the_day_after(clear: Material, office: User, today: date) -> None:
    put_off(clear, office, today, days=3)
    assert reorder_list(today=today + timedelta(days=3)).orders == ()
    assert len(reorder_list(today=today + timedelta(days=4)).orders) == 1


def test_taking_it_back_keeps_who_and_when(clear: Material, office: User, today: date) -> None:
    owner = User.objects.create_user("owner", is_owner=True)
    ended = end_snooze(snooze=put_off(clear, office, today), by=owner, today=today)
    assert (ended.ended_on, ended.ended_by, ended.by) == (today, owner, office)
    assert len(reorder_list(today=today).orders) == 1
    with pytest.raises(SnoozeError, match="Clear is not put off any more"):
        end_snooze(snooze=ended, by=owner, today=today)


def test_one_that_ran_out_makes_room_for_the_next(clear: Material, office: User, today: date) -> None:
    first = put_off(clear, office, today, days=3)
    later = today + timedelta(days=9)
    second = put_off(clear, office, later)
    first.refresh_from_db()
    assert (first.ended_on, first.ended_by) == (today + timedelta(days=3), None)
    assert list(Snooze.objects.all()) == [second, first]


def test_the_second_person_is_told_of_the_first(clear: Material, office: User, today: date) -> None:
    put_off(clear, office, today)
    with pytest.raises(SnoozeError, match="office has put it off already"):
        put_off(clear, User.objects.create_user("owner", is_owner=True), today)


@pytest.mark.parametrize(
    ("days", "reason", "error"), [(-1, "x", DayError), (367, "x", DayError), (1, "  ", TextError), (1, "x" * 201, TextError)]
)
def test_nonsense_is_refused(clear: Material, office: User, today: date, days: int, reason: str, error: type[Exception]) -> None:
    with pytest.raises(error):
        snooze(material=clear, until=today + timedelta(days=days), reason=reason, by=office, today=today)
    assert not Snooze.objects.exists()


@pytest.mark.database
def test_the_database_keeps_one_open_snooze_a_material(clear: Material, office: User, today: date) -> None:
    put_off(clear, office, today)
    for until, reason in ((today, "again"), (today - timedelta(days=1), "over"), (today, "")):
        with pytest.raises(IntegrityError), transaction.atomic():
            Snooze.objects.create(material=clear, reason=reason, from_day=today, until=until, by=office)


def test_the_page_lists_it_and_takes_it_back(desk: Client, clear: Material, today: date) -> None:
    until = today + timedelta(days=10)
    assert f'href="{reverse("reorder_snooze", args=[clear.pk])}"' in desk.get(reverse("reorder_list")).text
    answer = desk.post(reverse("reorder_snooze", args=[clear.pk]), {"reason": "Waits for the new shade", "until": until})
    assert answer.url == reverse("reorder_list")
    page = desk.get(reverse("reorder_list")).text
    for words in ("Snoozed", "Waits for the new shade", "Take it back", "runs short meanwhile"):
        assert words in page, words
    assert "5 L can" not in page
    kept = Snooze.objects.get()
    desk.post(reverse("reorder_snooze_end", args=[kept.pk]))
    assert "5 L can" in desk.get(reverse("reorder_list")).text
    history = desk.get(reverse("reorder_snoozes")).text
    assert "Waits for the new shade" in history
    assert "taken back" in history


def test_stock_that_lasts_as_long_is_not_warned_of(desk: Client, clear: Material, office: User, today: date) -> None:
    deliver(clear, "5", by=office)
    put_off(clear, office, today, days=5)
    assert "runs short meanwhile" not in desk.get(reverse("reorder_list")).text


def test_what_is_typed_stays_beside_its_error(desk: Client, clear: Material, today: date) -> None:
    yesterday = today - timedelta(days=1)
    answer = desk.post(reverse("reorder_snooze", args=[clear.pk]), {"reason": "Kept words", "until": yesterday})
    assert answer.status_code == 422
    assert "is over. Give" in answer.text
    assert "Kept words" in answer.text
    empty = desk.post(reverse("reorder_snooze", args=[clear.pk]), {}).text
    assert "Say in a few words why it is not ordered now." in empty
    assert "Choose the last day." in empty


def test_a_list_shown_before_still_orders_what_was_asked_for(desk: Client, clear: Material, office: User, today: date) -> None:
    """Somebody snoozes the line while another has the list open: what that person sends is that person's word."""
    put_off(clear, office, today)
    pack = clear.packs.get()
    desk.post(reverse("reorder_order"), {"key": str(uuid.uuid4()), f"packs-{pack.pk}": "2"})
    assert PurchaseOrder.objects.get().lines.get().packs == 2


def test_only_buyers_put_off(client: Client, clear: Material, office: User, today: date) -> None:
    kept = put_off(clear, office, today)
    client.force_login(User.objects.create_user("finisher", is_finisher=True))
    assert client.get(reverse("reorder_snooze", args=[clear.pk])).status_code == 403
    assert client.get(reverse("reorder_snoozes")).status_code == 403
    assert client.post(reverse("reorder_snooze_end", args=[kept.pk])).status_code == 403
