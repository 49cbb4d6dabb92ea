"""A supplier's price list shows old and new prices, tells what it can't match, and keeps the history of prices."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from finishing.models import User
from inventory.choices import ListKind, PriceSource
from inventory.models import Material, Pack, PackPrice, Supplier
from inventory.services.prices import price_on, set_price
from tests.inventory.bringing_in.bringing import bring_in, csv_file, dry_run, faults, rows_of, states

D = Decimal
KIND = ListKind.PRICES
HEAD = ("Article", "EAN", "Net price", "Text")
GTIN = "9506000134352"  # the example of the GS1 General Specifications, from memory

pytestmark = pytest.mark.database


@pytest.fixture
def today() -> date:
    return timezone.localdate()


@pytest.fixture
def can(yard: Supplier) -> Pack:
    clear = Material.objects.create(code="CLEAR", name="Clear coat", kind="coating")
    return Pack.objects.create(
        material=clear, supplier=yard, supplier_code="NY-5", description="5 L can", content=D(5), price=D(100)
    )


@pytest.fixture
def box(yard: Supplier) -> Pack:
    liner = Material.objects.create(code="LINER", name="Cup liner", kind="liner", stock_unit="pcs")
    return Pack.objects.create(
        material=liner, supplier=yard, gtin=f"0{GTIN}", description="box of 50", content=D(50), price=D("9.50")
    )


def test_packs_are_matched_by_code_or_gtin_and_others_are_told(by: User, yard: Supplier, can: Pack, box: Pack) -> None:
    rows = (("ny-5", "", "103.50", ""), ("", GTIN, "9.50", ""), ("NY-77", "", "12", "Thinner"))

    upload = dry_run(KIND, csv_file(HEAD, *rows), by, supplier=yard)

    assert states(upload) == ["changed", "same", "unknown"]
    [price] = rows_of(upload)[0].changes
    assert (price.old, price.new) == ("100.00", "103.50 (+3.5 %)")
    assert rows_of(upload)[2].what == "Thinner"
    can.refresh_from_db()
    assert can.price == D(100)


def test_prices_hold_from_the_day_that_was_given_and_the_history_stays(by: User, yard: Supplier, can: Pack, today: date) -> None:
    day = today - timedelta(days=5)

    bring_in(KIND, csv_file(HEAD, ("NY-5", "", "103.50", "")), by, supplier=yard, on=day)

    can.refresh_from_db()
    assert can.price == D("103.5")
    assert (price_on(can, day), price_on(can, day - timedelta(days=1))) == (D("103.5"), D(100))
    row = can.prices.get(valid_from=day)
    assert (row.source, row.by, row.note) == (PriceSource.PRICE_LIST, by, "From list.csv")
    assert states(dry_run(KIND, csv_file(HEAD, ("NY-5", "", "103.50", "")), by, supplier=yard, on=day)) == ["same"]


def test_a_list_that_comes_late_goes_into_the_history_only(by: User, yard: Supplier, can: Pack, today: date) -> None:
    set_price(pack=can, price=D(110), valid_from=today, source=PriceSource.ENTERED, by=by)
    day = today - timedelta(days=5)

    upload = bring_in(KIND, csv_file(HEAD, ("NY-5", "", "103", "")), by, supplier=yard, on=day)

    assert "A later price is known" in rows_of(upload)[0].note
    can.refresh_from_db()
    assert (can.price, price_on(can, day)) == (D(110), D(103))


def test_packs_that_the_list_does_not_name_are_told_and_left(by: User, yard: Supplier, can: Pack, box: Pack) -> None:
    upload = bring_in(KIND, csv_file(HEAD, ("NY-5", "", "103", "")), by, supplier=yard)

    assert upload.report["notes"] == ["Packs on sale that the list does not name, left as they are: Cup liner (box of 50)."]
    box.refresh_from_db()
    assert box.price == D("9.5")


def test_a_large_change_is_marked(by: User, yard: Supplier, can: Pack) -> None:
    upload = dry_run(KIND, csv_file(HEAD, ("NY-5", "", "1035", "")), by, supplier=yard)

    assert rows_of(upload)[0].note == "Look here: is it the same pack?"


def test_a_large_change_is_applied_only_when_somebody_says_that_it_is_meant(
    office: Client, by: User, yard: Supplier, can: Pack
) -> None:
    upload = dry_run(KIND, csv_file(HEAD, ("NY-5", "", "1035", "")), by, supplier=yard)
    assert 'name="looked"' in office.get(upload.get_absolute_url()).text
    address = reverse("list_apply", args=[upload.pk])

    refused = office.post(address, follow=True)

    assert "1 row is marked “Look here”." in refused.text
    assert Pack.objects.get().price == D(100)
    applied = office.post(address, {"looked": "on"}, follow=True)
    assert Pack.objects.get().price == D(1035)
    assert "What the list changed" in applied.text
    assert "What the list would change" not in applied.text


def test_a_usual_change_asks_for_no_tick(office: Client, by: User, yard: Supplier, can: Pack) -> None:
    upload = dry_run(KIND, csv_file(HEAD, ("NY-5", "", "103.50", "")), by, supplier=yard)
    assert 'name="looked"' not in office.get(upload.get_absolute_url()).text


def test_another_suppliers_packs_are_not_touched(by: User, can: Pack) -> None:
    other = Supplier.objects.create(name="Elsewhere (invented)")

    assert states(dry_run(KIND, csv_file(HEAD, ("NY-5", "", "103", "")), by, supplier=other)) == ["unknown"]


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        (("", "", "12", "Thinner"), "Article", "Give the supplier’s code or the GTIN."),
        (("NY-5", "", "soon", ""), "Net price", "“soon” can’t be read as an amount. Write for example 43.50."),
        (("NY-5", "", "-1", ""), "Net price", "This must be 0 or more."),
        (("", "123", "12", ""), "EAN", "“123” is no GTIN"),
        (("NY-5", GTIN, "12", ""), "EAN", "The GTIN is of Cup liner (box of 50), the code of another pack. Mend one of them."),
    ],
)
def test_what_is_wrong_is_told_and_keeps_all_of_it_out(
    by: User, yard: Supplier, can: Pack, box: Pack, row: tuple[str, ...], column: str, words: str
) -> None:
    [(number, at, told)] = faults(dry_run(KIND, csv_file(HEAD, ("NY-9", "", "1", ""), row), by, supplier=yard))

    assert (number, at) == (3, column)
    assert told.startswith(words)
    assert not PackPrice.objects.exists()


def test_one_pack_twice_and_one_code_for_two_packs_are_refused(by: User, yard: Supplier, can: Pack) -> None:
    twice = dry_run(KIND, csv_file(HEAD, ("NY-5", "", "1", ""), ("NY-5", "", "2", "")), by, supplier=yard)
    assert faults(twice) == [(3, "Article", "Row 2 is this pack already. Keep one of them.")]
    Pack.objects.create(
        material=can.material, supplier=yard, supplier_code="NY-5", description="pail", content=D(20), price=D(300)
    )

    [(_, _, words)] = faults(dry_run(KIND, csv_file(HEAD, ("NY-5", "", "1", "")), by, supplier=yard))

    assert words == "2 packs have this code in the books. Give the GTIN, or mend one of them there."
