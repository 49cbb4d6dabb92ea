"""A cut list is read as people write it: loose column names, units in the header or the cell, headings, defaults."""

from __future__ import annotations

from decimal import Decimal

import pytest

from costing.core.takeoff_reading import EDGES_LEFT_OUT, SIZES_WIN, Reading, read_takeoff

D = Decimal


def read(*lines: str, **units: str) -> Reading:
    """Lines whose cells are separated by a bar."""
    return read_takeoff([[cell.strip() for cell in line.split("|")] for line in lines], **units)


def test_it_reads_the_worked_example_of_the_costing_model() -> None:
    reading = read("Label|Pieces|Length|Width|Thickness|Profile factor", "Door|24|715|397|19|1.05")

    assert reading.is_good
    assert reading.rows[0].row.area == pytest.approx(15.320436, abs=1e-9)


@pytest.mark.parametrize(
    "names",
    [
        "Piece|Qty|L|W|T",
        "description|QUANTITY|Length|Width|Thickness",
        "Part name|pcs|finished length|Finished_Width|thk",
        "Component|Count|Height|Width|Thick",
        "Item|no. of pieces|Length (mm)|Width [mm]|Thickness, mm",
        "Item|N|Length mm|Width in mm|Thickness (mm)",
    ],
)
def test_it_knows_other_names_for_the_columns(names: str) -> None:
    reading = read(names, "Shelf|2|500|300|18")

    assert not reading.problems
    row = reading.rows[0]
    assert (row.label, row.row.pieces, row.length, row.width, row.thickness) == ("Shelf", 2, D(500), D(300), D(18))


def test_it_takes_the_unit_from_the_header_column_by_column() -> None:
    reading = read("Piece|Qty|Length (in)|Width (cm)|Thickness", "Shelf|1|23 1/2|30|18")

    row = reading.rows[0]
    assert (row.length, row.width, row.thickness) == (D("596.9"), D(300), D(18))


def test_a_unit_in_the_cell_goes_before_that_of_the_header() -> None:
    assert read("Piece|Qty|Length (in)|Width (in)", "Shelf|1|715 mm|10").rows[0].length == D(715)


def test_bare_sizes_are_in_the_shop_s_unit() -> None:
    reading = read("Piece|Qty|Length|Width", "Shelf|1|10|1/2", length_unit="in", area_unit="ft²")

    assert (reading.rows[0].length, reading.rows[0].width) == (D(254), D("12.7"))


def test_title_lines_above_the_names_and_empty_rows_are_passed_over() -> None:
    reading = read("Kitchen of June", "", "Piece|Qty|Length|Width", "", "Shelf|1|500|300")

    assert [(row.number, row.label) for row in reading.rows] == [(5, "Shelf")]


def test_a_row_with_words_alone_is_a_heading_and_is_told() -> None:
    reading = read("Piece|Qty|Length|Width", "Upper cabinets||", "Shelf|1|500|300")

    assert len(reading.rows) == 1
    assert "Row 2 (“Upper cabinets”) has no pieces and no sizes: taken as a heading, not read." in reading.notes


def test_columns_it_does_not_know_are_left_out_and_told() -> None:
    assert "Not read: Room, Price." in read("Piece|Qty|Length|Width|Room|Price", "Shelf|1|500|300|Hall|3").notes


def test_a_girth_makes_a_moulding_and_an_area_makes_an_area() -> None:
    reading = read("Piece|Qty|Length|Width|Girth|Area", "Crown|4|2400||110|", "Frame|2||||3.2")

    crown, frame = reading.rows
    assert (crown.form, frame.form) == ("moulding", "area")
    assert crown.row.area == pytest.approx(4 * 2400 * 110 / 1e6)
    assert frame.row.area == pytest.approx(3.2)


def test_an_area_each_is_for_one_piece() -> None:
    assert read("Piece|Qty|Area each (sq ft)", "Frame|4|10").rows[0].row.area == pytest.approx(40 * 0.09290304)


def test_sizes_go_before_an_area_column_and_that_is_told() -> None:
    reading = read("Piece|Qty|Length|Width|Thickness|Area", "Shelf|1|1000|500|0|99")

    assert reading.rows[0].row.area == pytest.approx(1.0)
    assert SIZES_WIN in reading.notes


def test_without_a_thickness_the_edges_are_left_out_and_that_is_told() -> None:
    reading = read("Piece|Qty|Length|Width", "Shelf|1|1000|500")

    assert reading.rows[0].row.area == pytest.approx(1.0)
    assert EDGES_LEFT_OUT in reading.notes


def test_zone_faces_edges_and_factors_are_read() -> None:
    reading = read(
        "Piece|Qty|Length|Width|T|Zone|Faces|Long edges|Short edges|Profile factor|Geometry factor",
        "Back|1|1000|500|20|Inside|1|1|0|1.1|0.8",
    )

    row = reading.rows[0]
    assert row.row.zone == "hidden"
    assert (row.faces, row.long_edges, row.short_edges) == (1, 1, 0)
    assert row.row.area == pytest.approx(1.1 * 0.5 + 0.02 * 1)
    assert row.geometry_factor == D("0.8")


def test_us_and_metric_lists_give_the_same_area() -> None:
    metric = read("Piece|Qty|Length (mm)|Width (mm)|Thickness (mm)", "Door|12|717.55|396.875|19.05", "Shelf|8|596.9|285.75|19.05")
    us = read("Piece|Qty|Length (in)|Width (in)|Thickness (in)", "Door|12|28 1/4|15 5/8|3/4", "Shelf|8|23.5|11 1/4|0.75")

    assert [row.row.area for row in us.rows] == [row.row.area for row in metric.rows]
