"""A pasted or uploaded list is checked first; only a list without a fault can be saved, all of it or nothing."""

from __future__ import annotations

import io
import uuid
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from openpyxl import Workbook

from costing.models import Estimate, TakeoffRow
from finishing.models import Shop

GOOD = "\n".join(
    (
        "Piece\tQty\tLength (in)\tWidth (in)\tThickness (in)\tZone",
        "Door\t12\t28 1/4\t15 5/8\t3/4\tshow",
        "Shelf\t8\t23.5\t11.25\t0.75\thidden",
    )
)
BAD = GOOD.replace("15 5/8", "wide").replace("\t8\t", "\tmany\t")


def paste(client: Client, estimate: Estimate, text: str, **more: str) -> Any:
    estimate.refresh_from_db()
    seen = str(estimate.takeoff_key or "")
    data = {"text": text, "mode": "append", "key": str(uuid.uuid4()), "seen": seen} | more
    return client.post(reverse("takeoff_paste", args=[estimate.pk]), data)


def upload(client: Client, estimate: Estimate, content: bytes, name: str = "list.xlsx") -> Any:
    return client.post(reverse("takeoff_upload", args=[estimate.pk]), {"file": SimpleUploadedFile(name, content)})


@pytest.fixture
def with_a_row(estimate: Estimate) -> Estimate:
    TakeoffRow.objects.create(estimate=estimate, position=1, label="Old", pieces=1, form="area", area=Decimal(1))
    return estimate


def test_a_good_list_is_shown_with_its_area_and_not_saved(estimator: Client, estimate: Estimate) -> None:
    response = paste(estimator, estimate, GOOD)

    assert response.status_code == 200
    assert "Save 2 rows" in response.text
    assert "10.34 m²" in response.text
    assert not estimate.rows.exists()


def test_saving_adds_the_rows_at_the_end(estimator: Client, with_a_row: Estimate) -> None:
    response = paste(estimator, with_a_row, GOOD, save="1")

    assert response.status_code == 302
    assert list(with_a_row.rows.values_list("position", "label", "zone")) == [
        (1, "Old", "show"),
        (2, "Door", "show"),
        (3, "Shelf", "hidden"),
    ]
    assert with_a_row.rows.get(label="Door").length == Decimal("717.55")


def test_saving_may_replace_the_rows(estimator: Client, with_a_row: Estimate) -> None:
    paste(estimator, with_a_row, GOOD, save="1", mode="replace")

    assert list(with_a_row.rows.values_list("label", flat=True)) == ["Door", "Shelf"]


def test_a_list_with_faults_is_not_saved_and_stays_to_be_mended(estimator: Client, with_a_row: Estimate) -> None:
    response = paste(estimator, with_a_row, BAD, save="1", mode="replace")

    assert response.status_code == 422
    assert [(problem.row, problem.column) for problem in response.context["reading"].problems] == [(2, "Width (in)"), (3, "Qty")]
    page = response.text.replace("&#x27;", "'")
    assert "“wide” can't be read as a length." in page
    assert "“many” is not a whole number of pieces." in page
    assert "28 1/4\twide" in page
    assert "Save 2 rows" not in page
    assert list(with_a_row.rows.values_list("label", flat=True)) == ["Old"]


def test_a_doubled_save_adds_the_rows_once_and_an_old_page_is_told(estimator: Client, estimate: Estimate) -> None:
    key = str(uuid.uuid4())
    data = {"text": GOOD, "mode": "append", "key": key, "seen": "", "save": "1"}
    here = reverse("takeoff_paste", args=[estimate.pk])

    assert estimator.post(here, data).status_code == 302
    assert estimator.post(here, data).status_code == 302
    assert estimate.rows.count() == 2
    stale = estimator.post(here, data | {"key": str(uuid.uuid4())})
    assert stale.status_code == 422
    assert "The rows were changed since this page was opened" in stale.text
    assert estimate.rows.count() == 2


@pytest.mark.parametrize("text", ["", "   \n "])
def test_an_empty_paste_is_told_at_its_field(estimator: Client, estimate: Estimate, text: str) -> None:
    response = paste(estimator, estimate, text)

    assert response.status_code == 422
    assert response.context["form"].errors["text"] == ["Paste the rows of your cut list, the row of column names included."]


def test_pasted_control_signs_are_told(estimator: Client, estimate: Estimate) -> None:
    response = paste(estimator, estimate, "Piece\x07\tQty")

    assert response.status_code == 422
    assert "signs that no text has" in response.context["form"].errors["text"][0]


def test_bare_sizes_are_in_the_shop_s_unit(estimator: Client, estimate: Estimate, us_shop: Shop) -> None:
    paste(estimator, estimate, "Piece\tQty\tLength\tWidth\nDoor\t1\t10\t5", save="1")

    assert estimate.rows.get().length == Decimal(254)


def test_an_uploaded_workbook_is_shown_and_saved_from_there(estimator: Client, estimate: Estimate) -> None:
    book = Workbook()
    for line in (["Cut list"], [], ["Piece", "Qty", "Length (mm)", "Width (mm)"], ['24" door', 2, 715, 397.5]):
        book.active.append(line)
    out = io.BytesIO()
    book.save(out)

    response = upload(estimator, estimate, out.getvalue())

    assert response.status_code == 200
    assert not estimate.rows.exists()
    text = response.context["form"]["text"].value()
    assert paste(estimator, estimate, text, save="1").status_code == 302
    row = estimate.rows.get()
    assert (row.label, row.pieces, row.width) == ('24" door', 2, Decimal("397.5"))


def test_an_uploaded_list_with_faults_names_the_rows_of_the_sheet(estimator: Client, estimate: Estimate) -> None:
    book = Workbook()
    for line in (["Cut list"], [], ["Piece", "Qty", "Length (mm)", "Width (mm)"], ["Door", 2, "=3*5", 397]):
        book.active.append(line)
    out = io.BytesIO()
    book.save(out)

    response = upload(estimator, estimate, out.getvalue())

    assert response.status_code == 422
    problem = response.context["reading"].problems[0]
    assert (problem.row, problem.column, problem.right) == (4, "Length (mm)", "Paste values instead of formulas.")


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "The file is empty. Choose the file that holds the cut list."),
        (b"PK\x03\x04 broken", "The workbook is cut short or damaged. Save it again, then upload it."),
        (b"x," * 1_100_000, "The file is larger than 2,000 kB. Upload only the cut list, without pictures."),
    ],
)
def test_a_file_that_cannot_be_read_is_told_at_its_field(
    estimator: Client, estimate: Estimate, content: bytes, message: str
) -> None:
    response = upload(estimator, estimate, content)

    assert response.status_code == 422
    assert response.context["form"].errors["file"] == [message]
    assert message in response.text


def test_a_form_without_a_file_is_told(estimator: Client, estimate: Estimate) -> None:
    response = estimator.post(reverse("takeoff_upload", args=[estimate.pk]), {})

    assert response.context["form"].errors["file"] == ["Choose the file that holds the cut list."]


def test_text_in_a_list_is_shown_as_text(estimator: Client, estimate: Estimate) -> None:
    response = paste(estimator, estimate, GOOD.replace("Door", "<script>alert(1)</script>"))

    assert "<script>alert" not in response.text


def test_a_long_list_shows_its_first_rows_and_counts_the_rest(estimator: Client, estimate: Estimate) -> None:
    lines = "\n".join(f"Door {number}\t1\t500\t300" for number in range(250))

    response = paste(estimator, estimate, f"Piece\tQty\tLength\tWidth\n{lines}")

    assert "And 50 more rows, understood as well." in response.text
    assert "Save 250 rows" in response.text


def test_the_template_is_a_download(estimator: Client) -> None:
    response = estimator.get(reverse("takeoff_template"))

    assert response["Content-Disposition"] == 'attachment; filename="cut-list-template.xlsx"'
    assert response.content.startswith(b"PK")
