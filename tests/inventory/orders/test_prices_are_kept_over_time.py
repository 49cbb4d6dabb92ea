"""The history of what packs cost."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client

from finishing.models import User
from inventory.choices import PriceSource
from inventory.errors import DayError, StockError
from inventory.models import Lot, Pack, PackPrice
from inventory.services.order_receipts import reverse_posting
from inventory.services.packs import save_pack
from inventory.services.prices import paid_otherwise, price_on, set_price, take_over_price
from tests.inventory.orders.buying import receive, sent
from tests.inventory.pages.shop import words

pytestmark = pytest.mark.django_db
D = Decimal


def put(pack: Pack, price: str, on: date, by: User) -> PackPrice | None:
    return set_price(pack=pack, price=D(price), valid_from=on, source=PriceSource.ENTERED, by=by)


def current(pack: Pack) -> Decimal:
    return Pack.objects.get(pk=pack.pk).price


def test_a_change_keeps_the_former_price(can: Pack, buyer: User, today: date) -> None:
    assert price_on(can, today) == D("23.60")
    put(can, "25", today, buyer)
    assert (current(can), can.price) == (25, 25)
    assert (price_on(can, today), price_on(can, today - timedelta(days=1))) == (25, D("23.60"))
    assert price_on(can, today - timedelta(days=9)) is None


def test_the_same_price_again_writes_nothing(can: Pack, buyer: User, today: date) -> None:
    put(can, "25", today, buyer)
    assert put(can, "25", today, buyer) is None
    assert PackPrice.objects.count() == 2


def test_a_price_learnt_late_does_not_replace_a_newer_one(can: Pack, buyer: User, today: date) -> None:
    put(can, "25", today - timedelta(days=5), buyer)
    put(can, "26", today, buyer)
    put(can, "24", today - timedelta(days=3), buyer)
    assert current(can) == 26
    assert [price_on(can, today - timedelta(days=ago)) for ago in (5, 3, 1, 0)] == [25, 24, 24, 26]


def test_days_to_come_and_prices_below_nothing_are_refused(can: Pack, buyer: User, today: date) -> None:
    with pytest.raises(DayError, match="still to come"):
        put(can, "25", today + timedelta(days=1), buyer)
    with pytest.raises(StockError, match="below 0"):
        put(can, "-1", today, buyer)
    assert not PackPrice.objects.exists()


def test_the_pack_form_writes_the_history(can: Pack, buyer: User) -> None:
    can.price, can.description = D(30), "5 L tin"
    save_pack(pack=can, by=buyer)
    assert (current(can), Pack.objects.get().description) == (30, "5 L tin")
    assert [(row.price, row.by) for row in can.prices.order_by("pk")] == [(D("23.60"), None), (30, buyer)]


def test_another_price_paid_is_noticed_and_taken_over_once(can: Pack, box: Pack, buyer: User, today: date) -> None:
    order = sent(buyer, (can, 2), (box, 1))
    same = receive(buyer, order, (1, 1))
    other = receive(buyer, order, (0, 2), price=D("24.10"))
    assert paid_otherwise(same) == []
    [found] = paid_otherwise(other)
    assert (found.pack, found.paid, found.known, found.is_dearer) == (can, D("24.10"), D("23.60"), True)
    row = take_over_price(lot=found.lot, by=buyer)
    assert row is not None
    assert (row.price, row.source, row.valid_from) == (D("24.10"), "receipt", today)
    assert current(can) == D("24.10")
    assert paid_otherwise(other) == []
    assert take_over_price(lot=found.lot, by=buyer) is None


def test_a_reversed_delivery_teaches_no_price(can: Pack, buyer: User, today: date) -> None:
    posting = receive(buyer, sent(buyer, (can, 1)), (0, 1), price=D(99))
    lot = posting.movements.get().lot
    reverse_posting(key=uuid.uuid4(), by=buyer, on=today, posting=posting, reason="typed wrong")
    assert paid_otherwise(posting) == []
    with pytest.raises(StockError, match="was reversed"):
        take_over_price(lot=lot, by=buyer)
    assert current(can) == D("23.60")


def test_what_was_paid_stands_on_the_material_s_page_once(desk: Client, buyer: User, can: Pack, today: date) -> None:
    order = sent(buyer, (can, 3))
    receive(buyer, order, (0, 1), price=D("24.10"))
    usual = receive(buyer, order, (0, 2))
    assert not paid_otherwise(usual)
    page = words(desk.get(can.material.get_absolute_url()))
    assert "5 L can, North Yard (invented) $24.10 $4.82 per L Paid on a delivery office Lot L0-1" in page
    assert "5 L can, North Yard (invented) $23.60 $4.72 per L Paid on a delivery office Lot L0-2" in page
    take_over_price(lot=Lot.objects.get(number="L0-1"), by=buyer)
    page = words(desk.get(can.material.get_absolute_url()))
    assert page.count("$24.10 $4.82 per L Paid on a delivery") == 1
    set_price(pack=can, price=D(30), valid_from=today, source=PriceSource.PRICE_LIST, by=buyer)
    page = words(desk.get(can.material.get_absolute_url()))
    assert page.count("$24.10 $4.82 per L Paid on a delivery") == 1
    assert "not taken over" not in page


def test_the_first_price_reaches_back_to_the_first_delivery(can: Pack, buyer: User, today: date) -> None:
    came = today - timedelta(days=4)
    receive(buyer, sent(buyer, (can, 1)), (0, 1), on=came)
    put(can, "25", today, buyer)
    assert [(row.price, row.valid_from) for row in can.prices.order_by("pk")] == [(D("23.60"), came), (25, today)]


def test_prices_are_for_those_who_see_costs(client: Client, buyer: User, can: Pack) -> None:
    receive(buyer, sent(buyer, (can, 1)), (0, 1), price=D("24.10"))
    client.force_login(User.objects.create_user("finisher", is_finisher=True))
    assert "24.10" not in client.get(can.material.get_absolute_url()).text
