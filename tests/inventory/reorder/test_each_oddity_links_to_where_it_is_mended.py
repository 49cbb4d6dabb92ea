"""The page names every oddity with a link to the form that mends it, and drops no material for one."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from finishing.models import User
from inventory.core.weeks import monday
from inventory.models import Lot, Material, Pack, Supplier
from inventory.reorder import reorder_list
from inventory.services import ledger
from tests.inventory.reorder.shelf import deliver

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def desk(client: Client, office: User) -> Client:
    client.force_login(office)
    return client


def no_pack() -> None:
    Pack.objects.all().delete()


def no_price() -> None:
    Pack.objects.update(price=0)


def no_lead_time() -> None:
    Supplier.objects.update(lead_time_days=0)


def short_life() -> None:
    Material.objects.update(shelf_life_days=5)


def two_units() -> None:
    pack = Pack.objects.get()
    Pack.objects.create(material=pack.material, supplier=pack.supplier, description="1 gal", content=D(1), price=D("82.5"))


CASES: tuple[tuple[Callable[[], None], str, str], ...] = (
    (no_pack, "No supplier’s pack is entered for it.", "pack_new"),
    (no_price, "has no price, so it is left out.", "pack_edit"),
    (no_lead_time, "is 0 days: it is reckoned as if", "supplier_edit"),
    (short_life, "less than the lead time of 7 days", "material_edit"),
    (two_units, "Were their contents entered in the same unit?", "pack_edit"),
)


@pytest.mark.parametrize(("spoil", "words", "mends"), CASES, ids=[case[0].__name__ for case in CASES])
def test_a_line_says_what_to_mend_and_leads_there(
    desk: Client, clear: Material, spoil: Callable[[], None], words: str, mends: str
) -> None:
    pack, supplier = Pack.objects.get(), Supplier.objects.get()
    ids = {"pack_new": clear.pk, "material_edit": clear.pk, "pack_edit": pack.pk, "supplier_edit": supplier.pk}
    spoil()
    page = desk.get(reverse("reorder_list")).text
    assert words in page
    assert "Clear" in page
    if spoil is two_units:
        ids["pack_edit"] = Pack.objects.latest("pk").pk
    address = reverse(mends, args=[ids[mends]])
    assert f'href="{address}"' in page
    assert desk.get(address).status_code == 200


def test_a_pack_of_size_nothing(desk: Client, clear: Material, today: date, monkeypatch: pytest.MonkeyPatch) -> None:
    """The database refuses it; one that came in all the same stops nobody."""
    address = reverse("pack_edit", args=[Pack.objects.get().pk])
    monkeypatch.setattr("inventory.reorder_reads.Pack.objects", _Emptied(Pack.objects))
    page = desk.get(reverse("reorder_list")).text
    assert "holds 0, so it is left out. Enter what is in it." in page
    assert f'href="{address}"' in page


class _Emptied:
    """A manager whose packs hold nothing."""

    def __init__(self, manager: object) -> None:
        self.manager = manager

    def filter(self, **which: object) -> _Emptied:
        return _Emptied(self.manager.filter(**which))  # type: ignore[attr-defined]

    def select_related(self, *names: str) -> list[Pack]:
        packs = list(self.manager.select_related(*names))  # type: ignore[attr-defined]
        for pack in packs:
            pack.content = D(0)
        return packs


def issue(material: Material, quantity: str, *, by: User, on: date) -> None:
    lines = [ledger.IssueLine(material=material, quantity=D(quantity))]
    ledger.issue(key=uuid.uuid4(), by=by, on=on, lines=lines, reference="bench")


def test_odd_weeks_lead_to_the_moves_of_the_material(desk: Client, clear: Material, office: User, today: date) -> None:
    lot = deliver(clear, "900", by=office)
    Lot.objects.filter(pk=lot.pk).update(received_on=today - timedelta(weeks=20))
    for ago, quantity in ((9, "2"), (8, "3"), (7, "250"), (6, "2"), (5, "2"), (4, "1")):
        issue(clear, quantity, by=office, on=monday(today) - timedelta(weeks=ago))
    ledger.return_stock(
        key=uuid.uuid4(), by=office, on=monday(today) - timedelta(weeks=2), lot=lot, quantity=D(1), reference="bench"
    )
    page = desk.get(reverse("reorder_list")).text
    for words in ("125 times the usual week", "more came back than went out", "To look at"):
        assert words in page, words
    address = reverse("stock_moves", query={"text": "Clear"})
    assert f'href="{address}"' in page
    assert "bench" in desk.get(address).text


def test_a_clock_set_back_is_told(
    desk: Client, clear: Material, office: User, today: date, monkeypatch: pytest.MonkeyPatch
) -> None:
    deliver(clear, "1", by=office)
    monkeypatch.setattr("inventory.views.reorder.timezone.localdate", lambda: today - timedelta(days=30))
    assert "the computer’s clock was set back, or that day is wrong." in desk.get(reverse("reorder_list")).text


def test_a_supplier_without_materials_is_told_with_a_way_out(desk: Client, clear: Material) -> None:
    idle = Supplier.objects.create(name="South Yard (invented)")
    page = desk.get(reverse("reorder_list")).text
    assert "South Yard (invented)</a>: no pack on sale is entered, so nothing can be ordered there." in page
    assert f'href="{reverse("supplier_edit", args=[idle.pk])}"' in page


def test_what_stands_at_its_line_is_not_said_twice(clear: Material, office: User, today: date) -> None:
    no_lead_time()
    assert reorder_list(today=today).to_look_at == ()
    deliver(clear, "50", by=office)
    assert [line.material for line in reorder_list(today=today).to_look_at] == [clear]
