"""Receiving: what is read from the rows, what is read back, what the result page shows."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from django.test import Client
from django.urls import reverse

from finishing.models import Shop
from finishing.show import day
from inventory.models import Lot, Material, Movement, Pack, Posting
from tests.inventory.pages.shop import booked, delivery, row_errors, words

D = Decimal


def row(can: Pack, **more: str) -> dict[str, str]:
    return {"item": f"pack:{can.pk}", "amount": "2", "lot_number": "C-9", "made_on": "2024-01-15", **more}


def fresh(can: Pack, today: date, **more: str) -> dict[str, str]:
    return row(can, made_on=(today - timedelta(days=20)).isoformat(), **more)


def test_packs_are_counted_and_their_price_becomes_the_unit_cost(office: Client, can: Pack, today: date) -> None:
    data = delivery(today, fresh(can, today, price="110"), supplier=can.supplier)
    response = office.post(reverse("receive"), data)
    lot, posting = Lot.objects.get(), Posting.objects.get()
    assert response.url == reverse("posting", args=[posting.pk])
    assert (lot.on_hand, lot.unit_cost, lot.number, lot.supplier) == (D(10), D(22), "C-9", can.supplier)
    assert lot.expires_on == today - timedelta(days=20) + timedelta(days=365)
    assert lot.place == "Shelf 3"
    page = words(office.get(response.url))
    assert f"{posting} is booked." in page
    assert f"Clear coat C-9 +10 L $22.00 per L +$220.00 {day(lot.expires_on)}" in page
    assert "Delivery note DN 77" in page
    assert "From North Yard (invented)" in page


def test_an_empty_price_takes_the_packs_own(office: Client, can: Pack, today: date) -> None:
    office.post(reverse("receive"), delivery(today, fresh(can, today)))
    assert Lot.objects.get().unit_cost == D("21.2")


def test_an_amount_is_typed_with_its_unit_and_priced_as_a_whole(office: Client, clear: Material, today: date) -> None:
    line = {"item": f"material:{clear.pk}", "amount": "1 gal", "price": "80", "lot_number": "G-1", "expires_on": "2099-01-01"}
    office.post(reverse("receive"), delivery(today, {**line, "expires_on": (today + timedelta(days=9)).isoformat()}))
    lot = Lot.objects.get()
    assert lot.on_hand == D("3.785412")
    assert abs(lot.on_hand * lot.unit_cost - 80) < D("0.00001")
    assert lot.supplier is None


def test_several_rows_are_one_posting_and_empty_rows_are_passed_over(
    office: Client, can: Pack, liner: Material, today: date
) -> None:
    gloves = {"item": f"material:{liner.pk}", "amount": "100", "price": "62"}
    data = delivery(today, fresh(can, today), {}, gloves, fresh(can, today, lot_number="C-10", amount="1"))
    office.post(reverse("receive"), data)
    assert Posting.objects.count() == 1
    assert Movement.objects.count() == 3
    assert list(Lot.objects.order_by("pk").values_list("number", flat=True)) == ["C-9", today.isoformat(), "C-10"]


def test_reading_back_books_nothing_and_says_what_was_understood(office: Client, can: Pack, today: date) -> None:
    data = delivery(today, fresh(can, today, price="110"))
    page = office.post(reverse("receive"), {**data, "step": "check"})
    expiry = day(today + timedelta(days=345))
    assert f"1 Clear coat 2 × 5 L can = 10 L C-9 {expiry} $22.00 per L $220.00" in words(page)
    assert "Not booked yet" in words(page)
    assert booked() == (0, 0, 0)
    assert page.context["delivery"].head["key"].value() == data["key"]
    assert page.context["delivery"].rows.forms[0]["lot_number"].value() == "C-9"


def test_a_us_shop_reads_back_in_its_units(office: Client, clear: Material, today: date, us_shop: Shop) -> None:
    line = {"item": f"material:{clear.pk}", "amount": "5", "price": "200", "lot_number": "G-1"}
    dated = {**line, "expires_on": (today + timedelta(days=9)).isoformat()}
    page = words(office.post(reverse("receive"), {**delivery(today, dated), "step": "check"}))
    assert "Clear coat 5 gal G-1" in page
    assert "$40.00 per gal $200.00" in page


def test_an_out_of_date_lot_comes_in_only_with_a_reason_that_is_kept(office: Client, can: Pack, today: date) -> None:
    old = row(can, made_on="", expires_on=(today - timedelta(days=1)).isoformat())
    data = delivery(today, old)
    refused = office.post(reverse("receive"), data)
    assert "It is out of date" in words(refused)
    assert "Why stock that is out of date is accepted" in words(refused)
    assert booked() == (0, 0, 0)
    posted = office.post(reverse("receive"), {**data, "accept_expired_reason": "for test panels"})
    assert posted.status_code == 302
    assert Movement.objects.get().override_reason == "for test panels"
    assert "for test panels" in words(office.get(posted.url))


def test_what_expires_today_is_not_out_of_date(office: Client, can: Pack, today: date) -> None:
    data = delivery(today, row(can, made_on="", expires_on=today.isoformat()))
    assert office.post(reverse("receive"), data).status_code == 302


def test_only_what_is_in_use_and_on_sale_is_offered(office: Client, can: Pack, liner: Material) -> None:
    Pack.objects.create(material=liner, supplier=can.supplier, description="old box", content=D(1), price=D(1), is_active=False)
    Material.objects.create(code="OLD", name="Old sealer", kind="coating", is_active=False)
    page = words(office.get(reverse("receive")))
    assert "5 L can" in page
    assert "old box" not in page
    assert "Old sealer" not in page


def test_a_shop_without_materials_is_told_what_to_do_first(office: Client) -> None:
    page = office.get(reverse("receive"))
    assert "There is nothing to receive yet" in words(page)
    assert reverse("material_new") in page.text


def test_a_lot_in_several_containers_is_typed_or_counted_from_its_packs(
    office: Client, can: Pack, clear: Material, today: date
) -> None:
    made = today.isoformat()
    pack, amount = f"pack:{can.pk}", f"material:{clear.pk}"
    for row in (
        {"item": pack, "amount": "3", "lot_number": "P3"},
        {"item": pack, "amount": "3", "lot_number": "P3C6", "containers": "6"},
        {"item": amount, "amount": "20 L", "price": "90", "lot_number": "A1"},
        {"item": amount, "amount": "20 L", "price": "90", "lot_number": "A4", "containers": "4"},
    ):
        sent = delivery(today, {**row, "made_on": made}) | {"rows-0-containers": row.get("containers", "")}
        assert office.post(reverse("receive"), sent).status_code == 302
    assert dict(Lot.objects.values_list("number", "containers")) == {"P3": 3, "P3C6": 6, "A1": 1, "A4": 4}
    wrong = delivery(today, {"item": pack, "amount": "3", "lot_number": "X", "made_on": made}) | {"rows-0-containers": "0"}
    assert row_errors(office.post(reverse("receive"), wrong)) == {"containers": ["1 container or more."]}
