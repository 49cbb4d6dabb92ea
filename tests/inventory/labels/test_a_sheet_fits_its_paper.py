"""The measures of a sheet: what fits the paper, what is refused and with which bound, and where each label lies."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from inventory.documents.labels_sheet import LEAST_HEIGHT, LEAST_WIDTH, PAPERS, PRESETS, Sheet, SheetError

D = Decimal
A4 = PRESETS["a4-3x7"]


@pytest.mark.parametrize("name", PRESETS)
def test_a_common_division_fills_its_paper_evenly(name: str) -> None:
    """Margins left and right are the same, as are those above and below."""
    sheet = PRESETS[name]
    width, height = PAPERS[sheet.paper]
    cells = list(sheet.cells(sheet.per_page))
    right = width - max(cell.left + cell.width for cell in cells)
    below = height - max(cell.top + cell.height for cell in cells)
    assert abs(right - sheet.left) < D("0.2")
    assert abs(below - sheet.top) < D("0.2")
    assert {cell.page for cell in cells} == {0}


@pytest.mark.parametrize("name", PRESETS)
def test_labels_do_not_overlap(name: str) -> None:
    cells = list(PRESETS[name].cells(PRESETS[name].per_page))
    for place, one in enumerate(cells):
        for other in cells[place + 1 :]:
            apart = one.left + one.width <= other.left or other.left + other.width <= one.left
            assert apart or one.top + one.height <= other.top


@pytest.mark.parametrize(
    ("change", "field", "bound"),
    [
        ({"width": D("66.5")}, "across", D("66.5")),
        ({"height": D("38.2")}, "down", D("38.2")),
        ({"left": D("20")}, "width", D("58")),
        ({"top": D("31")}, "height", D("37.4")),
        ({"width": D("44.9")}, "width", LEAST_WIDTH),
        ({"height": D("19.9"), "down": D("38.1")}, "height", LEAST_HEIGHT),
        ({"columns": 4}, "width", D("4.75")),
        ({"rows": 8}, "height", D("15.15")),
    ],
)
def test_what_does_not_fit_is_refused_with_its_bound(change: dict[str, Decimal], field: str, bound: Decimal) -> None:
    with pytest.raises(SheetError) as refused:
        replace(A4, **change)  # type: ignore[arg-type]
    assert (refused.value.field, refused.value.bound) == (field, bound)


@pytest.mark.parametrize("change", [{"paper": "A3"}, {"columns": 0}, {"rows": 41}, {"left": D(-1)}, {"top": D("-0.1")}])
def test_what_is_no_sheet_is_refused(change: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"no paper|are no sheet|a margin"):
        replace(A4, **change)  # type: ignore[arg-type]


def test_a_single_column_needs_no_pitch() -> None:
    roll = Sheet(paper="A4", columns=1, rows=1, left=D(5), top=D(5), across=D(0), down=D(0), width=D(100), height=D(50))
    assert [cell.page for cell in roll.cells(3)] == [0, 1, 2]


def test_it_begins_at_the_first_free_label_and_goes_on_row_by_row() -> None:
    places = [(cell.page, cell.left, cell.top) for cell in A4.cells(4, first=20)]
    assert places == [
        (0, D("73.25"), D("243.75")),
        (0, D("139.25"), D("243.75")),
        (1, D("7.25"), D("15.15")),
        (1, D("73.25"), D("15.15")),
    ]


@pytest.mark.parametrize("first", [0, 22])
def test_a_place_that_is_not_on_the_sheet_is_refused(first: int) -> None:
    with pytest.raises(ValueError, match="is not on a sheet of 21"):
        list(A4.cells(1, first=first))
