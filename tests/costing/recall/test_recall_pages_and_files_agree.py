"""The recall as page, PDF and spreadsheet, for those who may see whose work a lot went into."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from costing.models import Customer, Job
from finishing.models import User
from inventory.models import Supplier
from tests.costing.documents.reading import pdf_text, recalculated, workbook
from tests.costing.jobs.finish_shop import BASE, FinishShop, log, step

pytestmark = pytest.mark.django_db

As = Callable[[User], Client]
PAGES = ("recall", "recall_pdf", "recall_xlsx")
JOB_PAGES = ("job_lots", "job_lots_pdf", "job_lots_xlsx")


@pytest.fixture
def sprayed(stocked: FinishShop, kitchen: Job, hotel: Job, finisher: User) -> Job:
    """Both jobs have their first coat."""
    Customer.objects.filter(pk=kitchen.quote_option.quote.customer_id).update(name="=1+1 <b>Kitchens</b>")
    log(step(kitchen, "First coat"), by=finisher)
    log(step(hotel, "First coat"), by=finisher)
    return kitchen


def words_of(page: str) -> str:
    return " ".join(re.sub(r"<[^>]*>", " ", page).split())


def asked(client: Client, name: str, **said: object) -> str:
    answer = client.get(reverse(name), said)
    assert answer.status_code == 200
    return answer.text


def test_the_page_names_customers_and_how_to_reach_them(as_: As, office: User, sprayed: Job) -> None:
    page = asked(as_(office), "recall", number="b2")
    for words in (
        "Base, lot B2",
        "Hotel of Nowhere",
        "tel:5550199",
        "mailto:ida@kitchens.example",
        "1 Made-up Street<br>Nowhere",
    ):
        assert words in page, words
    assert "=1+1 &lt;b&gt;Kitchens&lt;/b&gt;" in page
    assert "First coat, mix of 2.793 L" in page


def test_the_way_leads_from_the_lot_and_from_the_job(as_: As, office: User, sprayed: Job, stocked: FinishShop) -> None:
    browser, lot = as_(office), stocked.lots["B2"]
    assert f'href="{reverse("recall")}?lot={lot.pk}"' in browser.get(lot.get_absolute_url()).text
    assert "Base, lot B2" in asked(browser, "recall", lot=lot.pk)
    assert reverse("job_lots", args=[sprayed.pk]) in browser.get(sprayed.get_absolute_url()).text
    page = browser.get(reverse("job_lots", args=[sprayed.pk])).text
    for number in ("B1", "B2", "H1", "L1", "S1"):
        assert f">{number}<" in page, number


MISTAKES: tuple[tuple[dict[str, str], str], ...] = (
    ({"number": "B99"}, "No lot here bears this number."),
    ({"number": "  "}, "Type or scan the lot number"),
    ({"lot": "999999"}, "There is no such lot."),
    ({"lot": "x"}, "There is no such lot."),
    ({"number": "B" * 400}, "300 characters"),
    ({"number": "B\x002"}, "field-error"),
)


def test_what_cannot_be_found_is_told_at_its_field(as_: As, office: User, sprayed: Job) -> None:
    browser = as_(office)
    for name in PAGES:
        for said, words in MISTAKES:
            answer = browser.get(reverse(name), said)
            assert answer.status_code == 422, (name, said)
            assert words in answer.text, (name, said)


def test_numbers_that_hold_what_was_typed_are_offered(as_: As, office: User, sprayed: Job, stocked: FinishShop) -> None:
    page = as_(office).get(reverse("recall"), {"number": "1"}).text
    assert f"?lot={stocked.lots['H1'].pk}" in page
    assert f"?lot={stocked.lots['B2'].pk}" not in page


def test_a_supplier_narrows_a_number(as_: As, office: User, sprayed: Job, supplier: Supplier) -> None:
    answer = as_(office).get(reverse("recall"), {"number": "B2", "supplier": supplier.pk})
    assert answer.status_code == 422
    assert "The lot with this number did not come from Second Source" in answer.text


def test_who_may_look(as_: As, office: User, owner: User, finisher: User, estimator: User, stranger: User, sprayed: Job) -> None:
    addresses = [f"{reverse(name)}?number=B2" for name in PAGES] + [reverse(name, args=[sprayed.pk]) for name in JOB_PAGES]
    for person, status in ((office, 200), (owner, 200), (finisher, 200), (estimator, 403), (stranger, 403)):
        browser = as_(person)
        assert [browser.get(address).status_code for address in addresses] == [status] * 6, person
    assert reverse("job_lots", args=[sprayed.pk]) not in as_(estimator).get(sprayed.get_absolute_url()).text


def test_empty_pages_say_what_comes_first(as_: As, office: User, shop: FinishShop) -> None:
    assert "No lots yet" in asked(as_(office), "recall")


def test_a_job_without_material_says_so(as_: As, office: User, kitchen: Job) -> None:
    browser = as_(office)
    assert "Nothing was taken for this job yet" in browser.get(reverse("job_lots", args=[kitchen.pk])).text
    for name in ("job_lots_pdf", "job_lots_xlsx"):
        assert browser.get(reverse(name, args=[kitchen.pk])).status_code == 200


def test_a_lot_that_nobody_used_calls_nobody(as_: As, office: User, sprayed: Job) -> None:
    browser = as_(office)
    assert "Nobody: nothing of these lots stayed" in asked(browser, "recall", number="B0")
    for name in ("recall_pdf", "recall_xlsx"):
        assert browser.get(reverse(name), {"number": "B0"}).status_code == 200


def test_the_pdfs_tell_the_same(as_: As, office: User, sprayed: Job) -> None:
    browser = as_(office)
    answer = browser.get(reverse("recall_pdf"), {"number": "B2"})
    assert 'filename="recall-b2.pdf"' in answer["Content-Disposition"]
    text = " ".join(pdf_text(answer.content).split())
    for words in (
        "=1+1 <b>Kitchens</b>",
        "555 0199",
        "Hotel of Nowhere",
        "2.591 L of Base",
        "0.591 L of Base",
        "Base: 10 L came in",
    ):
        assert words in text, words
    lots = " ".join(pdf_text(browser.get(reverse("job_lots_pdf", args=[sprayed.pk])).content).split())
    for words in (sprayed.number, "B1", "H1", "0.591 L", "First coat"):
        assert words in lots, words
    page = words_of(browser.get(reverse("job_lots", args=[sprayed.pk])).text)
    for told in (page, lots):
        assert " – 0.591 L" in told, "a dash for nothing that came back, on page and paper"


def test_a_pdf_that_would_fill_a_book_says_what_it_leaves_out(
    as_: As, office: User, sprayed: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("costing.documents.recall_pdf.MOST_TRACES", 1)
    text = " ".join(pdf_text(as_(office).get(reverse("recall_pdf"), {"number": "B2"}).content).split())
    assert "The latest 1 of 2; the spreadsheet lists all." in text
    assert "Hotel of Nowhere" in text
    assert sprayed.number in text


@pytest.mark.libreoffice
def test_the_spreadsheets_recalculate_to_the_page(as_: As, office: User, sprayed: Job, soffice: Path, tmp_path: Path) -> None:
    browser = as_(office)
    data = browser.get(reverse("recall_xlsx"), {"number": "B2"}).content
    formulas = [cell.value for sheet in workbook(data) for row in sheet.iter_rows() for cell in row if cell.data_type == "f"]
    assert len(formulas) == 5  # what stayed in two jobs, three sums
    book = recalculated(soffice, data, tmp_path)
    jobs = {row[0]: row for row in book["Jobs"].iter_rows(values_only=True)}
    assert jobs["Total"][7:10] == pytest.approx((float(2 * BASE - 2), 0, float(2 * BASE - 2)))
    assert jobs[sprayed.number][2:4] == ("Invented Kitchens", "Base")
    assert jobs[sprayed.number][9] == pytest.approx(float(BASE - 2))
    names = [row[0] for row in book["Customers to call"].iter_rows(values_only=True)]
    assert names[-2:] == ["=1+1 <b>Kitchens</b>", "Hotel of Nowhere"]
    counted = [row[5] for row in book["Issues and returns"].iter_rows(min_row=2, values_only=True)]
    assert sum(counted) == pytest.approx(float(2 * BASE - 2))
    other = tmp_path / "job"
    other.mkdir()
    job = recalculated(soffice, browser.get(reverse("job_lots_xlsx", args=[sprayed.pk])).content, other)
    totals = {row[3]: row[9] for row in job["Lots"].iter_rows(values_only=True) if row[0] == "Total"}
    assert totals["Base"] == pytest.approx(float(BASE))
