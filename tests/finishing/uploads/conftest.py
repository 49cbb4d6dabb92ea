"""Every upload of the house, with a good list for each and what it may never leave half done."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import models
from django.test import Client
from django.urls import reverse

from costing.models import Estimate, TakeoffRow
from finishing import working
from finishing.models import User
from inventory.models import (
    ListUpload,
    Location,
    Lot,
    Material,
    Movement,
    Pack,
    PackPrice,
    Posting,
    Supplier,
)
from tests.costing.pages.shop import make_estimate

KEPT: tuple[type[models.Model], ...] = (Location, Lot, Material, Movement, Pack, PackPrice, Posting, Supplier, TakeoffRow)
GOOD: dict[str, list[list[str]]] = {
    "takeoff": [["Piece", "Qty", "Length (mm)", "Width (mm)"], ["Door", "2", "715", "397.5"]],
    "materials": [["Code", "Name", "Kind", "Kept in", "Density (kg/L)"], ["NEW-1", "New coat", "Coating", "L", "1.04"]],
    "packs": [["Material", "Supplier", "Content", "Price"], ["CLEAR", "Yard (invented)", "20", "380.50"]],
    "stock": [["Material", "Lot", "Quantity", "Cost per unit", "Expires on"], ["CLEAR", "A-1", "7.5", "21.20", "2099-12-31"]],
    "prices": [["Supplier’s code", "GTIN", "Price"], ["Y-5", "", "108.50"]],
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a page said to a file."""

    status: int
    refusal: str  # at the file; empty where it was read
    faults: list[str]  # of its rows
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """Sends files to the uploads of the house."""

    client: Client
    estimate: Estimate
    supplier: Supplier

    def address(self, upload: str) -> str:
        """The page of an upload."""
        return (
            reverse("takeoff_upload", args=[self.estimate.pk]) if upload == "takeoff" else reverse("bring_in_list", args=[upload])
        )

    def send(self, upload: str, content: bytes, name: str = "list.xlsx") -> Answer:
        file = SimpleUploadedFile(name, content)
        if upload == "takeoff":
            return self._takeoff(self.client.post(self.address(upload), {"file": file}))
        data = {"file": file, "key": str(uuid.uuid4()), "on": "2026-01-02", "supplier": str(self.supplier.pk)}
        page = self.client.post(self.address(upload), data, follow=True)
        if page.status_code == 422:
            return Answer(status=422, refusal=" ".join(page.context["form"].errors.get("file", [])), faults=[], text=page.text)
        rows = ListUpload.objects.latest("pk").report["rows"]
        faults = [words for row in rows for _, words in row[4]]
        return Answer(status=page.status_code, refusal="", faults=faults, text=page.text)

    @staticmethod
    def _takeoff(page: Any) -> Answer:
        reading = page.context.get("reading")
        problems = reading.problems if reading else ()
        whole = [f"{one.wrong} {one.right}" for one in problems if one.row == 0 or not one.column]
        refusal = " ".join([*page.context["form"].errors.get("file", []), *whole])
        return Answer(
            status=page.status_code, refusal=refusal, faults=[f"{one.wrong} {one.right}" for one in problems], text=page.text
        )


@pytest.fixture(autouse=True)
def patience(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every answer is waited for, however busy the machine is."""
    monkeypatch.setattr(working, "PATIENCE", 600.0)


@pytest.fixture
def house(db: None) -> House:
    owner = User.objects.create(username="owner-person", is_owner=True)
    client = Client()
    client.force_login(owner, backend="finishing.auth.RoleBackend")
    supplier = Supplier.objects.create(name="Yard (invented)")
    clear = Material.objects.create(code="CLEAR", name="Clear coat", kind="coating")
    Pack.objects.create(material=clear, supplier=supplier, supplier_code="Y-5", description="can", content=5, price=100)
    return House(client=client, estimate=make_estimate(), supplier=supplier)


@pytest.fixture
def nothing_written(house: House) -> Callable[[], bool]:
    """Whether the books hold what they held when the test began."""
    before = _held()
    return lambda: _held() == before


def _held() -> dict[str, Sequence[Any]]:
    return {model.__name__: list(model._default_manager.order_by("pk").values_list()) for model in KEPT}
