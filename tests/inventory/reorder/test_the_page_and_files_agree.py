"""The reorder list as page, PDF and spreadsheet: the same figures, for those who buy."""

from __future__ import annotations

import io
import subprocess
from decimal import Decimal
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook
from pypdf import PdfReader

from finishing.models import Shop, User
from inventory.models import Material, Pack, Supplier
from inventory.reorder import reorder_list
from tests.inventory.reorder.shelf import deliver

pytestmark = pytest.mark.django_db
D = Decimal
PAGES = ("reorder_list", "reorder_pdf", "reorder_xlsx")


@pytest.fixture
def desk(client: Client, office: User) -> Client:
    client.force_login(office)
    return client


@pytest.fixture
def trap(supplier: Supplier) -> Material:
    """A material whose name would like to be a formula, at a price that needs rounding."""
    material = Material.objects.create(
        code="TRAP", name="=1+1 <b>Łódź µm² €</b>", kind="coating", weekly_use=D(3), weekly_use_sd=D(0)
    )
    Pack.objects.create(
        material=material, supplier=supplier, description="0.7 L", content=D("0.7"), price=D("3.335"), is_usual=True
    )
    return material


def test_the_page_shows_packs_reasons_and_total(desk: Client, clear: Material) -> None:
    page = desk.get(reverse("reorder_list")).text
    for words in ("5 L can", "$109.00", "$218.00", "Reorder point, normal form, for 95 % of order cycles", "$282.00 short"):
        assert words in page, words


def test_an_empty_list_says_what_to_do_first(desk: Client) -> None:
    assert "Enter materials with their packs" in desk.get(reverse("reorder_list")).text


def test_files_of_an_empty_list_say_so(desk: Client) -> None:
    text = PdfReader(io.BytesIO(desk.get(reverse("reorder_pdf")).content)).pages[0].extract_text()
    assert "Nothing has to be ordered today." in text
    sheet = load_workbook(io.BytesIO(desk.get(reverse("reorder_xlsx")).content)).active
    assert any("Nothing has to be ordered today." in str(cell.value) for row in sheet.iter_rows() for cell in row)


@pytest.mark.parametrize("page", PAGES)
def test_only_buyers_see_it(client: Client, page: str) -> None:
    assert client.get(reverse(page)).status_code == 302
    for role, status in (("finisher", 403), ("estimator", 403), ("owner", 200), ("office", 200)):
        client.force_login(User.objects.get_or_create(username=role, **{f"is_{role}": True})[0])
        assert client.get(reverse(page)).status_code == status, role


@pytest.mark.parametrize("page_size", ["A4", "letter"])
def test_the_pdf_prints_names_signs_and_totals(desk: Client, clear: Material, trap: Material, page_size: str) -> None:
    shop = Shop.current()
    shop.page_size = page_size
    shop.save()
    answer = desk.get(reverse("reorder_pdf"))
    assert answer["Content-Disposition"].endswith('.pdf"')
    text = " ".join(PdfReader(io.BytesIO(answer.content)).pages[0].extract_text().split())
    assert "=1+1 <b>Łódź µm² €</b>" in text
    assert "$218.00" in text
    assert "Total" in text


def recalculated(source: Path, soffice: Path) -> dict[str, object]:
    """Every total of the list, and whether minimums are reached, as LibreOffice reckons them anew."""
    out = source.parent / f"{source.stem}-out"
    command = [str(soffice), "--headless", "--norestore", f"-env:UserInstallation={(source.parent / 'profile').as_uri()}"]
    subprocess.run(
        [*command, "--convert-to", "xlsx", "--outdir", str(out), str(source)], check=True, capture_output=True, timeout=120
    )
    sheet = load_workbook(out / source.name, data_only=True)["Reorder list"]
    found: dict[str, object] = {str(row[0].value): row[7].value for row in sheet.iter_rows() if row[0].value}
    found["minimum"] = next(row[1].value for row in sheet.iter_rows() if "Minimum order" in str(row[1].value))
    return found


@pytest.mark.libreoffice
def test_the_sums_of_the_spreadsheet_follow_a_changed_number(
    desk: Client, clear: Material, trap: Material, soffice: Path, tmp_path: Path
) -> None:
    Supplier.objects.update(delivery_charge=D(12), minimum_order=D(1000))
    source = tmp_path / "list.xlsx"
    source.write_bytes(desk.get(reverse("reorder_xlsx")).content)
    as_sent = recalculated(source, soffice)
    assert as_sent["All suppliers"] == pytest.approx(float(reorder_list(today=timezone.localdate()).total))
    assert as_sent["minimum"] == "Minimum order: not reached"
    book = load_workbook(source)
    [packs] = [row[5] for row in book["Reorder list"].iter_rows() if row[3].value == "5 L can"]
    before, packs.value = packs.value, 20
    changed = tmp_path / "changed.xlsx"
    book.save(changed)
    after = recalculated(changed, soffice)
    assert after["Total North Yard (invented)"] == after["All suppliers"]
    assert after["All suppliers"] == pytest.approx(as_sent["All suppliers"] + (20 - before) * 109)  # type: ignore[operator]
    assert after["minimum"] == "Minimum order: reached"


@pytest.mark.libreoffice
def test_the_spreadsheet_recalculates_to_the_pages_total(
    desk: Client, clear: Material, trap: Material, soffice: Path, tmp_path: Path
) -> None:
    source = tmp_path / "list.xlsx"
    source.write_bytes(desk.get(reverse("reorder_xlsx")).content)
    written = load_workbook(source)["Reorder list"]
    formulas = [cell.value for row in written.iter_rows() for cell in row if cell.data_type == "f"]
    assert formulas
    assert "=1+1 <b>Łódź µm² €</b>" not in formulas
    command = [str(soffice), "--headless", "--norestore", f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"]
    command += ["--convert-to", "xlsx", "--outdir", str(tmp_path / "out"), str(source)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    sheet = load_workbook(tmp_path / "out" / "list.xlsx", data_only=True)["Reorder list"]
    totals = {row[0].value: row[7].value for row in sheet.iter_rows() if row[0].value and "suppliers" in str(row[0].value)}
    # 2 × 109.00; 6 L in packs of 0.7 L are 9 × 3.335 = 30.015, rounded half up
    assert totals == {"All suppliers": pytest.approx(218.00 + 30.02)}
    assert "$248.02" in desk.get(reverse("reorder_list")).text


def test_lots_in_stock_change_what_the_page_says(desk: Client, clear: Material, office: User) -> None:
    deliver(clear, "50", by=office)
    page = desk.get(reverse("reorder_list")).text
    assert "Nothing has to be ordered today." in page
    assert "1 with enough in stock" in page
