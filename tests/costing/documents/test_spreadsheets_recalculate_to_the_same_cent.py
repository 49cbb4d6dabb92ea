"""A spreadsheet program that reckons the files again gets every figure of the page and the PDF, to the cent."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from types import SimpleNamespace

import pytest

from costing.documents.cost_sheet_pdf import cost_sheet_pdf
from costing.documents.cost_sheet_xlsx import SUMMARY, cost_sheet_xlsx
from costing.documents.quote_pdf import quote_pdf
from costing.documents.quote_xlsx import SHEET, quote_xlsx
from costing.models import SupplyLine
from costing.services.estimating import price
from costing.services.freezing import freeze
from costing.snapshots import Snapshot, read_snapshot, write_snapshot
from costing.wording import GROUP_WORDS
from finishing import show
from tests.costing.documents.reading import pdf_text, recalculated, rows_by_label, workbook
from tests.costing.pricing.door_shop import TODAY, DoorShop, material, set_shop

D = Decimal
pytestmark = [pytest.mark.libreoffice, pytest.mark.slow]


def cent(value: object) -> Decimal:
    """A recalculated figure, which must lie on the cent already."""
    assert isinstance(value, (int, float)), value
    rounded = round(D(repr(value)), 2)
    assert abs(D(repr(value)) - rounded) < D("0.0000001"), value
    return rounded


def litres(value: object) -> float:
    """A recalculated physical figure."""
    assert isinstance(value, (int, float)), value
    return float(value)


@pytest.fixture
def rich(doors: DoorShop) -> Snapshot:
    """A job with everything in it: two coats, thinner, heel, hidden and show pieces, a kg supply, odd prices and factors."""
    doors.base.yield_fraction = D("0.97")
    doors.base.save()
    doors.base.packs.update(price=D("91.37"))
    thinner = material("thinner", "thinner", pack=("5", "31.13"), voc=D(870))
    paper = material("paper", "abrasive", "pcs", pack=("50", "21.49"))
    system = doors.add_system("Rich finish", thinner=thinner, thinning_percent=D("12.5"), pot_life_min=20)
    first = system.operations.get()
    SupplyLine.objects.create(operation=first, material=paper, driver="m2", quantity=D("0.37"), whole_units=True)
    second = doors.add_system("Second").operations.get()
    second.system, second.position, second.name, second.zone = system, 2, ">5 =top coat*", "show"
    second.save()
    doors.add_doors(doors.estimate, label="Frame", pieces=7, length=D(2100), width=D(63), geometry_factor=D("0.7"))
    doors.add_doors(doors.estimate, label="Back", pieces=3, length=D(900), width=D(560), zone="hidden")
    return freeze(price(doors.estimate, system), on=TODAY())


def test_the_cost_sheet_reckons_to_its_own_figures(rich: Snapshot, doors: DoorShop, soffice: Path, tmp_path: Path) -> None:
    book = recalculated(soffice, cost_sheet_xlsx(rich, doors.shop), tmp_path)
    rows = rows_by_label(book, SUMMARY)
    for group in rich.groups:
        assert cent(rows[GROUP_WORDS[group.group]][1]) == group.shown, group.group
    assert cent(rows["True cost"][1]) == rich.true_cost
    assert cent(rows["True cost"][2]) == rich.cost_per_m2
    assert cent(rows["Price"][1]) == round(rich.price.calculated, 2)
    assert cent(rows["Price before tax"][1]) == rich.price.net
    assert cent(rows["VAT"][1]) == rich.price.tax
    assert cent(rows["Price with tax"][1]) == rich.price.total
    printed = pdf_text(cost_sheet_pdf(rich, doors.shop))
    for amount in (rich.true_cost, rich.price.net, rich.price.tax, rich.price.total, *(group.shown for group in rich.groups)):
        assert show.money(amount) in printed


def test_the_litres_of_its_coats_are_those_of_the_model(rich: Snapshot, doors: DoorShop, soffice: Path, tmp_path: Path) -> None:
    book = recalculated(soffice, cost_sheet_xlsx(rich, doors.shop), tmp_path)
    rows = rows_by_label(book, "Coats")
    coats = [step.coat for step in rich.steps if step.coat is not None]
    for column, coat in enumerate(coats):
        assert (rows["Batches"][column], rows["Fills"][column]) == (coat.batches, coat.fills)
        assert litres(rows["Mixed, L"][column]) == pytest.approx(float(coat.mixed), rel=1e-12)
        assert litres(rows["Overspray, L"][column]) == pytest.approx(float(coat.overspray), rel=1e-12)
    # A little over three pot lives: rounding to the nearest would mix one batch too few.
    assert (coats[0].batches, coats[0].pot_life) == (4, 20)
    assert coats[0].spray_minutes < 70
    materials = rows_by_label(book, "Materials")
    for use in rich.material_uses:
        assert litres(materials[use.name][3]) == pytest.approx(float(use.heel_litres), abs=1e-12)
        assert litres(materials[use.name][6]) == pytest.approx(float(use.film), rel=1e-12)


def test_every_sheet_of_a_us_shop_is_in_us_units_and_comes_to_the_same_price(
    rich: Snapshot, doors: DoorShop, soffice: Path, tmp_path: Path
) -> None:
    shop = set_shop(unit_system="us")
    book = recalculated(soffice, cost_sheet_xlsx(rich, shop), tmp_path)
    rows = rows_by_label(book, SUMMARY)
    for group in rich.groups:
        assert cent(rows[GROUP_WORDS[group.group]][1]) == group.shown, group.group
    assert cent(rows["Price with tax"][1]) == rich.price.total
    assert litres(rows["Finished area, ft²"][0]) == pytest.approx(float(rich.takeoff.area) / 0.09290304, rel=1e-12)
    coats = rows_by_label(book, "Coats")
    first = rich.steps[0].coat
    assert first is not None
    assert litres(coats["Mixed, gal"][0]) == pytest.approx(float(first.mixed) / 3.785411784, rel=1e-12)
    assert litres(coats["Wet film, mil"][0]) == pytest.approx(float(first.wet_film) / 25.4, rel=1e-12)
    cells = {str(cell.value) for sheet in book for row in sheet.iter_rows() for cell in row}
    assert [words for words in cells if "m²" in words or words.endswith((", L", "per L", "µm"))] == []


def test_changed_cells_come_to_what_the_program_reckons_with_them(
    rich: Snapshot, doors: DoorShop, soffice: Path, tmp_path: Path
) -> None:
    """A poorer transfer efficiency fills more cups, and with them liners, minutes, booth time and disposal."""
    book = workbook(cost_sheet_xlsx(rich, doors.shop))
    coats, summary = book["Coats"], book[SUMMARY]
    (efficiency,) = (row[0].row for row in coats.iter_rows() if row[0].value == "Transfer efficiency")
    (margin,) = (row[0].row for row in summary.iter_rows() if row[0].value == "Margin")
    for column in (2, 3):
        assert coats.cell(efficiency, column).value == pytest.approx(0.65)
        coats.cell(efficiency, column).value = 0.41
    summary.cell(margin, 2).value = 0.28
    changed = tmp_path / "changed.xlsx"
    book.save(changed)
    doors.setup.transfer_efficiency = D("0.41")
    doors.setup.save()
    set_shop(margin=D("0.28"))
    expected = freeze(price(doors.estimate, type(doors.system).objects.get(pk=rich.system_id)), on=TODAY())
    assert [step.coat.fills for step in expected.steps if step.coat] > [step.coat.fills for step in rich.steps if step.coat]
    rows = rows_by_label(recalculated(soffice, changed.read_bytes(), tmp_path), SUMMARY)
    for group in expected.groups:
        assert cent(rows[GROUP_WORDS[group.group]][1]) == group.shown, group.group
    assert cent(rows["Price before tax"][1]) == expected.price.net
    assert cent(rows["Price with tax"][1]) == expected.price.total


def test_a_changed_area_reaches_work_and_supplies(rich: Snapshot, doors: DoorShop, soffice: Path, tmp_path: Path) -> None:
    book = workbook(cost_sheet_xlsx(rich, doors.shop))
    doors.estimate.rows.filter(position=1).update(form="area", area=D("31.5"))
    expected = freeze(price(doors.estimate, type(doors.system).objects.get(pk=rich.system_id)), on=TODAY())
    book["Takeoff"]["E2"] = 31.5
    changed = tmp_path / "changed.xlsx"
    book.save(changed)
    rows = rows_by_label(recalculated(soffice, changed.read_bytes(), tmp_path), SUMMARY)
    for group in expected.groups:
        assert cent(rows[GROUP_WORDS[group.group]][1]) == group.shown, group.group


def test_a_quote_frozen_without_its_lines_still_reckons(rich: Snapshot, doors: DoorShop, soffice: Path, tmp_path: Path) -> None:
    data = write_snapshot(rich)
    for step in data["steps"]:
        del step["time_lines"]
        for name in ("fill_minutes", "batch_minutes", "flash_minutes", "solids_per_litre"):
            del step["coat"][name]
    old = read_snapshot(SimpleNamespace(snapshot=data))
    rows = rows_by_label(recalculated(soffice, cost_sheet_xlsx(old, doors.shop), tmp_path), SUMMARY)
    for group in rich.groups:
        assert cent(rows[GROUP_WORDS[group.group]][1]) == group.shown, group.group


def test_changing_an_area_changes_the_price(rich: Snapshot, doors: DoorShop, soffice: Path, tmp_path: Path) -> None:
    book = workbook(cost_sheet_xlsx(rich, doors.shop))
    book["Takeoff"]["E2"] = float(rich.takeoff.rows[0].area) * 2
    changed = tmp_path / "changed.xlsx"
    book.save(changed)
    rows = rows_by_label(recalculated(soffice, changed.read_bytes(), tmp_path), SUMMARY)
    assert cent(rows["Film on the work"][1]) > next(group.shown for group in rich.groups if group.group == "film")
    assert cent(rows["Price with tax"][1]) > rich.price.total


@pytest.mark.parametrize(
    ("step", "margin", "minimum", "net"),
    [
        ("5", "0.4", "0", "315"),
        ("0", "0.4", "0", "311.55"),
        ("0.5", "0.4", "0", "312"),
        ("5", "0.4", "500", "500"),
        ("1", "0", "0", "187"),
    ],
)
def test_every_way_to_a_price_is_reckoned_alike(
    doors: DoorShop, soffice: Path, tmp_path: Path, step: str, margin: str, minimum: str, net: str
) -> None:
    shop = set_shop(price_step=D(step), margin=D(margin), minimum_charge=D(minimum))
    snapshot = freeze(price(doors.estimate, doors.system), on=TODAY())
    assert snapshot.price.net == D(net)
    rows = rows_by_label(recalculated(soffice, cost_sheet_xlsx(snapshot, shop), tmp_path), SUMMARY)
    assert cent(rows["Price before tax"][1]) == snapshot.price.net
    assert cent(rows["Price with tax"][1]) == snapshot.price.total


def test_the_quote_s_taxes_and_totals_are_those_of_its_pdf(doors: DoorShop, soffice: Path, tmp_path: Path) -> None:
    set_shop(tax_rate=D("0.0825"), price_step=D(0))
    thick = doors.add_system("Thick", dry_film=D(57))
    doors.estimate.options.create(position=2, system=thick)
    quote = doors.quote(doors.system, thick)
    book = recalculated(soffice, quote_xlsx(quote, doors.shop), tmp_path)
    rows = rows_by_label(book, SHEET)
    printed = pdf_text(quote_pdf(quote, doors.shop))
    for option in quote.options.all():
        _, _, net, tax, total = rows[option.label][:5]
        assert (cent(net), cent(tax), cent(total)) == (option.net, option.tax, option.total)
        assert show.money(option.total) in printed
        assert show.money(option.tax) in printed
