"""Rows of a takeoff and what they add up to (costing model, section 1)."""

from __future__ import annotations

import pytest

from costing.core.takeoff import ALL_ZONES, GivenArea, Moulding, Panel, Row, Takeoff, Zone


def test_a_panel_counts_faces_and_edges():
    # 1 face 1000 × 500, one long and one short edge of 20 mm: 0.5 + 0.02 + 0.01
    panel = Panel(length=1000, width=500, thickness=20, faces=1, long_edges=1, short_edges=1)
    assert panel.area_of(1) == pytest.approx(0.53)


def test_the_profile_factor_is_for_faces_only():
    panel = Panel(length=1000, width=500, thickness=20, profile_factor=2)
    assert panel.area_of(1) == pytest.approx(2 * 2 * 0.5 + 0.02 * (2 * 1 + 2 * 0.5))


def test_edges_alone_can_be_finished():
    assert Panel(length=1000, width=500, thickness=20, faces=0, short_edges=0).area_of(1) == pytest.approx(0.04)


def test_a_given_area_is_for_the_whole_row():
    assert Row(shape=GivenArea(area=3), pieces=6).area == 3


def test_a_moulding_is_length_times_girth():
    assert Row(shape=Moulding(length=2400, girth=90), pieces=5).area == pytest.approx(1.08)


def test_zones_are_told_apart_and_add_up():
    takeoff = Takeoff(
        rows=(
            Row(shape=GivenArea(area=4), pieces=3, geometry_factor=0.5),
            Row(shape=GivenArea(area=1), pieces=2, zone=Zone.HIDDEN),
        )
    )
    show, hidden = takeoff.total(frozenset({Zone.SHOW})), takeoff.total(frozenset({Zone.HIDDEN}))
    both = takeoff.total(ALL_ZONES)
    assert (show.area, show.sprayed_area, show.pieces) == (4, 8, 3)
    assert (hidden.area, hidden.sprayed_area, hidden.pieces) == (1, 1, 2)
    assert (both.area, both.sprayed_area, both.pieces) == (5, 9, 5)
    assert (takeoff.area, takeoff.pieces) == (5, 5)
