"""The page of a lot: until when and why, its value, and what can be done with it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from finishing.show import day
from inventory.models import Location, Lot, LotEvent, Material
from inventory.services.lots import open_lot, quarantine_lot
from tests.inventory.pages.shop import Shelf, errors, key, person, words


@pytest.fixture
def lot(clear: Material, shelf: Shelf) -> Lot:
    return shelf.lot(clear, "8", cost="20.5")


def at(name: str, lot: Lot) -> str:
    return reverse(name, args=[lot.pk])


def test_it_is_usable_until_its_expiry_date(office: Client, lot: Lot) -> None:
    page = words(office.get(lot.get_absolute_url()))
    assert f"Usable until {day(lot.expires_on)} That is its expiry date." in page
    assert "Value $164.00 $20.50 per L" in page
    assert "+8 L" in page


def test_an_opened_lot_is_usable_until_its_open_life_ends(office: Client, lot: Lot, today: date) -> None:
    opened = today - timedelta(days=5)
    open_lot(lot=lot, on=opened, by=person("finisher"))
    page = words(office.get(lot.get_absolute_url()))
    until = day(opened + timedelta(days=30))
    assert f"Usable until {until} It was opened on {day(opened)}; the open life is 30 days." in page
    assert "Opened " in page
    assert "Finisher Person" in page


def test_a_lot_without_a_date_says_so(office: Client, liner: Material, shelf: Shelf) -> None:
    assert "It has no expiry date." in words(office.get(shelf.lot(liner, expires_in=None).get_absolute_url()))


def test_a_finisher_opens_a_container_once(finisher: Client, lot: Lot, today: date) -> None:
    page = words(finisher.post(at("lot_open", lot), {"on": today.isoformat()}, follow=True))
    lot.refresh_from_db()
    assert lot.opened_on == today
    assert f"Usable until: {day(today + timedelta(days=30))}." in page
    response = finisher.post(at("lot_open", lot), {"on": today.isoformat()})
    assert "already" in str(errors(response))
    assert LotEvent.objects.count() == 1


@pytest.mark.parametrize(("days", "told"), [(1, "has not come yet"), (-11, "too early"), (-20_000, "too far back")])
def test_it_is_not_opened_on_a_day_that_cannot_be(days: int, told: str, finisher: Client, lot: Lot, today: date) -> None:
    response = finisher.post(at("lot_open", lot), {"on": (today + timedelta(days=days)).isoformat()})
    assert told in errors(response)["on"][0]
    assert not LotEvent.objects.exists()


def test_a_day_that_is_no_day_is_told_at_its_field(finisher: Client, lot: Lot) -> None:
    response = finisher.post(at("lot_open", lot), {"on": "yesterday"})
    assert list(errors(response)) == ["on"]
    assert response.context["form"]["on"].value() == "yesterday"


def test_it_is_set_aside_with_a_reason_and_freed_again(office: Client, lot: Lot) -> None:
    page = words(office.post(at("lot_quarantine", lot), {"reason": "lid was dented"}, follow=True))
    lot.refresh_from_db()
    assert lot.is_quarantined
    assert "In quarantine: lid was dented" in page
    office.post(at("lot_release", lot), follow=True)
    lot.refresh_from_db()
    assert not lot.is_quarantined
    assert "already" not in str(errors(office.post(at("lot_release", lot))))
    assert "is not in quarantine" in str(errors(office.post(at("lot_release", lot))))


@pytest.mark.parametrize("reason", ["", "   ", "x" * 201])
def test_setting_aside_needs_a_reason_that_fits(reason: str, office: Client, lot: Lot) -> None:
    assert list(errors(office.post(at("lot_quarantine", lot), {"reason": reason}))) == ["reason"]
    lot.refresh_from_db()
    assert not lot.is_quarantined


def test_a_lot_in_quarantine_is_not_set_aside_again(office: Client, lot: Lot) -> None:
    quarantine_lot(lot=lot, reason="dented", by=person("office"))
    assert "already" in str(errors(office.post(at("lot_quarantine", lot), {"reason": "again"})))


def test_its_place_is_noted(finisher: Client, lot: Lot, today: date) -> None:
    booth = Location.objects.create(name="Booth 2", kind="booth")
    sent = {"key": key(), "to_location": booth.pk, "quantity": "8", "on": today.isoformat()}
    page = words(finisher.post(at("lot_place", lot), sent, follow=True))
    lot.refresh_from_db()
    assert lot.location == booth
    assert "Place Booth 2" in page
    assert "Moved to Booth 2" in page


def test_it_offers_only_what_can_be_done(office: Client, finisher: Client, lot: Lot, shelf: Shelf) -> None:
    page = office.get(lot.get_absolute_url()).text
    assert at("lot_quarantine", lot) in page
    assert at("lot_quarantine", lot) not in finisher.get(lot.get_absolute_url()).text
    assert at("lot_release", lot) not in page
    shelf.take(lot.material, "8")
    used_up = office.get(lot.get_absolute_url())
    assert "used up" in words(used_up)
    assert at("stock_write_off", lot) not in used_up.text
    assert at("stock_return", lot) in used_up.text
