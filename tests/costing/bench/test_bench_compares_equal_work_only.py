"""A ratio is void when ours and the baseline did not do the same: each part looks, and says where they differ."""

from __future__ import annotations

import sqlite3
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from costing.bench import estimates, plain
from costing.bench.documents import bare_sheet, cells_apart, house_sheet, sheet_rows, words_missing
from costing.bench.measure import BenchError
from costing.bench.postings import TABLES, check_same_rows
from costing.core.result import Estimate
from costing.core.system import Driver, SupplyLine
from costing.core.takeoff import GivenArea, Moulding, Panel, Row, Takeoff, Zone
from finishing.documents import pdf
from finishing.documents.letterhead import Letterhead
from tests.costing.core.workshop import ABRADE, COAT, EXAMPLE_COAT, HIDDEN, SHOW, SPRAY, reckon, spray, system_of

TAKEOFF = Takeoff(
    rows=(
        Row(shape=Panel(length=715, width=397, thickness=19, profile_factor=1.05), pieces=24),
        Row(shape=Panel(length=2100, width=58, thickness=20), pieces=9, geometry_factor=0.6),
        Row(shape=Moulding(length=2400, girth=85), pieces=5, geometry_factor=0.8),
        Row(shape=GivenArea(area=3.25), pieces=2, zone=Zone.HIDDEN),
    )
)
FILTERS = replace(
    SPRAY, supply_lines=(*SPRAY.supply_lines, SupplyLine(material="filter", amount=0.3, driver=Driver.OVERSPRAY_KG))
)
GLOVES = replace(ABRADE, supply_lines=(SupplyLine(material="liner", amount=0.5, driver=Driver.LABOUR_HOUR),), zones=SHOW)
SYSTEMS = {
    "wet film": system_of(ABRADE, FILTERS, GLOVES),
    "dry film with pot life": system_of(spray(EXAMPLE_COAT)),
    "thinned": system_of(spray(replace(COAT, thinner="thinner", thinning=15, pot_life=25)), ABRADE),
    "thinned dry film": system_of(spray(replace(EXAMPLE_COAT, thinner="thinner", thinning=10))),
    "hidden side only": system_of(spray(zones=HIDDEN), SPRAY),
}


def plainly(result: Estimate) -> plain.Answer:
    rows = [estimates.bare_row(row) for row in result.takeoff.rows]
    parts = (estimates.bare_operations(result), estimates.bare_materials(result), estimates.bare_rates(result))
    return plain.estimate(plain.totals_of(rows), *parts)


@pytest.mark.parametrize("name", SYSTEMS)
def test_plain_arithmetic_gives_the_cores_true_cost_to_the_last_digit(name: str) -> None:
    result = reckon(SYSTEMS[name], TAKEOFF)
    assert result.true_cost > 0
    estimates.check_same([result], [plainly(result)])


def test_a_coat_without_area_is_left_out_by_both() -> None:
    shown_only = Takeoff(rows=(Row(shape=GivenArea(area=2)),))
    result = reckon(SYSTEMS["hidden side only"], shown_only)
    estimates.check_same([result], [plainly(result)])


def test_bare_rows_make_the_same_takeoff_again() -> None:
    assert Takeoff(rows=tuple(estimates.core_row(estimates.bare_row(row)) for row in TAKEOFF.rows)) == TAKEOFF


@pytest.mark.parametrize("field", plain.Answer._fields)
def test_any_figure_that_differs_voids_the_ratio(field: str) -> None:
    result = reckon(SYSTEMS["wet film"], TAKEOFF)
    answer = plainly(result)
    wrong = answer._replace(**{field: getattr(answer, field) + Decimal("0.000001")}) if field == "true_cost" else None
    wrong = wrong or answer._replace(**{field: getattr(answer, field) * 1.000001})
    with pytest.raises(BenchError, match="by the core"):
        estimates.check_same([result], [wrong])


def test_both_spreadsheets_hold_the_same_cells() -> None:
    rows = sheet_rows(40)
    assert cells_apart(house_sheet(rows), bare_sheet(rows)) == ""


def test_a_cell_or_a_row_that_differs_is_found() -> None:
    rows = sheet_rows(5)
    changed = [*rows[:3], (*rows[3][:4], rows[3][4] + 1, *rows[3][5:]), rows[4]]
    assert cells_apart(house_sheet(rows), bare_sheet(changed)).startswith("row 5:")
    assert cells_apart(house_sheet(rows), bare_sheet(rows[:4])).startswith("row 6:")


def a_document(title: str) -> bytes:
    columns = (pdf.Column(words="Option"), pdf.Column(words="Price", align="right"))
    story = [
        pdf.para("Meadow Kitchens\n4 Sample Street"),
        pdf.heading(title),
        pdf.keep(pdf.table(columns, [("Clear", "$ 840.00")], totals=[("Total", "$ 909.30")])),
        pdf.facts([("Signed", "____")]),
    ]
    return pdf.document(
        title="Quote", number="Q-0001", date="1 May 2030", letterhead=Letterhead(name="Shop"), page_size="A4", story=story
    )


def test_the_bare_document_says_all_that_the_houses_says() -> None:
    from costing.bench.bare_pdf import bare_pdf, sketch_of

    sketch = sketch_of(lambda: a_document("Kitchen"))
    assert Path(sketch.page_size).name == "A4"
    assert {"Kitchens", "Sample", "Kitchen", "Clear", "840.00", "909.30", "Signed", "Q-0001", "2030"} <= set(sketch.words)
    assert words_missing(bare_pdf(sketch, pages=1), sketch.words) == ""
    assert words_missing(a_document("Kitchen"), sketch.words) == ""
    assert words_missing(a_document("Bathroom"), sketch.words) == "Kitchen"


@pytest.mark.parametrize("table", TABLES)
def test_a_row_that_only_one_ledger_has_voids_the_ratio(tmp_path: Path, table: str) -> None:
    raw = sqlite3.connect(":memory:")
    ours = sqlite3.connect(tmp_path / "ours.sqlite3")
    for ledger in (ours, raw):
        for each in TABLES:
            ledger.execute(f"CREATE TABLE {each} (id INTEGER PRIMARY KEY, what TEXT)")
            ledger.execute(f"INSERT INTO {each} (what) VALUES ('a lot')")  # noqa: S608
        ledger.commit()
    check_same_rows(ours, raw)
    raw.execute(f"UPDATE {table} SET what = 'another lot'")  # noqa: S608
    with pytest.raises(BenchError, match=f"different rows in {table}"):
        check_same_rows(ours, raw)
    ours.close()
    raw.close()
