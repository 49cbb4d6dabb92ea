"""The owner's settings: rates typed in percent and money, bounds told at their field, and an example of how things look."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from finishing.models import Shop
from tests.finishing.pages.visitors import browser, person

D = Decimal
HERE = "shop_settings"


@pytest.fixture
def owner(db: None) -> Client:
    return browser(person("owner", "owner"))


def typed(**changed: str) -> dict[str, str]:
    return {
        "name": "Invented Finishing",
        "address": "1 Sample Street\nSampletown",
        "email": "",
        "phone": "",
        "unit_system": "us",
        "page_size": "letter",
        "currency": "EUR",
        "locale": "de_DE",
        "booth_rate": "28.50",
        "overhead_rate": "80",
        "rework_allowance": "3 %",
        "disposal_fee": "1.2",
        "working_hours": "8",
        "voc_limit": "275 g/L",
        "voc_recovered": "0",
        "margin": "35",
        "minimum_charge": "150",
        "price_step": "5",
        "tax_name": "VAT",
        "tax_rate": "19",
        "quote_days": "30",
        "quote_terms": "",
        "deposit_share": "0",
        "cost_moved_share": "5",
        "review_days": "7",
        "service_level": "95",
        "expiring_days": "30",
    } | changed


def test_it_keeps_shares_money_and_units(owner: Client) -> None:
    response = owner.post(reverse(HERE), typed())

    assert response.status_code == 302
    shop = Shop.current()
    assert (shop.overhead_rate, shop.rework_allowance, shop.margin, shop.tax_rate) == (D("0.8"), D("0.03"), D("0.35"), D("0.19"))
    assert (shop.booth_rate, shop.disposal_fee, shop.voc_limit) == (D("28.5"), D("1.2"), D(275))
    assert (shop.unit_system, shop.page_size, shop.currency, shop.locale) == ("us", "letter", "EUR", "de_DE")
    assert shop.history.count() == 1


def test_the_page_shows_what_is_stored_as_it_is_typed(owner: Client) -> None:
    owner.post(reverse(HERE), typed())

    page = owner.get(reverse(HERE)).text

    for value in ("28.50", "80", "35", "19", "5.00", "2.295"):
        assert f'value="{value}"' in page, value
    assert "1.234,50" in page


@pytest.mark.parametrize(
    ("field", "text", "message"),
    [
        ("margin", "100", "This must be below 100 %."),
        ("margin", "120", "This must be below 100 %."),
        ("margin", "-1", "This must be between 0 and 99 %."),
        ("margin", "NaN", "This must be an ordinary number."),
        ("booth_rate", "-3", "This must be 0 or more."),
        ("booth_rate", "a lot", "“a lot” can’t be read as an amount. Write for example 43.50."),
        ("booth_rate", "12,5", "The comma in “12,5” is unclear: write the cents after a point."),
        ("overhead_rate", "2001", "This must be between 0 and 2000 %."),
        ("service_level", "100", "This must be between 50 and 99.9 %."),
        ("voc_limit", "3 m", "“m” is a length; this needs a VOC content. Write for example 250, 250 g/L or 2.1 lb/gal."),
        ("working_hours", "0", "This must be 0.5 or more."),
        ("quote_days", "0", "This must be 1 or more."),
        ("currency", "XYZ", "Choose one of those listed."),
        ("locale", "xx_XX", "Choose one of those listed."),
        ("email", "at home", "Write an e-mail address, for example office@example.com."),
        ("name", "", "Fill this in."),
    ],
)
def test_what_cannot_be_is_told_at_its_field(owner: Client, field: str, text: str, message: str) -> None:
    response = owner.post(reverse(HERE), typed(**{field: text}))

    assert response.status_code == 422
    assert response.context["form"].errors == {field: [message]}
    assert "1 Sample Street" in response.text
    assert not Shop.objects.exists()


def test_the_examples_follow_the_choices_without_saving(owner: Client) -> None:
    chosen = {"currency": "GBP", "locale": "en_GB", "unit_system": "us"}

    text = owner.get(reverse("shop_examples"), chosen).text

    assert "£1,234.50" in text
    assert "28.15 in" in text
    assert not Shop.objects.exists()
    assert "$1,234.50" in owner.get(reverse(HERE)).text


def test_nonsense_in_the_address_of_the_examples_is_passed_over(owner: Client) -> None:
    text = owner.get(reverse("shop_examples"), {"currency": "<b>", "locale": "../x", "unit_system": "stone"}).text

    assert "$1,234.50" in text
    assert "715 mm" in text


def test_a_stored_locale_that_is_not_offered_stays(owner: Client) -> None:
    Shop(locale="hu_HU").save()

    assert '<option value="hu_HU" selected>' in owner.get(reverse(HERE)).text


@pytest.mark.parametrize("role", ["office", "estimator", "finisher"])
def test_others_are_refused(db: None, role: str) -> None:
    client = browser(person(role, role))

    assert client.get(reverse(HERE)).status_code == 403
    assert client.post(reverse(HERE), typed()).status_code == 403
    assert client.get(reverse("shop_examples")).status_code == 403
    assert not Shop.objects.exists()


def test_somebody_not_signed_in_is_asked_to(db: None) -> None:
    assert browser(None).get(reverse(HERE)).url.startswith(reverse("login"))
