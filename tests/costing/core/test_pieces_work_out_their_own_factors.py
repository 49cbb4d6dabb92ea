"""Profile and geometry factors of the kinds of pieces against surfaces added up by hand."""

from __future__ import annotations

from math import sqrt

import pytest

from costing.core.errors import CostingError
from costing.core.pieces import SIZES, Piece, Template, work_out
from costing.core.takeoff import GivenArea, Moulding, Panel, Row, Zone

DOOR = {"length": 715, "width": 397, "thickness": 19}
SHAKER = {**DOOR, "frame": 57, "recess": 6}
RAISED = {**DOOR, "frame": 57, "recess": 8, "bevel": 30, "rise": 40}
FRAME = {"length": 700, "width": 900, "thickness": 20, "member": 40, "stiles": 3, "rails": 2}
BOX = {"height": 600, "width": 500, "depth": 400, "shelves": 1}


def area(piece: Piece) -> float:
    """The finished area of one piece as a takeoff row reckons it, m²."""
    if piece.form == "panel":
        shape = Panel(length=piece.length, width=piece.width, thickness=piece.thickness, profile_factor=piece.profile_factor)
    elif piece.form == "moulding":
        shape = Moulding(length=piece.length, girth=piece.girth)
    else:
        shape = GivenArea(area=piece.area_each)
    return Row(shape=shape, geometry_factor=piece.geometry_factor, zone=piece.zone).area


def edges(sizes: dict[str, float]) -> float:
    return sizes["thickness"] * 2 * (sizes["length"] + sizes["width"])


@pytest.mark.parametrize("template", [Template.SLAB_DOOR, Template.DRAWER_FRONT])
def test_a_slab_is_flat(template):
    piece = work_out(template, DOOR)
    assert (piece.profile_factor, piece.geometry_factor) == (1, 1)
    assert area(piece) == pytest.approx((2 * 715 * 397 + edges(DOOR)) / 1e6)


def test_a_shaker_door_has_a_step_around_its_panel_on_both_faces():
    # The opening is 601 × 283: 1768 mm around, 6 mm deep, twice.
    piece = work_out(Template.SHAKER_DOOR, SHAKER)
    assert area(piece) == pytest.approx((2 * 715 * 397 + edges(DOOR) + 2 * 1768 * 6) / 1e6)
    assert piece.profile_factor == pytest.approx(1.037372, abs=1e-6)


def test_a_raised_panel_has_four_sloping_bevels_on_its_front():
    # 30 out and 40 up are 50 along the slope. The field is 541 × 223 in an opening of 601 × 283.
    long, short = (601 + 541) / 2 * 50, (283 + 223) / 2 * 50
    front = 715 * 397 - 601 * 283 + 1768 * 8 + 2 * long + 2 * short + 541 * 223
    piece = work_out(Template.FIVE_PIECE, RAISED)
    assert area(piece) == pytest.approx((front + 715 * 397 + edges(DOOR)) / 1e6)


def test_a_bevel_of_no_width_is_an_upright_step():
    piece = work_out(Template.FIVE_PIECE, {**RAISED, "bevel": 0})
    assert area(piece) == pytest.approx((2 * 715 * 397 + edges(DOOR) + 1768 * (8 + 40)) / 1e6)


def test_a_flat_panel_without_profile_is_a_slab():
    piece = work_out(Template.FIVE_PIECE, {**RAISED, "bevel": 0, "rise": 0, "recess": 0})
    assert piece.profile_factor == 1


def test_a_face_frame_has_its_front_its_openings_and_its_outside():
    # Three uprights 700 long, two rails across two bays of 390; each opening is 390 × 620.
    front = 3 * 40 * 700 + 2 * 40 * 780
    openings = 2 * 20 * (2 * 390 + 2 * 620)
    # Of each opening the formula counts the sides that members make: two uprights, two rails.
    piece = work_out(Template.FACE_FRAME, FRAME)
    assert area(piece) == pytest.approx((front + openings + 20 * 2 * (700 + 900)) / 1e6)
    assert piece.geometry_factor == pytest.approx(40 / 60)


def test_a_carcass_has_five_sides_and_both_faces_of_its_shelves():
    piece = work_out(Template.CARCASS, BOX)
    assert area(piece) == pytest.approx((2 * 400 * 600 + 2 * 400 * 500 + 600 * 500 + 2 * 400 * 500) / 1e6)
    assert piece.zone is Zone.HIDDEN
    # A bay is 300 high, so o = 300.
    assert piece.geometry_factor == pytest.approx(1 / (1 + 400 / 600))


def test_a_deeper_box_catches_less():
    shallow, deep = (work_out(Template.CARCASS, {**BOX, "depth": depth}).geometry_factor for depth in (100, 900))
    assert 1 > shallow > deep > 0


def test_a_moulding_is_length_by_girth():
    piece = work_out(Template.MOULDING, {"length": 2400, "girth": 80})
    assert area(piece) == pytest.approx(0.192)
    assert piece.geometry_factor == pytest.approx(0.8)


@pytest.mark.parametrize("template", Template)
def test_every_kind_tells_how_its_factors_came_about(template):
    piece = work_out(template, {size.key: size.usual for size in SIZES[template]})
    told = {working.result.symbol: working.result.value for working in piece.workings}
    assert told["g"] == piece.geometry_factor
    assert ("k" in told) == (piece.form == "panel")
    assert ("a" in told) == (piece.form != "panel")
    if piece.form == "panel":
        assert told["k"] == piece.profile_factor
    else:
        assert told["a"] == pytest.approx(area(piece))
    assert 1 <= piece.profile_factor < 1.3
    assert 0.5 < piece.geometry_factor <= 1


@pytest.mark.parametrize(
    ("template", "sizes", "words"),
    [
        (Template.SHAKER_DOOR, {**SHAKER, "frame": 199}, "leaves no panel"),
        (Template.FIVE_PIECE, {**RAISED, "bevel": 150}, "leaves no field"),
        (Template.FACE_FRAME, {**FRAME, "member": 300}, "leaves no opening"),
        (Template.FACE_FRAME, {**FRAME, "stiles": 1}, "whole number from 2"),
        (Template.SLAB_DOOR, {**DOOR, "length": 0}, "more than 0"),
        (Template.SLAB_DOOR, {"length": 700}, "must be a number"),
        (Template.CARCASS, {**BOX, "shelves": 1.5}, "whole number"),
        (Template.MOULDING, {"length": 2400, "girth": float("nan")}, "must be a number"),
    ],
)
def test_sizes_that_make_no_piece_are_refused_in_words(template, sizes, words):
    with pytest.raises(CostingError, match=words):
        work_out(template, sizes)


def test_the_slope_of_a_bevel_is_its_hypotenuse():
    piece = work_out(Template.FIVE_PIECE, {**RAISED, "bevel": 30, "rise": 30, "recess": 0})
    ring = 601 * 283 - 541 * 223
    assert area(piece) == pytest.approx((2 * 715 * 397 + edges(DOOR) + ring * (sqrt(2) - 1)) / 1e6)
