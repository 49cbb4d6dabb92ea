"""Names, signs and units come out of the PDF as they were typed, on the shop's paper; text stays text in a spreadsheet."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from costing.cautions import cautions_for
from costing.documents.cost_sheet_pdf import cost_sheet_pdf
from costing.documents.cost_sheet_xlsx import cost_sheet_xlsx
from costing.documents.quote_pdf import CHOOSE_ONE, quote_pdf
from costing.documents.quote_xlsx import quote_xlsx
from costing.models import Quote
from costing.services.estimating import price
from costing.services.freezing import freeze
from costing.snapshots import Snapshot, read_snapshot
from finishing.models import User
from inventory.models import Material
from tests.costing.documents.reading import pdf_size, pdf_text, workbook
from tests.costing.pricing.door_shop import TODAY, DoorShop, set_shop

D = Decimal
EVIL = '=HYPERLINK("http://example.test","x")'


def frozen(doors: DoorShop) -> Snapshot:
    """The worked example's snapshot."""
    return freeze(price(doors.estimate, doors.system), on=TODAY())


def test_the_quote_prints_names_and_signs(doors: DoorShop) -> None:
    doors.customer.name = "Łukasz Őry & Søn <Café> Čapek"
    doors.customer.save()
    quote = doors.quote(title="Türen 2 × 24 – µm m² ½", introduction="Grüße an Zoë", terms="Half now, half later.")
    text = pdf_text(quote_pdf(quote, doors.shop))
    for words in ("Łukasz Őry & Søn <Café> Čapek", "Türen 2 × 24 – µm m² ½", "Grüße an Zoë", "Half now, half later.",
                  "Tür & Söhne", "15.32 m²", "€315.00", "€59.85", "€374.85", "VAT, 19 %", "Q-0001", "Signature"):  # fmt: skip
        assert words in text
    assert "valid until" in text
    assert CHOOSE_ONE not in text


def test_several_options_are_listed_and_never_added_up(doors: DoorShop) -> None:
    second = doors.add_system("Second")
    doors.estimate.options.create(position=2, system=second)
    text = pdf_text(quote_pdf(doors.quote(doors.system, second), doors.shop))
    assert CHOOSE_ONE in text
    assert "1. Clear finish" in text
    assert "2. Second" in text
    assert "Option chosen" in text
    assert "€749.70" not in text  # twice 374.85


def test_the_cost_sheet_prints_groups_steps_coats_and_cautions(doors: DoorShop) -> None:
    text = pdf_text(cost_sheet_pdf(frozen(doors), doors.shop, reference="Q-0007", cautions=cautions_for(Material.objects.all())))
    for words in ("For the shop only", "Q-0007", "Overspray", "€20.62", "True cost", "€186.93", "€12.20/m²", "€315.00", "110 µm",
                  "2.793 L", "€20.00/L", "does not state compliance", "Caution: Hardener", "safety data sheet"):  # fmt: skip
        assert words in text


def test_a_shop_that_reads_us_units_prints_them(doors: DoorShop) -> None:
    shop = set_shop(unit_system="us", currency="USD", locale="en_US")
    text = pdf_text(cost_sheet_pdf(frozen(doors), shop))
    for words in ("164.91 ft²", "0.738 gal", "4.33 mil", "$75.71/gal"):
        assert words in text
    assert "164.91 ft²" in pdf_text(quote_pdf(doors.quote(), shop))


def test_a_frozen_document_keeps_its_currency(doors: DoorShop) -> None:
    quote = doors.quote()
    shop = set_shop(currency="USD", locale="en_US")
    assert "€374.85" in pdf_text(quote_pdf(quote, shop))
    assert "€186.93" in pdf_text(cost_sheet_pdf(read_snapshot(quote.options.get()), shop))
    (price_cell,) = [cell for row in workbook(quote_xlsx(quote, shop))["Quote"].iter_rows() for cell in row if cell.value == 315]
    assert price_cell.number_format == '"€"#,##0.00'


@pytest.mark.parametrize(("page_size", "points"), [("A4", (595.28, 841.89)), ("letter", (612, 792))])
def test_both_papers(doors: DoorShop, page_size: str, points: tuple[float, float]) -> None:
    shop = set_shop(page_size=page_size)
    for data in (quote_pdf(doors.quote(), shop), cost_sheet_pdf(frozen(doors), shop)):
        assert pdf_size(data) == pytest.approx(points, abs=0.1)


def test_a_quote_of_many_words_flows_over_pages(doors: DoorShop) -> None:
    quote = doors.quote(introduction="word " * 390, terms="term " * 390)
    text = pdf_text(quote_pdf(quote, doors.shop))
    assert text.count("word") == text.count("term") == 390
    assert "page 1 of 2" in text


def _quote(quote: Quote, doors: DoorShop) -> bytes:
    return quote_xlsx(quote, doors.shop)


def _cost_sheet(quote: Quote, doors: DoorShop) -> bytes:
    return cost_sheet_xlsx(read_snapshot(quote.options.get()), doors.shop)


@pytest.mark.parametrize("write", [_quote, _cost_sheet])
def test_text_from_people_never_becomes_a_formula(doors: DoorShop, write: Callable[[Quote, DoorShop], bytes]) -> None:
    doors.customer.name = doors.estimate.name = EVIL
    doors.customer.save()
    doors.estimate.save()
    doors.system.customer_text = EVIL
    doors.system.save()
    Material.objects.update(name=EVIL)
    doors.estimate.rows.update(label=EVIL)
    doors.system.operations.update(name=EVIL)
    quote = doors.quote(title=EVIL, introduction=EVIL, terms=EVIL)
    typed = [
        cell.data_type
        for sheet in workbook(write(quote, doors)).worksheets
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, str) and "HYPERLINK" in cell.value
    ]
    assert typed
    assert set(typed) == {"s"}


def test_files_have_names_that_are_found_again(doors: DoorShop, client: Client, estimator: User) -> None:
    client.force_login(estimator, backend="finishing.auth.RoleBackend")
    quote = doors.quote()
    Quote.objects.filter(pk=quote.pk).update(revision=2)
    doors.system.name = "Čistý lak / 2×"
    doors.system.save()
    wanted = {
        reverse("quote_pdf", args=[quote.pk]): "quote-Q-0001-rev2.pdf",
        reverse("quote_xlsx", args=[quote.pk]): "quote-Q-0001-rev2.xlsx",
        reverse("quote_cost_sheet_pdf", args=[quote.pk, 1]): "cost-sheet-Q-0001-rev2-clear-finish.pdf",
        reverse("quote_cost_sheet_xlsx", args=[quote.pk, 1]): "cost-sheet-Q-0001-rev2-clear-finish.xlsx",
        reverse(
            "cost_sheet_pdf", args=[doors.estimate.pk, doors.system.pk]
        ): f"cost-sheet-E-{doors.estimate.pk:04d}-cisty-lak-2.pdf",
    }
    for url, name in wanted.items():
        answer = client.get(url)
        assert answer["Content-Disposition"] == f'attachment; filename="{name}"'
        assert answer.content[:2] in {b"%P", b"PK"}
    assert client.get(reverse("quote_cost_sheet_pdf", args=[quote.pk, 9])).status_code == 404


def test_a_downloaded_cost_sheet_carries_the_cautions_of_its_materials(doors: DoorShop, client: Client, estimator: User) -> None:
    client.force_login(estimator, backend="finishing.auth.RoleBackend")
    frozen_sheet = reverse("quote_cost_sheet_pdf", args=[doors.quote().pk, 1])
    for url in (frozen_sheet, reverse("cost_sheet_pdf", args=[doors.estimate.pk, doors.system.pk])):
        assert "Caution: Hardener" in pdf_text(client.get(url).content)


def test_wrapped_words_get_the_height_they_need(doors: DoorShop) -> None:
    sheet = workbook(quote_xlsx(doors.quote(terms="A long sentence about the terms. " * 10), doors.shop))["Quote"]
    (row,) = [number for number in range(1, sheet.max_row + 1) if sheet.cell(number, 1).value == "Terms"]
    assert sheet.row_dimensions[row].height >= 7 * 15
