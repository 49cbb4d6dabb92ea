"""The list of lots: states, filters, order."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Lot, Material
from inventory.services.lots import open_lot, quarantine_lot
from tests.inventory.pages.shop import Shelf, person, words


@pytest.fixture
def lots(clear: Material, liner: Material, shelf: Shelf, today: date) -> dict[str, Lot]:
    """One lot in each state; the warning is 30 days ahead, the open life 30 days."""
    made = {
        "FRESH": shelf.lot(clear, "1", number="FRESH", expires_in=31),
        "SOON": shelf.lot(clear, "2", number="SOON", expires_in=30),
        "TODAY": shelf.lot(clear, "3", number="TODAY", expires_in=0),
        "LATE": shelf.lot(clear, "4", number="LATE", expires_in=-1),
        "OPEN": shelf.lot(clear, "5", number="OPEN", expires_in=200, came=40),
        "STALE": shelf.lot(clear, "6", number="STALE", expires_in=200, came=40),
        "APART": shelf.lot(clear, "7", number="APART", expires_in=90),
        "EVER": shelf.lot(liner, "50", number="EVER", expires_in=None),
        "GONE": shelf.lot(clear, "1", number="GONE", expires_in=90, came=1),
    }
    open_lot(lot=made["OPEN"], on=today - timedelta(days=30), by=person("office"))
    open_lot(lot=made["STALE"], on=today - timedelta(days=31), by=person("office"))
    quarantine_lot(lot=made["APART"], reason="dented", by=person("office"))
    shelf.take(clear, "1", lot=made["GONE"])
    return made


def listed(client: Client, **query: Any) -> set[str]:
    response = client.get(reverse("lots", query=query))
    assert response.status_code == 200
    return {row.record.number for row in response.context["table"].rows}


EVERY = {"FRESH", "SOON", "TODAY", "LATE", "OPEN", "STALE", "APART", "EVER"}


@pytest.mark.parametrize(
    ("query", "numbers"),
    [
        ({}, EVERY),
        ({"state": "fresh"}, {"FRESH", "EVER"}),
        ({"state": "soon"}, {"SOON", "TODAY", "OPEN"}),
        ({"state": "expired"}, {"LATE", "STALE"}),
        ({"state": "quarantined"}, {"APART"}),
        ({"state": "opened"}, {"OPEN", "STALE"}),
        ({"stock": "no"}, {"GONE"}),
        ({"stock": "all"}, EVERY | {"GONE"}),
        ({"text": "cup"}, {"EVER"}),
        ({"text": "sta"}, {"STALE"}),
        ({"text": "shelf 3", "state": "soon"}, set()),
    ],
)
def test_it_filters_by_state_stock_and_text(
    query: dict[str, str], numbers: set[str], office: Client, lots: dict[str, Lot]
) -> None:
    assert listed(office, **query) == numbers


def test_it_filters_by_material(office: Client, lots: dict[str, Lot], liner: Material) -> None:
    assert listed(office, material=liner.pk) == {"EVER"}


def test_each_lot_carries_its_state_in_words(office: Client, lots: dict[str, Lot]) -> None:
    page = words(office.get(reverse("lots")))
    for said in (
        "LATE Clear coat expired",
        "SOON Clear coat expires soon",
        "TODAY Clear coat expires soon",
        "STALE Clear coat expired opened",
        "APART Clear coat in quarantine",
        "FRESH Clear coat fresh",
        "EVER Cup liner fresh",
    ):
        assert said in page


def test_the_filter_and_the_badge_agree(office: Client, lots: dict[str, Lot]) -> None:
    for state, badge in (("soon", "expires soon"), ("expired", "expired"), ("fresh", "fresh")):
        for number in listed(office, state=state):
            shown = words(office.get(lots[number].get_absolute_url()))
            assert badge in shown, (state, number)


def test_an_open_life_of_absurd_length_harms_nothing(office: Client, clear: Material, shelf: Shelf, today: date) -> None:
    lot = shelf.lot(clear)
    open_lot(lot=lot, on=today, by=person("office"))
    Material.objects.filter(pk=clear.pk).update(open_life_days=2_000_000_000)
    assert listed(office, state="fresh") == {"A-1"}
    assert office.get(lot.get_absolute_url()).status_code == 200


@pytest.mark.parametrize(
    "query", [{"state": "rotten"}, {"material": "99999999999999999999"}, {"material": "x"}, {"page": "-1"}, {"sort": "x"}]
)
def test_a_mistyped_address_shows_a_list_all_the_same(query: dict[str, str], office: Client, lots: dict[str, Lot]) -> None:
    assert listed(office, **query) == EVERY


def test_an_empty_shop_is_told_what_to_do_first(office: Client) -> None:
    page = office.get(reverse("lots"))
    assert "No lots yet" in words(page)
    assert reverse("receive") in page.text
