"""Each oddity is told in words at its material's line, with what would mend it, and the rest of the list stands."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from finishing.models import User
from inventory.core.findings import Trouble
from inventory.core.weeks import monday
from inventory.models import Lot, Material, Pack, Supplier
from inventory.reorder import ReorderLine, ReorderList, reorder_list
from inventory.services import ledger
from tests.inventory.reorder.shelf import deliver

pytestmark = pytest.mark.django_db
D = Decimal


def line_of(found: ReorderList, material: Material) -> ReorderLine:
    lines = [*(line for order in found.orders for line in order.lines), *found.unbuyable, *found.enough]
    return next(line for line in lines if line.material == material)


def words(material: Material, today: date) -> str:
    return " ".join(one.words for one in line_of(reorder_list(today=today), material).told)


def second_pack(material: Material, supplier: Supplier, **more: object) -> Pack:
    given = {"description": "can", "content": D(1), "price": D(22), **more}
    return Pack.objects.create(material=material, supplier=supplier, **given)


def test_sound_data_are_not_remarked_upon(clear: Material, office: User, today: date) -> None:
    deliver(clear, "1", by=office)
    found = reorder_list(today=today)
    assert words(clear, today) == ""
    assert (found.odd, found.idle_suppliers) == ((), ())


def test_a_lead_time_of_no_days(clear: Material, supplier: Supplier, today: date) -> None:
    Supplier.objects.update(lead_time_days=0)
    assert "The lead time of North Yard (invented) is 0 days" in words(clear, today)


def test_no_pack_and_so_no_lead_time(clear: Material, today: date) -> None:
    Pack.objects.all().delete()
    told = words(clear, today)
    assert "No lead time is entered, so 7 days are assumed." in told
    assert "Add a pack with its price to buy it." in told


def test_a_pack_without_a_price(clear: Material, today: date) -> None:
    Pack.objects.update(price=0)
    [line] = reorder_list(today=today).unbuyable
    assert line.problem == "The pack “5 L can” of North Yard (invented) has no price, so it is left out. Enter its price."


def test_a_pack_without_a_price_beside_another(clear: Material, supplier: Supplier, today: date) -> None:
    second_pack(clear, supplier, price=D(0))
    line = line_of(reorder_list(today=today), clear)
    assert [one.finding.trouble for one in line.doubts] == [Trouble.NO_PRICE]
    assert [pack.pack.description for pack in line.packs] == ["5 L can"]


def test_a_shelf_life_shorter_than_the_lead_time(clear: Material, today: date) -> None:
    Material.objects.update(shelf_life_days=5)
    assert "It keeps for 5 days from delivery, less than the lead time of 7 days" in words(clear, today)


def test_what_is_too_old_when_it_comes(clear: Material, supplier: Supplier, office: User, today: date) -> None:
    lot = deliver(clear, "1", by=office)
    Lot.objects.filter(pk=lot.pk).update(supplier=supplier, made_on=lot.received_on - timedelta(days=400))
    [line] = reorder_list(today=today).unbuyable
    assert "its shelf life is 365 days, and from North Yard (invented) it is usually 400 days old" in line.problem


def use(material: Material, quantity: str, *, by: User, weeks_ago: int) -> None:
    on = monday(timezone.localdate()) - timedelta(weeks=weeks_ago)
    lines = [ledger.IssueLine(material=material, quantity=D(quantity))]
    ledger.issue(key=uuid.uuid4(), by=by, on=on, lines=lines, reference="bench")


def test_one_enormous_week(clear: Material, office: User, today: date) -> None:
    lot = deliver(clear, "900", by=office)
    Lot.objects.filter(pk=lot.pk).update(received_on=today - timedelta(weeks=20))
    for ago, quantity in ((9, "2"), (8, "3"), (7, "250"), (6, "2"), (5, "2"), (4, "1")):
        use(clear, quantity, by=office, weeks_ago=ago)
    assert "250 L went out, 125 times the usual week of 2 L." in words(clear, today)


def test_more_coming_back_than_went_out(clear: Material, office: User, today: date) -> None:
    lot = deliver(clear, "90", by=office)
    Lot.objects.filter(pk=lot.pk).update(received_on=today - timedelta(weeks=20))
    use(clear, "9", by=office, weeks_ago=6)
    back = monday(today) - timedelta(weeks=3)
    ledger.return_stock(key=uuid.uuid4(), by=office, on=back, lot=lot, quantity=D(4), reference="bench")
    line = line_of(reorder_list(today=today), clear)
    assert "more came back than went out. The weeks before were taken as that much less." in words(clear, today)
    assert sum(line.advice.facts.weeks) == 5
    assert line.advice.findings[0].on == back


def test_packs_entered_in_two_units(clear: Material, supplier: Supplier, today: date) -> None:
    second_pack(clear, supplier, description="1 gal", price=D("82.50"))
    told = words(clear, today)
    assert "“1 gal” of North Yard (invented) names 3.785 L, and 1 L is entered as its content" in told
    assert "By the litre, the pack “1 gal” of North Yard (invented) costs 3.8 times as much as “5 L can”" in told


@pytest.mark.parametrize("description", ["5 L can", "Box of 50", "2 × 2.5 L", "5 kg", "can", "1.32 gal"])
def test_a_description_that_fits_or_says_nothing_is_let_be(clear: Material, description: str, today: date) -> None:
    Pack.objects.update(description=description)
    assert words(clear, today) == ""


def test_a_supplier_without_materials(clear: Material, today: date) -> None:
    idle = Supplier.objects.create(name="South Yard (invented)")
    assert reorder_list(today=today).idle_suppliers == (idle,)


def test_a_clock_that_was_set_back(clear: Material, office: User, today: date) -> None:
    deliver(clear, "1", by=office)
    earlier = today - timedelta(days=30)
    told = words(clear, earlier)
    assert "after today: the computer’s clock was set back, or that day is wrong." in told
    assert [line.material for line in reorder_list(today=earlier).odd] == [clear]


def test_the_page_says_it_at_the_line(client: Client, clear: Material, supplier: Supplier, office: User) -> None:
    Supplier.objects.create(name="South Yard (invented)")
    second_pack(clear, supplier, price=D(0))
    client.force_login(office)
    page = client.get(reverse("reorder_list")).text
    assert "has no price, so it is left out. Enter its price." in page
    assert "no pack on sale is entered, so nothing can be ordered there." in page
