"""The form of a material: what people type, in their units, and what is refused at its field."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from finishing.models import Shop
from inventory.models import Material
from tests.inventory.pages.shop import Shelf, errors, words

D = Decimal
FORM = {"name": "Sealer", "code": "SEAL", "kind": "coating", "stock_unit": "L", "is_active": "on"}


def send(client: Client, **more: str) -> Any:
    return client.post(reverse("material_new"), {**FORM, **more})


def saved(client: Client, **more: str) -> Material:
    response = send(client, **more)
    assert response.status_code == 302, errors(response)
    return Material.objects.get(code="SEAL")


@pytest.mark.parametrize(
    ("typed", "density"),
    [("1.04", "1.04"), ("1.04 kg/L", "1.04"), ("1.04 g/ml", "1.04"), ("1040 g/L", "1.04"), ("8.345 lb/gal", "1")],
)
def test_density_is_read_in_any_unit(typed: str, density: str, office: Client) -> None:
    assert saved(office, density=typed).density == D(density)


def test_a_us_shop_types_bare_numbers_in_its_own_units(office: Client, us_shop: Shop) -> None:
    made = saved(office, density="8.7", voc="2.1", weekly_use="1.5", weekly_use_sd="16 fl oz")
    # Exact pound over exact US gallon: 119.826427 g/L for 1 lb/gal (NIST Handbook 44, App. C).
    assert made.density == D("1.0425")
    assert made.voc == D("251.635")
    assert made.weekly_use == D("5.678118")
    assert made.weekly_use_sd == D("0.473176")


def test_what_is_stored_is_shown_as_it_was_typed(office: Client, us_shop: Shop) -> None:
    made = saved(office, density="8.7", voc="2.1", weekly_use="1.5", volume_solids="31.5", pot_life_min="4 h")
    page = office.get(reverse("material_edit", args=[made.pk]))
    expected = {"density": "8.7", "voc": "2.1", "weekly_use": "1.5", "volume_solids": "31.5", "pot_life_min": "240"}
    assert {name: str(page.context["form"][name].value()) for name in expected} == expected


def test_metres_are_kept_as_metres(office: Client) -> None:
    assert saved(office, kind="masking", stock_unit="m", weekly_use="30 ft").weekly_use == D("9.144")


def test_shares_are_typed_in_percent_and_empty_ones_mean_none(office: Client) -> None:
    made = saved(office, water_fraction="58", yield_fraction="")
    assert (made.water_fraction, made.exempt_fraction, made.yield_fraction) == (D("0.58"), D(0), D(1))


def test_h_codes_are_read_in_any_case_and_kept_once(office: Client) -> None:
    assert saved(office, h_codes="h225 H317,h225; H361fd").h_code_list == ("H225", "H317", "H361fd")


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("name", "", "Fill this in."),
        ("code", "no blanks!", "valid"),
        ("kind", "paint", "one of those listed"),
        ("stock_unit", "barrel", "one of those listed"),
        ("density", "heavy", "can’t be read as a density"),
        ("density", "3 mm", "can’t be read as a density"),
        ("density", "0", "0.3 kg/L or more"),
        ("density", "-1.04", "0.3 kg/L or more"),
        ("density", "1040", "5 kg/L or less"),
        ("density", "nan", "can’t be read as a density"),
        ("volume_solids", "lots", "Write a number"),
        ("volume_solids", "NaN", "Write a number"),
        ("volume_solids", "Infinity", "Write a number"),
        ("volume_solids", "101", "less than or equal to 100"),
        ("mass_solids", "-1", "greater than or equal to 0"),
        ("voc", "250 mm", "this needs a VOC content"),
        ("voc", "2001", "2000 g/L or less"),
        ("voc", "-5", "0 g/L or more"),
        ("water_fraction", "101", "between 0 and 100 %"),
        ("exempt_fraction", "x", "can’t be read as a percentage"),
        ("yield_fraction", "0.5", "between 1 and 100 %"),
        ("pot_life_min", "3 L", "this needs a time"),
        ("pot_life_min", "0", "1 min or more"),
        ("pot_life_min", "99999999999", "or less"),
        ("shelf_life_days", "1.5", "whole number"),
        ("shelf_life_days", "0", "greater than or equal to 1"),
        ("open_life_days", "999999", "less than or equal to 3650"),
        ("h_codes", "R45", "Write H-codes such as"),
        ("flammable_category", "7", "one of those listed"),
        ("weekly_use", "two", "can't be read as a volume"),
        ("weekly_use", "3 kg", "this needs a volume"),
        ("weekly_use", "-1", "0 L or more"),
        ("weekly_use", "1e9", "is not a unit known here"),
        ("weekly_use", "99999999", "or less"),
        ("weekly_use", "9" * 59, "far too large"),
        ("weekly_use_sd", "-0.5", "0 L or more"),
        ("service_level", "100", "between 50 and 99.9 %"),
    ],
)
def test_bad_input_is_told_at_its_field_and_nothing_is_saved(field: str, typed: str, told: str, office: Client) -> None:
    response = send(office, **{"note": "keep this", field: typed})
    assert list(errors(response)) == [field]
    assert told in errors(response)[field][0]
    assert not Material.objects.exists()
    assert response.context["form"][field].value() == typed
    assert "keep this" in words(response)


def test_water_and_exempt_compounds_are_parts_of_one_volume(office: Client) -> None:
    response = send(office, water_fraction="60", exempt_fraction="41")
    assert "at most 100 %" in errors(response)["exempt_fraction"][0]


def test_two_materials_do_not_share_a_code(office: Client, clear: Material) -> None:
    assert errors(send(office, code="CLEAR"))["code"] == ["Another material has this code."]


def test_the_stock_unit_stays_once_there_are_lots(office: Client, clear: Material, shelf: Shelf) -> None:
    shelf.lot(clear)
    office.post(reverse("material_edit", args=[clear.pk]), {**FORM, "stock_unit": "kg", "weekly_use": "2 L"})
    clear.refresh_from_db()
    assert (clear.name, clear.stock_unit, clear.weekly_use) == ("Sealer", "L", D(2))
