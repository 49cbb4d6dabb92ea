"""What to order today and what is awaited, on the desks; delivery charge and minimum order in the list's totals."""

from __future__ import annotations

import io
import subprocess
import uuid
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook
from pypdf import PdfReader

from finishing.models import User
from finishing.show import day
from inventory.models import Pack
from inventory.reorder import reorder_list
from tests.inventory.orders.buying import receive, sent
from tests.inventory.pages.shop import words

pytestmark = pytest.mark.django_db


@pytest.fixture
def charged(can: Pack, drum: Pack) -> Pack:
    """The can's supplier takes 24 for a delivery and asks for 2,500 of goods; the drum's takes nothing and asks for 20."""
    can.supplier.delivery_charge, can.supplier.minimum_order = Decimal(24), Decimal(2500)
    can.supplier.save()
    drum.supplier.minimum_order = Decimal(20)
    drum.supplier.save()
    return can


def tile(client: Client) -> str:
    return words(client.get(reverse("reorder_tile")))


def test_the_list_adds_the_delivery_charge_and_says_whether_the_minimum_is_reached(
    desk: Client, charged: Pack, today: date
) -> None:
    first, second = sorted(reorder_list(today=today).orders, key=lambda order: order.supplier.name)
    assert (first.total, first.missing) == (first.goods + 24, 2500 - first.goods)
    assert (second.total, second.missing) == (second.goods, 0)
    page = words(desk.get(reverse("reorder_list")))
    assert f"Goods ${first.goods} Delivery charge $24.00 Total ${first.total}" in page
    assert f"below minimum ${first.missing:,.2f} short" in page
    assert "minimum reached This supplier’s minimum order is $20.00" in page
    assert f"In all ${first.total + second.total}" in page
    text = " ".join(PdfReader(io.BytesIO(desk.get(reverse("reorder_pdf")).content)).pages[0].extract_text().split())
    assert f"Delivery charge $24.00 Total ${first.total}" in text
    assert "minimum order of $20.00 is reached" in text


@pytest.mark.libreoffice
def test_the_spreadsheet_adds_up_the_same(desk: Client, charged: Pack, today: date, soffice: Path, tmp_path: Path) -> None:
    source = tmp_path / "list.xlsx"
    source.write_bytes(desk.get(reverse("reorder_xlsx")).content)
    command = [str(soffice), "--headless", "--norestore", f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"]
    command += ["--convert-to", "xlsx", "--outdir", str(tmp_path / "out"), str(source)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    sheet = load_workbook(tmp_path / "out" / "list.xlsx", data_only=True)["Reorder list"]
    found = {row[0].value: (row[1].value, row[7].value) for row in sheet.iter_rows()}
    minimum = {row[0].value: row[1].value for row in sheet.iter_rows() if "Minimum" in str(row[1].value)}
    listed = reorder_list(today=today)
    for order in listed.orders:
        assert found[f"Total {order.supplier.name}"][1] == pytest.approx(float(order.total))
        said = "not reached" if order.missing else "reached"
        assert minimum[order.supplier.name] == f"Minimum order: {said}"
    assert found["All suppliers"][1] == pytest.approx(float(listed.total))


def test_the_tile_counts_what_is_left_to_order_and_the_drafts(desk: Client, charged: Pack, drum: Pack, today: date) -> None:
    listed = reorder_list(today=today)
    assert f"2 materials ${listed.total} with delivery, from 2 suppliers" in tile(desk)
    packs = {pack.pack.pk: pack.count for order in listed.orders for line in order.lines for pack in line.packs}
    desk.post(reverse("reorder_order"), {"key": str(uuid.uuid4()), f"packs-{charged.pk}": str(packs[charged.pk])})
    [other] = [order for order in listed.orders if order.supplier == drum.supplier]
    left = tile(desk)
    assert f"1 material ${other.total} with delivery, from 1 supplier" in left
    assert "1 draft not sent yet" in left
    page = words(desk.get(reverse("reorder_list")))
    assert f"Materials to order 1 In all ${other.total}" in page
    assert "What stands in 1 draft order is not counted here and not proposed again" in page
    desk.post(reverse("reorder_order"), {"key": str(uuid.uuid4()), f"packs-{drum.pk}": str(packs[drum.pk])})
    assert "0 materials 2 drafts not sent yet" in tile(desk)


def test_a_part_in_a_draft_leaves_the_rest(desk: Client, charged: Pack, drum: Pack) -> None:
    desk.post(reverse("reorder_order"), {"key": str(uuid.uuid4()), f"packs-{charged.pk}": "1"})
    page = desk.get(reverse("reorder_list"))
    advised = next(row for one in page.context["shown"] for line in one.lines for row in line.packs if row.pack.pack == charged)
    left = advised.pack.count - 1
    assert left > 0
    assert str(page.context["form"].field_of(charged).value()) == str(left)
    assert f"2 materials ${page.context['found'].total - charged.price} with delivery" in tile(desk)


def test_with_nothing_to_order_the_tile_says_so(desk: Client) -> None:
    assert "0 materials Nothing has to be ordered." in tile(desk)


@pytest.mark.parametrize("name", ["desk_buying", "desk_owner"])
def test_desks_fetch_the_tile_and_tell_what_is_awaited_or_late(client: Client, buyer: User, can: Pack, name: str) -> None:
    sent(buyer, (can, 1), promised_in=3)
    receive(buyer, sent(buyer, (can, 1)), (0, 1))  # so that the desk has stock to talk about
    client.force_login(User.objects.create_user("both", is_office=True, is_owner=True))
    page = client.get(reverse(name))
    assert f'hx-get="{reverse("reorder_tile")}"' in page.text
    assert "Orders awaited 1" in words(page)
    assert f"next on {day(timezone.localdate() + timedelta(days=3))}" in words(page)
    sent(buyer, (can, 1), promised_in=-1)
    assert "orders overdue 1 of 2 awaited" in words(client.get(reverse(name))).lower()


def test_only_buyers_see_the_tile(client: Client) -> None:
    for role, status in (("finisher", 403), ("estimator", 403), ("owner", 200), ("office", 200)):
        client.force_login(User.objects.get_or_create(username=role, **{f"is_{role}": True})[0])
        assert client.get(reverse("reorder_tile")).status_code == status, role
