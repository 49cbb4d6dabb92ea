"""The comparison as PDF and as spreadsheet tells the figures of the page."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from costing.comparison_words import headline
from costing.documents.comparison_pdf import comparison_pdf
from costing.documents.comparison_xlsx import ANSWER, SENSITIVITY, SIZES, comparison_xlsx
from costing.services.comparing import Compared, Pieces, Question, compare_systems
from finishing.models import Shop
from tests.costing.documents.reading import pdf_text, recalculated, workbook
from tests.costing.pricing.door_shop import TODAY, DoorShop, set_shop

D = Decimal


@pytest.fixture
def compared(doors: DoorShop) -> Compared:
    """Two systems from 2 to 50 m², answered for 20; one has a name that looks like a formula."""
    other = doors.add_system("=1+1 finish", dry_film=D(60))
    return ask(doors, other.pk)


def ask(doors: DoorShop, other: int) -> Compared:
    systems = list(type(doors.system).objects.filter(pk__in=[doors.system.pk, other]).order_by("pk"))
    question = Question(systems=systems, pieces=Pieces(), low=D(2), high=D(50), at=D(20))
    return compare_systems(question, shop=Shop.current(), today=TODAY())


def test_the_pdf_tells_the_answer_and_the_tables(compared: Compared) -> None:
    printed = " ".join(pdf_text(comparison_pdf(compared, on=TODAY())).split())
    best, point = compared.ranked[0]
    assert best.name == "Clear finish"
    assert " ".join(headline(compared).split()) in printed
    for words in ("What would change that", "For the shop only", "Where one overtakes another", f"€{point.per_m2:.2f}"):
        assert words in printed
    # Both charts and every size of the tables.
    for size in ("2 m²", "5 m²", "10 m²", "20 m²", "50 m²"):
        assert size in printed


def test_names_never_become_formulas(compared: Compared) -> None:
    book = workbook(comparison_xlsx(compared, on=TODAY()))
    cells = [cell for row in book[SIZES].iter_rows(min_row=2, max_col=2, min_col=2) for cell in row]
    assert {cell.value for cell in cells} == {"Clear finish", "=1+1 finish"}
    assert {cell.data_type for cell in cells} == {"s"}


@pytest.mark.libreoffice
@pytest.mark.slow
def test_the_sums_of_the_sheet_are_those_of_the_core(doors: DoorShop, compared: Compared, soffice: Path, tmp_path: Path) -> None:
    set_shop(unit_system="us")
    compared = ask(doors, int(compared.ranked[1][0].key))
    book = recalculated(soffice, comparison_xlsx(compared, on=TODAY()), tmp_path)
    rows = list(book[SIZES].iter_rows(values_only=True))
    heads = {words: place for place, words in enumerate(rows[0])}
    assert compared.comparison is not None
    points = {
        (one.name, round(point.area, 6)): point
        for one in compared.comparison.candidates
        for point in compared.comparison.points[one.key]
    }
    assert len(rows) - 1 == len(points) > 80
    for row in rows[1:]:
        point = points[row[heads["System"]], round(row[heads["Area, m²"]], 6)]
        assert row[heads["True cost"]] == pytest.approx(float(point.cost), rel=1e-12)
        assert row[heads["True cost per m²"]] == pytest.approx(float(point.per_m2), rel=1e-12)
        assert row[heads["True cost per ft²"]] == pytest.approx(float(point.per_m2) * 0.09290304, rel=1e-12)
        assert row[heads["VOC, g/m²"]] == pytest.approx(point.voc_per_m2, rel=1e-12)
        assert row[heads["Waste share"]] == pytest.approx(point.waste_share, rel=1e-9)
    answer = {row[0]: row for row in book[ANSWER].iter_rows(values_only=True)}
    for one, point in compared.ranked:
        assert answer[one.name][1] == pytest.approx(float(point.cost), rel=1e-12)
        assert answer[one.name][5] == pytest.approx(point.waste_share, rel=1e-9)
    changed = {row[0]: row for row in book[SENSITIVITY].iter_rows(values_only=True)}
    assert len(changed) == 8
    assert changed["Wages 10 % higher"][1] > changed["As reckoned"][1] > changed["Wages 10 % lower"][1]


def test_the_sheet_s_charts_take_their_figures_from_its_cells(compared: Compared) -> None:
    book = workbook(comparison_xlsx(compared, on=TODAY()))
    lines, bars = book[ANSWER]._charts
    assert [series.tx.strRef.f for series in lines.series] == ["'Charts'!B1", "'Charts'!C1"]
    assert {series.xVal.numRef.f for series in lines.series} == {f"'Charts'!$A$2:$A${1 + len(compared.comparison.sizes)}"}
    assert len(bars.series) == 13
    heads = [cell.value for cell in book["Charts"][1]]
    assert heads[1:3] == [one.name for one in compared.comparison.candidates]
