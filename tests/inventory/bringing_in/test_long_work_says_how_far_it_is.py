"""Work that takes longer shows how far it is, ends with its result, and is undone when nobody waits for it."""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import StreamingHttpResponse
from django.test import Client
from django.urls import reverse

from finishing import working
from inventory.models import ListUpload, Material
from tests.inventory.bringing_in.bringing import csv_file

HEAD = ("Code", "Name", "Kind", "Kept in")
ROWS = [(f"M-{number}", f"Material {number}", "Coating", "L") for number in range(1000)]


@pytest.fixture(autouse=True)
def no_patience(monkeypatch: pytest.MonkeyPatch) -> None:
    """Everything counts as long work from its first word on."""
    monkeypatch.setattr(working, "PATIENCE", 0.0)


def send(client: Client, content: bytes) -> Any:
    data = {"file": SimpleUploadedFile("list.csv", content), "key": str(uuid.uuid4())}
    return client.post(reverse("bring_in_list", args=["materials"]), data)


def read(response: StreamingHttpResponse) -> str:
    return b"".join(response.streaming_content).decode()  # type: ignore[arg-type]


def test_reading_and_writing_tell_their_progress_and_lead_to_the_result(office: Client) -> None:
    page = read(send(office, csv_file(HEAD, *ROWS)))

    upload = ListUpload.objects.get()
    assert "Checking rows: 250 of 1,000<progress max='1000' value='250'></progress>" in page
    assert f'href="{upload.get_absolute_url()}" data-follow' in page
    assert page.rstrip().endswith("</html>")
    assert not Material.objects.exists()
    page = read(office.post(reverse("list_apply", args=[upload.pk])))
    assert "Writing materials: 1,000 of 1,000" in page
    assert f'href="{upload.get_absolute_url()}" data-follow' in page
    assert Material.objects.count() == 1000
    assert "Applied on" in office.get(upload.get_absolute_url()).text


def test_what_it_wrote_is_undone_when_the_person_leaves(office: Client) -> None:
    read(send(office, csv_file(HEAD, *ROWS)))
    response = office.post(reverse("list_apply", args=[ListUpload.objects.get().pk]))

    lines = iter(response.streaming_content)
    while b"Writing materials: 500" not in next(lines):
        pass
    assert Material.objects.count() == 500
    response._iterator.close()  # as the server does for a connection that is gone

    assert not Material.objects.exists()
    assert ListUpload.objects.get().applied_at is None


def test_a_refusal_on_the_way_is_told_in_the_page(office: Client) -> None:
    read(send(office, csv_file(HEAD, *ROWS)))
    Material.objects.create(code="M-7", name="Entered meanwhile", kind="coating")

    page = read(office.post(reverse("list_apply", args=[ListUpload.objects.get().pk])))

    assert "The books have changed since" in page
    assert "data-follow" not in page
    assert Material.objects.count() == 1


def test_a_fault_of_the_program_is_told_without_a_traceback(office: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    read(send(office, csv_file(HEAD, *ROWS)))
    monkeypatch.setattr("inventory.bringing_in.materials.bulk_create_with_history", lambda *_args, **_more: 1 / 0)

    page = read(office.post(reverse("list_apply", args=[ListUpload.objects.get().pk])))

    assert "The program failed at this point. Nothing was written." in page
    assert "Traceback" not in page
    assert not Material.objects.exists()
