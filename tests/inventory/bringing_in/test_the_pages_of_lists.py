"""A list goes from its template over the dry run into the books, page by page, and a refusal stands at its field."""

from __future__ import annotations

import io
import uuid
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from openpyxl import load_workbook

from inventory.bringing_in.lists import LISTS
from inventory.models import ListUpload, Material, Supplier
from tests.inventory.bringing_in.bringing import csv_file, xlsx_file
from tests.inventory.pages.shop import person

HEAD = ("Code", "Name", "Kind", "Kept in")
CLEAR = ("CLEAR", "Clear coat", "Coating", "L")


def send(client: Client, content: bytes, *, kind: str = "materials", name: str = "list.csv", **more: str) -> Any:
    data = {"file": SimpleUploadedFile(name, content), "key": str(uuid.uuid4())} | more
    return client.post(reverse("bring_in_list", args=[kind]), data)


def test_a_file_is_read_shown_and_applied(office: Client) -> None:
    shown = office.get(send(office, xlsx_file(HEAD, CLEAR))["Location"])

    assert "Apply 1 row" in shown.text
    assert "Clear coat" in shown.text
    assert not Material.objects.exists()
    upload = ListUpload.objects.get()
    applied = office.post(reverse("list_apply", args=[upload.pk]), follow=True)
    assert "Applied on" in applied.text
    assert "Apply 1 row" not in applied.text
    assert Material.objects.get().code == "CLEAR"


def test_a_form_sent_twice_makes_one_upload_and_applies_once(office: Client) -> None:
    key = str(uuid.uuid4())

    first, second = (send(office, csv_file(HEAD, CLEAR), key=key)["Location"] for _ in range(2))
    assert first == second
    for _ in range(2):
        office.post(f"{first}apply/")
    assert Material.history.count() == 1


def test_wrong_rows_are_shown_first_and_there_is_nothing_to_apply(office: Client) -> None:
    page = office.get(send(office, csv_file(HEAD, CLEAR, ("", "No code", "Coating", "L")))["Location"])

    assert "1 row to put right" in page.text
    assert "The code is missing." in page.text
    assert "Clear coat" not in page.text
    assert "Apply" not in page.text
    assert "Clear coat" in office.get(f"{page.request['PATH_INFO']}?show=all").text


def test_a_list_that_is_in_the_books_says_so(office: Client) -> None:
    for _ in range(2):
        page = office.get(send(office, csv_file(HEAD, CLEAR))["Location"])
        office.post(reverse("list_apply", args=[ListUpload.objects.latest("pk").pk]))

    assert "Nothing would change: all of it is in the books already." in page.text
    first = ListUpload.objects.earliest("pk")
    assert f'<a href="{first.get_absolute_url()}">This very file</a> was applied on' in page.text
    assert "This very file" not in office.get(first.get_absolute_url()).text


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "The file is empty. Choose the file that holds the list of materials."),
        (b"x," * 1_100_000, "The file is larger than 2,000 kB. Upload only the list of materials, without pictures."),
        (
            csv_file(("Code", "Name"), ("A", "B")),
            "There is no column for “Kind” and none for “Kept in”. Name it as the template does.",
        ),
        (csv_file((*HEAD, "Code"), CLEAR), "“Code” and “Code” mean the same: keep one of them."),
        (csv_file(HEAD), "There are names of columns and no rows below them. Fill in the rows, then upload the file."),
    ],
)
def test_a_file_that_cannot_be_read_is_told_at_its_field(office: Client, content: bytes, words: str) -> None:
    page = send(office, content)

    assert page.status_code == 422
    assert page.context["form"].errors["file"] == [words]
    assert not ListUpload.objects.exists()


def test_the_page_tells_how_large_a_file_may_be(office: Client) -> None:
    page = office.get(reverse("bring_in_list", args=["materials"])).text

    assert "up to 2,000 kB, 10,000 rows and 60 columns; a workbook up to 40 MB unpacked" in page


@pytest.mark.parametrize("kind", LISTS)
@pytest.mark.parametrize("form", ["xlsx", "csv"])
def test_a_template_left_as_it_is_brings_nothing_in(office: Client, yard: Supplier, kind: str, form: str) -> None:
    template = office.get(reverse("list_template", args=[kind, form]))

    assert template["Content-Disposition"].startswith('attachment; filename="')
    assert f".{form}" in template["Content-Disposition"]
    page = send(office, template.content, kind=kind, on="2026-01-02", supplier=str(yard.pk))
    assert "there are names of columns and no rows" in str(page.context["form"].errors["file"]).lower()


def test_the_example_row_is_marked_and_left_out_when_it_is_left_in(office: Client) -> None:
    book = load_workbook(io.BytesIO(office.get(reverse("list_template", args=["materials", "xlsx"])).content))
    sheet = book.worksheets[0]
    assert str(sheet["A2"].value).startswith("example:")
    assert book.sheetnames[1] == "How to fill it in"
    sheet.append(CLEAR)
    out = io.BytesIO()
    book.save(out)

    page = office.get(send(office, out.getvalue())["Location"])

    assert "Row 2 is the template’s example and was not read." in page.text
    assert ListUpload.objects.get().counts["new"] == 1


@pytest.mark.parametrize(("role", "may"), [("office", True), ("owner", True), ("estimator", False), ("finisher", False)])
def test_lists_are_for_the_office_and_the_owner(db: None, role: str, may: bool) -> None:
    client = Client()
    client.force_login(person(role), backend="finishing.auth.RoleBackend")

    for name, arguments in (("bring_in", []), ("bring_in_list", ["materials"]), ("list_out", ["materials", "csv"])):
        assert client.get(reverse(name, args=arguments)).status_code == (200 if may else 403)
    assert ("Bring in lists" in client.get(reverse("materials")).text) is may


def test_an_unknown_list_or_form_of_file_is_not_there(office: Client) -> None:
    for address in ("/bring-in/paint/", "/bring-in/materials/list.pdf", "/bring-in/paint/template.csv"):
        assert office.get(address).status_code == 404
