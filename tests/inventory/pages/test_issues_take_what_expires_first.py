"""Issuing: the lots that expire first, what is refused and where, who may take an unfit lot."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from finishing.models import Shop
from finishing.show import day
from inventory.models import Lot, Material, Movement
from inventory.services.lots import quarantine_lot
from tests.inventory.pages.shop import Shelf, booked, errors, issue, person, words

D = Decimal


@pytest.fixture
def two_lots(clear: Material, shelf: Shelf) -> tuple[Lot, Lot]:
    """3 L that expire in 20 days, 5 L that expire in 80."""
    late = shelf.lot(clear, "5", number="LATE", expires_in=80)
    return shelf.lot(clear, "3", number="SOON", expires_in=20), late


def on_hand(*lots: Lot) -> list[Decimal]:
    return [Lot.objects.get(pk=lot.pk).on_hand for lot in lots]


def test_it_takes_the_lot_that_expires_first_and_goes_on_to_the_next(
    finisher: Client, clear: Material, two_lots: tuple[Lot, Lot]
) -> None:
    response = issue(finisher, clear, quantity="3500 ml", reason="second coat")
    assert on_hand(*two_lots) == [D(0), D("4.5")]
    page = words(finisher.get(response.url))
    assert "SOON −3 L" in page
    assert "LATE −0.5 L" in page
    assert "What for Job 7" in page
    assert "Reason second coat" in page
    assert "Finisher Person" in page


def test_it_takes_from_the_lot_that_is_named(finisher: Client, clear: Material, two_lots: tuple[Lot, Lot]) -> None:
    issue(finisher, clear, quantity="1", lot=str(two_lots[1].pk))
    assert on_hand(*two_lots) == [D(3), D(4)]


def test_the_proposal_names_the_lots_and_books_nothing(
    finisher: Client, clear: Material, two_lots: tuple[Lot, Lot], today: date
) -> None:
    before = booked()
    page = words(finisher.get(reverse("issue_proposal", args=[clear.pk]), {"quantity": "3.5", "lot": ""}))
    assert f"3 L from lot SOON usable until {day(today + timedelta(days=20))}" in page
    assert "0.5 L from lot LATE" in page
    checked = issue(finisher, clear, quantity="3.5", step="check")
    assert "0.5 L from lot LATE" in words(checked)
    assert booked() == before


@pytest.mark.parametrize("query", [{}, {"quantity": "x"}, {"quantity": "-1"}, {"quantity": "2 kg"}])
def test_the_proposal_waits_for_a_quantity_that_can_be_read(
    query: dict[str, str], finisher: Client, clear: Material, two_lots: tuple[Lot, Lot]
) -> None:
    page = words(finisher.get(reverse("issue_proposal", args=[clear.pk]), query))
    assert page == ""


def test_the_proposal_says_what_is_missing(finisher: Client, clear: Material, two_lots: tuple[Lot, Lot]) -> None:
    page = words(finisher.get(reverse("issue_proposal", args=[clear.pk]), {"quantity": "9.25"}))
    assert "8 L is usable today; 1.25 L is missing" in page


def test_more_than_is_usable_is_refused_at_the_quantity(
    finisher: Client, clear: Material, two_lots: tuple[Lot, Lot], shelf: Shelf
) -> None:
    shelf.lot(clear, "2", number="OLD", expires_in=-3)
    before = booked()
    response = issue(finisher, clear, quantity="8.5", reason="keep this")
    assert errors(response) == {"quantity": ["There is not enough: 8 L can be taken. Another 2 L is expired or in quarantine."]}
    assert response.context["form"]["quantity"].value() == "8.5"
    assert "keep this" in response.text
    assert booked() == before


def test_a_us_shop_is_told_in_its_units(finisher: Client, clear: Material, shelf: Shelf, us_shop: Shop) -> None:
    shelf.lot(clear, "3.785412")
    assert "1 gal can be taken" in errors(issue(finisher, clear, quantity="2"))["quantity"][0]


def test_the_figure_that_the_page_shows_empties_the_lot(finisher: Client, clear: Material, shelf: Shelf, us_shop: Shop) -> None:
    lot = shelf.lot(clear, "10")  # 2.641721 gal, shown as 2.642 gal, which is 10.001 L
    assert "2.642 gal" in words(finisher.get(lot.get_absolute_url()))
    assert issue(finisher, clear, quantity="2.642", lot=str(lot.pk)).status_code == 302
    assert on_hand(lot) == [D(0)]


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("quantity", "", "Write how much"),
        ("quantity", "some", "can't be read as a volume"),
        ("quantity", "0", "above 0 L"),
        ("quantity", "-1", "above 0 L"),
        ("quantity", "nan", "can't be read"),
        ("quantity", "1 kg", "this needs a volume"),
        ("quantity", "0.0000001", "above 0 L"),
        ("quantity", "1000001", "or less"),
        ("quantity", "1/0", "below the line"),
        ("reference", "", "Write for which job"),
        ("reference", "x" * 121, "Keep this to 120 characters"),
        ("reason", "x" * 301, "Keep this to 300 characters"),
        ("on", "2999-01-01", "has not come yet"),
        ("on", "never", "year-month-day"),
        ("lot", "999999", "one of those listed"),
        ("lot", "x", "one of those listed"),
    ],
)
def test_bad_input_is_told_at_its_field_and_nothing_is_booked(
    field: str, typed: str, told: str, finisher: Client, clear: Material, two_lots: tuple[Lot, Lot]
) -> None:
    before = booked()
    response = issue(finisher, clear, **{field: typed})
    assert list(errors(response)) == [field]
    assert told in errors(response)[field][0]
    assert response.context["form"][field].value() == typed
    assert booked() == before


def test_a_lot_of_another_material_is_refused(finisher: Client, clear: Material, liner: Material, shelf: Shelf) -> None:
    shelf.lot(clear)
    other = shelf.lot(liner, "5")
    assert list(errors(issue(finisher, clear, lot=str(other.pk)))) == ["lot"]


def test_an_expired_lot_is_refused_and_a_finisher_is_sent_to_the_office(
    finisher: Client, clear: Material, shelf: Shelf, today: date
) -> None:
    lot = shelf.lot(clear, "2", expires_in=-3)
    before = booked()
    response = issue(finisher, clear, lot=str(lot.pk), override_reason="I say so")
    said = errors(response)["lot"][0]
    assert said == f"Lot A-1 expired on {day(today - timedelta(days=3))}. Ask the office, who can allow it with a reason."
    assert "override_reason" not in response.context["form"].fields
    assert booked() == before


def test_the_office_may_take_it_with_a_reason_that_is_kept(office: Client, clear: Material, shelf: Shelf) -> None:
    lot = shelf.lot(clear, "2", expires_in=-3)
    refused = issue(office, clear, lot=str(lot.pk))
    assert "Say below why" in errors(refused)["lot"][0]
    assert "Why a lot that is not fit for use is taken" in words(refused)
    taken = issue(office, clear, lot=str(lot.pk), override_reason="test panel, checked by eye")
    assert Movement.objects.get(quantity__lt=0).override_reason == "test panel, checked by eye"
    assert "test panel, checked by eye" in words(office.get(taken.url))


def test_a_lot_in_quarantine_is_refused_with_its_reason(finisher: Client, clear: Material, shelf: Shelf) -> None:
    lot = shelf.lot(clear, "2")
    quarantine_lot(lot=lot, reason="dented", by=person("office"))
    assert "Lot A-1 is in quarantine: dented." in errors(issue(finisher, clear, lot=str(lot.pk)))["lot"][0]


def test_a_reason_is_asked_for_only_when_an_unfit_lot_is_chosen(office: Client, clear: Material, shelf: Shelf) -> None:
    old, good = shelf.lot(clear, "2", number="OLD", expires_in=-3), shelf.lot(clear, "2", number="GOOD")
    address, asked = reverse("stock_issue", query={"material": clear.pk}), "Why a lot that is not fit for use is taken"
    assert asked not in words(office.get(address))
    assert asked not in words(office.get(f"{address}&lot={good.pk}"))
    assert asked in words(office.get(f"{address}&lot={old.pk}"))


def test_the_first_page_offers_what_is_in_stock(finisher: Client, clear: Material, liner: Material, shelf: Shelf) -> None:
    shelf.lot(clear, "2", expires_in=-3)
    page = words(finisher.get(reverse("stock_issue")))
    assert "Clear coat Coating 0 L usable nothing usable" in page
    assert "Cup liner" not in page


@pytest.mark.parametrize("material", ["x", "0", "99999999999999999999999", "-1", "1.5"])
def test_an_unknown_material_is_not_found(material: str, finisher: Client, clear: Material) -> None:
    assert finisher.get(reverse("stock_issue", query={"material": material})).status_code == 404
