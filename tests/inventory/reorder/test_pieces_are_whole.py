"""Levels of what is counted in pieces are shown in whole ones, rounded up."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from inventory.models import Material, Pack, Supplier
from inventory.reorder import reorder_list

pytestmark = pytest.mark.django_db
D = Decimal


def test_a_reorder_point_of_pieces_is_whole(supplier: Supplier, today: date) -> None:
    liner = Material.objects.create(
        code="LINER", name="Liner", kind="disposable", stock_unit="pcs", weekly_use=D("4.1"), weekly_use_sd=D(0)
    )
    Pack.objects.create(material=liner, supplier=supplier, description="Box", content=D(50), price=D(10), is_usual=True)
    [line] = reorder_list(today=today).orders[0].lines
    # 14 days at 4.1 a week
    assert line.summary.startswith("0 pcs available, reorder point 9 pcs.")
    assert line.reorder_point == "9 pcs"
    figures = [reason.figure for reason in line.reasons]
    assert "8.2 pcs + 0 pcs = 8.2 pcs, so 9 pcs" in figures


def test_a_sum_just_over_a_whole_piece_says_why_it_is_rounded_up(supplier: Supplier, today: date) -> None:
    liner = Material.objects.create(
        code="LINER", name="Liner", kind="disposable", stock_unit="pcs", weekly_use=D("4.01"), weekly_use_sd=D(0)
    )
    Pack.objects.create(material=liner, supplier=supplier, description="Box", content=D(50), price=D(10), is_usual=True)
    [line] = reorder_list(today=today).orders[0].lines
    # 14 days at 4.01 a week: 8.02
    assert "8 pcs + 0 pcs = a little over 8 pcs, so 9 pcs" in [reason.figure for reason in line.reasons]


def test_litres_keep_their_parts(clear: Material, today: date) -> None:
    Material.objects.update(weekly_use=D("2.1"))
    assert reorder_list(today=today).orders[0].lines[0].reorder_point == "4.2 L"
