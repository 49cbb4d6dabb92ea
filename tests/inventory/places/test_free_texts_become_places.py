"""The migration that turns free texts into places, run over an old shop in a database of its own, forward and back."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, IntegrityError, connection, connections
from django.db.migrations.loader import MigrationLoader
from django.db.utils import ConnectionHandler
from pytest_django import DjangoDbBlocker

from inventory import triggers

pytestmark = pytest.mark.database

BEFORE = "0006_order_people_and_packs_of_lots"
AFTER = "0007_locations_in_place_of_texts"


@pytest.fixture
def old(tmp_path: Path, django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[None]:
    """An empty database of the state before, in use as the default until the test ends."""
    with django_db_blocker.unblock():
        usual = connections[DEFAULT_DB_ALIAS]
        config = copy.deepcopy(usual.settings_dict)
        other = f"{usual.settings_dict['NAME']}_old"
        config["NAME"] = other if usual.vendor == "postgresql" else str(tmp_path / "old.sqlite3")
        if usual.vendor == "postgresql":
            _on_server(usual, f"DROP DATABASE IF EXISTS {other}")
            _on_server(usual, f"CREATE DATABASE {other}")
        connections[DEFAULT_DB_ALIAS] = ConnectionHandler({DEFAULT_DB_ALIAS: config})[DEFAULT_DB_ALIAS]
        try:
            _migrate(BEFORE)
            yield
        finally:
            connections[DEFAULT_DB_ALIAS].close()
            connections[DEFAULT_DB_ALIAS] = usual
            if usual.vendor == "postgresql":
                _on_server(usual, f"DROP DATABASE {other}")


def _on_server(usual: Any, statement: str) -> None:
    with usual._nodb_cursor() as cursor:
        cursor.execute(statement)


def _migrate(name: str) -> None:
    call_command("migrate", "inventory", name, verbosity=0)


def model(state: str, name: str) -> Any:
    """A model as it was after a migration."""
    apps = MigrationLoader(connection).project_state(("inventory", state)).apps
    return apps.get_model("inventory", name)


def fill() -> None:
    """Two materials and four lots with places in people's own spelling, one of them with stock; and one place that is known."""
    model(BEFORE, "Location").objects.create(name="Booth", kind="booth")
    make = model(BEFORE, "Material").objects.create
    clear, stain = make(code="C", name="Clear", kind="coating", place="Shelf A"), make(code="S", name="Stain", kind="coating")
    model(BEFORE, "HistoricalMaterial").objects.create(
        id=clear.pk,
        code="C",
        name="Clear",
        kind="coating",
        place="Old corner",
        history_date="2030-01-01T00:00Z",
        history_type="+",
    )
    for number, material, place in (
        ("1", clear, "Shelf A"),
        ("2", clear, " shelf a "),
        ("3", stain, "booth"),
        ("4", stain, "   "),
        ("5", stain, "Schrank Ä"),
    ):
        lot = model(BEFORE, "Lot").objects.create(
            material_id=material.pk, number=number, received_on=date(2030, 1, 1), unit_cost=Decimal(3), place=place
        )
        if number == "1":
            _receive(lot)


def _receive(lot: Any) -> None:
    user = MigrationLoader(connection).project_state(("inventory", BEFORE)).apps.get_model("finishing", "User")
    by = user.objects.create(username="old")
    posting = model(BEFORE, "Posting").objects.create(key=uuid4(), kind="receipt", by_id=by.pk, on=date(2030, 1, 1))
    model(BEFORE, "Movement").objects.create(posting_id=posting.pk, lot_id=lot.pk, quantity=Decimal(5), unit_cost=Decimal(3))
    model(BEFORE, "Lot").objects.filter(pk=lot.pk).update(on_hand=Decimal(5))


def places_of_lots() -> dict[str, tuple[str, str] | None]:
    lots = model(AFTER, "Lot").objects.select_related("location")
    return {lot.number: (lot.location.name, lot.location.kind) if lot.location else None for lot in lots}


def test_each_text_becomes_one_place_and_no_lot_loses_its_own(old: None) -> None:
    fill()
    _migrate(AFTER)
    assert places_of_lots() == {
        "1": ("Shelf A", "shelf"),
        "2": ("Shelf A", "shelf"),
        "3": ("Booth", "booth"),
        "4": None,
        "5": ("Schrank Ä", "shelf"),
    }
    assert sorted(model(AFTER, "Location").objects.values_list("name", flat=True)) == [
        "Booth",
        "Old corner",
        "Schrank Ä",
        "Shelf A",
    ]
    materials = model(AFTER, "Material").objects.values_list("code", "usual_location__name", "opens_on_issue")
    assert set(materials) == {("C", "Shelf A", False), ("S", None, False)}
    assert model(AFTER, "HistoricalMaterial").objects.get().usual_location.name == "Old corner"


def test_the_stock_stands_and_its_guards_are_up_again(old: None) -> None:
    fill()
    _migrate(AFTER)
    lot = model(AFTER, "Lot").objects.get(number="1")
    assert (lot.on_hand, lot.unit_cost) == (5, 3)
    with pytest.raises(IntegrityError, match="on_hand of a lot is the sum"):
        model(AFTER, "Lot").objects.update(on_hand=Decimal(1))
    with pytest.raises(IntegrityError, match="never changed or deleted"):
        model(AFTER, "Movement").objects.all().delete()
    assert not [name for name in triggers.missing_guards(connection) if "count" not in name]


def test_the_way_back_writes_the_names_as_texts_and_keeps_the_places(old: None) -> None:
    fill()
    _migrate(AFTER)
    _migrate(BEFORE)
    lots = model(BEFORE, "Lot").objects
    assert dict(lots.values_list("number", "place")) == {
        "1": "Shelf A",
        "2": "Shelf A",
        "3": "Booth",
        "4": "",
        "5": "Schrank Ä",
    }
    assert lots.get(number="1").on_hand == 5
    assert model(BEFORE, "Material").objects.get(code="C").place == "Shelf A"
    assert model(BEFORE, "HistoricalMaterial").objects.get().place == "Old corner"
    before = set(model(BEFORE, "Location").objects.values_list("pk", "name"))
    _migrate(AFTER)
    assert set(model(AFTER, "Location").objects.values_list("pk", "name")) == before
    assert places_of_lots()["2"] == ("Shelf A", "shelf")
