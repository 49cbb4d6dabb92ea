"""The reorder list from the database: what is on it, why, and what it costs to ask."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from finishing.models import Shop, User
from inventory.core.demand import ForecastMethod
from inventory.models import Lot, Material, Pack, Supplier
from inventory.reorder import demand_of, reorder_list
from inventory.services import ledger
from inventory.services.bookings import book
from inventory.services.lots import quarantine_lot
from tests.inventory.reorder.shelf import deliver

pytestmark = pytest.mark.django_db
D = Decimal


def test_an_empty_shop_has_an_empty_list(today: date) -> None:
    found = reorder_list(today=today)
    assert (found.orders, found.unbuyable, found.enough, found.silent) == ((), (), (), ())


def test_a_material_below_its_reorder_point_is_bought_in_whole_packs(clear: Material, today: date) -> None:
    found = reorder_list(today=today)
    [order] = found.orders
    [line] = order.lines
    # protection 7 + 7 days at 3 L a week: 6 L, two cans of 5 L
    assert [(pack.pack.description, pack.count) for pack in line.packs] == [("5 L can", 2)]
    assert line.amount == order.total == found.total == D("218.00")
    assert order.missing == D("282.00")
    assert line.advice.order_by == today


def test_enough_stock_keeps_it_off_the_list(clear: Material, office: User, today: date) -> None:
    deliver(clear, "20", by=office)
    found = reorder_list(today=today)
    assert found.orders == ()
    assert [line.material for line in found.enough] == [clear]


def test_quarantined_and_expired_lots_do_not_count(clear: Material, office: User, today: date) -> None:
    lot = deliver(clear, "20", by=office)
    quarantine_lot(lot=lot, reason="frozen", by=office)
    stale = deliver(clear, "20", by=office, number="B2", expires=today)
    Lot.objects.filter(pk=stale.pk).update(expires_on=today - timedelta(days=1))
    assert reorder_list(today=today).orders[0].lines[0].advice.usable == 0


def test_what_a_job_booked_is_not_available(clear: Material, office: User, today: date) -> None:
    deliver(clear, "20", by=office)
    booking = book(material=clear, quantity=D(18), needed_on=today + timedelta(days=3), holder="J-1")
    [order] = reorder_list(today=today).orders
    assert order.lines[0].advice.booked == 18
    ledger.issue(
        key=uuid.uuid4(),
        by=office,
        on=today,
        lines=[ledger.IssueLine(material=clear, quantity=D(18), booking=booking)],
        reference="J-1",
    )
    assert reorder_list(today=today).orders[0].lines[0].advice.booked == 0


def test_the_log_counts_over_what_the_shop_entered_as_soon_as_it_shows_use(clear: Material) -> None:
    entered = demand_of(clear, [D(0), D(0)])
    assert entered is not None
    assert (entered.rate, entered.method) == (3, ForecastMethod.ENTERED)
    few = demand_of(clear, [D(0), D(3), D(3), D(3)])
    assert few is not None
    assert (few.rate, few.method) == (2.25, ForecastMethod.MEAN)
    learnt = demand_of(clear, [D(0), D(3), D(3), D(3), D(1)])
    assert learnt is not None
    assert (learnt.method, learnt.weeks, learnt.weeks_with_use) == (ForecastMethod.SMOOTHING, 5, 4)


def test_a_rate_without_a_spread_is_given_half_of_itself(clear: Material) -> None:
    clear.weekly_use_sd = None
    demand = demand_of(clear, [])
    assert demand is not None
    assert demand.deviation == 1.5


def test_a_material_that_nobody_sells_is_listed_with_what_to_mend(clear: Material, today: date) -> None:
    Pack.objects.all().delete()
    found = reorder_list(today=today)
    assert [line.material for line in found.unbuyable] == [clear]
    assert "Add a pack with its price" in found.unbuyable[0].problem


def test_a_material_of_which_nothing_is_known_is_named(today: date) -> None:
    unknown = Material.objects.create(code="NEW", name="New", kind="coating")
    assert reorder_list(today=today).silent == (unknown,)


def test_a_delivery_charge_is_shared_by_what_the_delivery_brings(clear: Material, supplier: Supplier, today: date) -> None:
    supplier.delivery_charge = D(40)
    supplier.save()
    alone = reorder_list(today=today).orders[0].lines[0].advice.supply.delivery_charge
    other = Material.objects.create(code="OTHER", name="Other", kind="coating")
    Pack.objects.create(material=other, supplier=supplier, description="can", content=D(1), price=D(1), is_usual=True)
    shared = reorder_list(today=today).orders[0].lines[0].advice.supply.delivery_charge
    assert (alone, shared) == (40, 20)


def test_the_shops_service_target_counts_unless_the_material_has_its_own(clear: Material, today: date) -> None:
    shop = Shop.current()
    assert reorder_list(today=today, shop=shop).orders[0].lines[0].advice.policy.service_level == 0.95
    clear.service_level = D("0.99")
    clear.save()
    assert reorder_list(today=today, shop=shop).orders[0].lines[0].advice.policy.service_level == 0.99


def test_the_number_of_queries_does_not_grow_with_the_materials(
    clear: Material, supplier: Supplier, office: User, today: date
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as seen:
            reorder_list(today=today, shop=Shop.current())
        return len(seen)

    deliver(clear, "1", by=office)
    few = queries()
    for number in range(12):
        material = Material.objects.create(code=f"M{number}", name=f"M{number}", kind="coating", weekly_use=D(1))
        Pack.objects.create(material=material, supplier=supplier, description="can", content=D(1), price=D(9), is_usual=True)
        deliver(material, "1", by=office, number=f"L{number}")
    assert queries() == few
