"""A ratio is void when ours and the baseline did not do the same: each part looks, and says where they differ."""

from __future__ import annotations

import random
import sqlite3
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from costing.bench import estimates, plain, replenish
from costing.bench.documents import bare_sheet, cells_apart, house_sheet, sheet_rows, words_missing
from costing.bench.measure import BenchError
from costing.bench.postings import TABLES, check_same_rows
from costing.core.result import Estimate
from costing.core.system import Driver, SupplyLine
from costing.core.takeoff import GivenArea, Moulding, Panel, Row, Takeoff, Zone
from finishing.documents import pdf
from finishing.documents.letterhead import Letterhead
from inventory.core.facts import Facts, PackFacts, Supply
from inventory.core.projection import Need, StockLot
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


def stocked(number: int) -> Facts:
    """A material with a year of use and some stock, which lasts for a while."""
    chance = random.Random(number)  # noqa: S311 - invented use
    return Facts(
        key=number,
        today=date(2030, 3, 4),
        supply=Supply(lead_days=7, usual=1),
        weeks=tuple(float(chance.choice((0, 0, 1, 2, 5))) for _ in range(52)),
        lots=(StockLot(on_hand=Decimal(number % 9 + 1), usable_until=date(2030, 3, 4) + timedelta(days=number * 5)),),
        needs=(Need(quantity=Decimal(2), on=date(2030, 3, 9)),),
        packs=(PackFacts(key=1, supplier=1, content=Decimal(5), price=Decimal(90)),),
        usual_pack=1,
    )


SHELF = [stocked(number) for number in range(1, 31)]


def test_the_plain_reorder_list_agrees_on_days_and_points() -> None:
    replenish.check_same(SHELF)
    found = replenish.plain_advice(SHELF)
    assert any(one.short_in is None for one in found) or max(one.short_in or 0 for one in found) > 10
    assert {one.packs for one in found} != {0}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda one: replace(one, short_in=(one.short_in or 0) + 1), "runs short in"),
        (lambda one: replace(one, point=one.point * 1.2), "from those of the loop"),
    ],
)
def test_reorder_lists_that_differ_are_not_compared(
    change: Callable[[replenish.Plain], replenish.Plain], words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    honest = replenish.plain_advice
    monkeypatch.setattr(replenish, "plain_advice", lambda known: [change(one) for one in honest(known)])
    with pytest.raises(BenchError, match=words):
        replenish.check_same(SHELF)
