"""What the books hold goes out as a file and comes in again without a change, whatever the texts and figures are."""

from __future__ import annotations

import csv
import io
import uuid
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook

from finishing.models import User
from inventory.bringing_in.files import FORMS, list_file
from inventory.bringing_in.lists import LISTS
from inventory.choices import FlammableCategory, ListKind, MaterialKind, SignalWord, StockUnit
from inventory.models import Location, Lot, Material, Pack, Supplier
from inventory.services import ledger
from tests.costing.documents.reading import recalculated
from tests.inventory.bringing_in.bringing import dry_run, faults, states

D = Decimal
SIGNS = [
    "=1+1",
    "+49 30",
    "-20 °C",
    "@home",
    "'=x",
    "''-",
    "a;b,c\td",
    '24" "x" wide',
    "1,5 L",
    "example",
    "Ünïcode ½ µm",
    "007",
    "1e5",
]
TEXTS = st.one_of(st.sampled_from(SIGNS), st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=30))
WORDS = TEXTS.map(str.strip).filter(bool)
NOTES = st.one_of(st.just(""), WORDS, st.lists(WORDS, min_size=2, max_size=3).map("\n".join))
ROUNDS = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def places(count: int, most: int) -> st.SearchStrategy[Decimal]:
    """Numbers from 0 with so many decimals."""
    return st.integers(0, most * 10**count).map(lambda steps: D(steps).scaleb(-count))


def perhaps(what: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | what


MATERIALS = st.fixed_dictionaries(
    {
        "name": WORDS,
        "kind": st.sampled_from(MaterialKind.values),
        "stock_unit": st.sampled_from(StockUnit.values),
        "is_active": st.booleans(),
        "density": perhaps(st.integers(3000, 50000).map(lambda steps: D(steps).scaleb(-4))),
        "volume_solids": perhaps(places(3, 100)),
        "mass_solids": perhaps(places(3, 100)),
        "voc": perhaps(places(3, 2000)),
        "water_fraction": st.integers(0, 5000).map(lambda steps: D(steps).scaleb(-4)),
        "exempt_fraction": st.integers(0, 5000).map(lambda steps: D(steps).scaleb(-4)),
        "yield_fraction": st.integers(100, 10000).map(lambda steps: D(steps).scaleb(-4)),
        "pot_life_min": perhaps(st.integers(1, 86400)),
        "shelf_life_days": perhaps(st.integers(1, 3650)),
        "open_life_days": perhaps(st.integers(1, 3650)),
        "opens_on_issue": st.booleans(),
        "signal_word": st.sampled_from(SignalWord.values),
        "h_codes": st.sampled_from(["", "H225", "H225 H317", "H226, H336"]),
        "flammable_category": perhaps(st.sampled_from(FlammableCategory.values)),
        "sds_reference": st.just("") | WORDS,
        "weekly_use": perhaps(places(6, 1_000_000)),
        "weekly_use_sd": perhaps(places(6, 1000)),
        "service_level": perhaps(st.integers(5000, 9990).map(lambda steps: D(steps).scaleb(-4))),
        "note": NOTES,
    }
)


@pytest.fixture
def undone(db: None) -> Callable[[Callable[[], None]], None]:
    """Runs a check and forgets what it wrote, so that each example begins with empty books."""

    def run(check: Callable[[], None]) -> None:
        with transaction.atomic():
            check()
            transaction.set_rollback(True)

    return run


def all_the_same(kind: ListKind, by: User, **more: Any) -> None:
    for form in FORMS:
        upload = dry_run(kind, list_file(LISTS[kind], form), by, **more)
        assert not faults(upload), (form, faults(upload))
        assert set(states(upload)) == {"same"}, (form, upload.report)


@ROUNDS
@given(rows=st.lists(MATERIALS, min_size=1, max_size=4), place=WORDS)
def test_materials(rows: list[dict[str, Any]], place: str, by: User, undone: Callable[[Callable[[], None]], None]) -> None:
    def check() -> None:
        usual = Location.objects.create(name=place)
        for number, row in enumerate(rows):
            Material.objects.create(code=f"M-{number}", usual_location=usual if number % 2 else None, **row)
        all_the_same(ListKind.MATERIALS, by)

    undone(check)


PACKS = st.fixed_dictionaries(
    {
        "supplier_code": st.just("") | WORDS,
        "description": WORDS,
        "content": places(6, 1000).filter(bool),
        "price": places(6, 100_000),
        "minimum_packs": st.integers(1, 500),
        "is_active": st.booleans(),
    }
)


@ROUNDS
@given(rows=st.lists(PACKS, min_size=1, max_size=5, unique_by=lambda row: row["description"].casefold()), name=WORDS)
def test_packs(rows: list[dict[str, Any]], name: str, by: User, undone: Callable[[Callable[[], None]], None]) -> None:
    def check() -> None:
        supplier = Supplier.objects.create(name=name)
        units = ("L", "pcs")
        materials = [Material.objects.create(code=unit, name="Clear", kind="coating", stock_unit=unit) for unit in units]
        for number, row in enumerate(rows):
            gtin = ("", "9506000134352", "00036000241457")[number] if number < 3 else ""
            Pack.objects.create(
                material=materials[number % 2], supplier=supplier, gtin=gtin, is_usual=number < 2 and row["is_active"], **row
            )
        all_the_same(ListKind.PACKS, by)

    undone(check)


LOTS = st.fixed_dictionaries(
    {
        "number": WORDS,
        "quantity": places(6, 1000).filter(bool),
        "cost": places(6, 1000),
        "expires_in": perhaps(st.integers(-40, 400)),
        "used": st.integers(0, 3),
    }
)


@ROUNDS
@given(rows=st.lists(LOTS, min_size=1, max_size=5, unique_by=lambda row: " ".join(row["number"].split()).casefold()))
def test_stock(rows: list[dict[str, Any]], by: User, undone: Callable[[Callable[[], None]], None]) -> None:
    today = timezone.localdate()

    def check() -> None:
        material = Material.objects.create(code="CLEAR", name="Clear", kind="coating", shelf_life_days=365)
        lines = [_line(material, row, today) for row in rows]
        ledger.receive(
            key=uuid.uuid4(), by=by, on=today, supplier=None, reference="x", lines=lines, accept_expired_reason="Was there."
        )
        for lot, row in zip(Lot.objects.order_by("pk"), rows, strict=True):
            used = lot.on_hand * row["used"] / 4
            if used and round(used, 6) == used:
                line = ledger.IssueLine(material=material, quantity=used, lot=lot)
                ledger.issue(
                    key=uuid.uuid4(), by=by, on=today, lines=[line], reference="x", override_reason="It was good when tested."
                )
        all_the_same(ListKind.STOCK, by)

    undone(check)


def _line(material: Material, row: dict[str, Any], today: date) -> ledger.ReceiptLine:
    expires = None if row["expires_in"] is None else today + timedelta(days=row["expires_in"])
    return ledger.ReceiptLine(
        material=material, quantity=row["quantity"], unit_cost=row["cost"], lot_number=row["number"], expires_on=expires
    )


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", '=HYPERLINK("http://x.invalid")'])
def test_no_text_goes_out_as_a_formula(by: User, text: str) -> None:
    Material.objects.create(code="X", name=text, kind="coating", note=text)
    brought = LISTS[ListKind.MATERIALS]

    cell = load_workbook(io.BytesIO(list_file(brought, "xlsx"))).worksheets[0]["B2"]
    assert (cell.data_type, cell.value) == ("s", text)
    [_, row] = csv.reader(io.StringIO(list_file(brought, "csv").decode("utf-8-sig")))
    assert row[1] == f"'{text}"


@pytest.mark.libreoffice
def test_a_workbook_saved_by_another_program_changes_nothing(by: User, soffice: Path, tmp_path: Path) -> None:
    for number, name in enumerate(SIGNS):
        Material.objects.create(code=f"M-{number}", name=name, kind="coating", density=D("1.0437"), weekly_use=D("0.000001"))
    exported = list_file(LISTS[ListKind.MATERIALS], "xlsx")
    out = io.BytesIO()
    recalculated(soffice, exported, tmp_path).save(out)

    upload = dry_run(ListKind.MATERIALS, out.getvalue(), by)

    assert not faults(upload)
    assert set(states(upload)) == {"same"}
