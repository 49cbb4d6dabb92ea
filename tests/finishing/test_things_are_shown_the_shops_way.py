"""Money, measures, shares, durations and days as the shop chose to see them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from pytest_django import Settings

from finishing import show
from finishing.models import Shop
from finishing.show import Preferences
from finishing.units import UnitSystem

US = Preferences(units=UnitSystem.US)
EURO = Preferences(currency="EUR", locale="de_DE")


@pytest.fixture(autouse=True)
def metric() -> Iterator[None]:
    show.use(Preferences())
    yield
    show.use(None)


def test_money_is_rounded_half_up_with_its_sign() -> None:
    assert show.money(Decimal("1234.565")) == "$1,234.57"
    assert show.money(Decimal("1234.5"), EURO) == "1.234,50\xa0€"
    assert show.money(Decimal("1234.5"), Preferences(currency="JPY")) == "¥1,235"
    assert show.money(None) == "–"


def test_measures_follow_the_unit_system() -> None:
    assert [show.volume(Decimal("3.785411784")), show.length(Decimal("19.05")), show.film(Decimal("101.6"))] == [
        "3.785 L",
        "19.05 mm",
        "101.6 µm",
    ]
    show.use(US)
    assert [show.volume(Decimal("3.785411784")), show.length(Decimal("19.05")), show.film(Decimal("101.6"))] == [
        "1 gal",
        "3/4 in",
        "4 mil",
    ]
    assert show.quantity(Decimal("3.048"), "m") == "10 ft"
    assert show.quantity(Decimal(24), "pcs") == "24 pcs"


def test_cost_per_area_stays_readable_both_ways() -> None:
    assert show.per_area(Decimal("10.7639104167")) == "$10.76/m²"
    show.use(US)
    assert show.per_area(Decimal("10.7639104167")) == "$1.00/ft² ($10.76/m²)"


def test_durations_shares_and_days() -> None:
    assert [show.minutes(45), show.minutes(Decimal("125.4")), show.minutes(None)] == ["45 min", "2 h 05 min", "–"]
    assert show.percent(Decimal("0.355")) == "35.5 %"
    assert show.day(date(2030, 3, 9)) == "Mar 9, 2030"


def test_a_moment_is_shown_as_its_day_in_the_shops_time_zone(settings: Settings) -> None:
    settings.TIME_ZONE = "Pacific/Auckland"
    assert show.day(datetime(2030, 3, 9, 23, 30, tzinfo=UTC)) == "Mar 10, 2030"


@pytest.mark.django_db
def test_a_changed_setting_counts_at_once() -> None:
    show.use(None)
    shop = Shop.current()
    shop.currency = "GBP"
    shop.save()
    assert show.money(Decimal(1)) == "£1.00"


@pytest.mark.django_db
def test_an_unknown_locale_falls_back_and_does_not_fail() -> None:
    assert show.preferences_of(Shop(locale="xx_nowhere")).locale == "en_US"
