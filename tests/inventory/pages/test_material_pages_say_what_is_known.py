"""The page of a material: technical data, hazards with their source, stock, packs, changes."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.test import Client

from finishing.models import Shop
from inventory.core.hazards import UNKNOWN, hazards
from inventory.models import Location, Material, Pack, Supplier
from tests.inventory.pages.shop import Shelf, words

D = Decimal


def test_it_groups_the_technical_data(office: Client, clear: Material) -> None:
    clear.density, clear.volume_solids, clear.voc, clear.pot_life_min = D("1.04"), D("31.5"), D(95), 240
    clear.save()
    page = words(office.get(clear.get_absolute_url()))
    for fact in ("Density 1.04 kg/L", "Volume solids 31.5 %", "As supplied 95 g/L", "Shelf life 365 days", "4 h 00 min"):
        assert fact in page


def test_a_shop_that_reads_us_units_sees_them(office: Client, clear: Material, us_shop: Shop) -> None:
    # 1 kg/L = 1000 g/L is 8.345 lb/gal, by the exact pound and US gallon (NIST Handbook 44, App. C).
    clear.density, clear.voc = D(1), D(250)
    clear.save()
    page = words(office.get(clear.get_absolute_url()))
    assert "Density 8.345 lb/gal" in page
    assert "As supplied 2.09 lb/gal" in page


def test_hazards_are_told_in_the_words_of_their_source_and_defer_to_the_sheet(office: Client, clear: Material) -> None:
    clear.h_codes, clear.signal_word, clear.sds_reference = "H225, H334, H999", "danger", "Binder A"
    clear.save()
    page = words(office.get(clear.get_absolute_url()))
    # Words: UN GHS Annex 3, as read in Regulation (EC) 1272/2008, Annex I.
    assert "H225 Highly flammable liquid and vapour" in page
    assert "H334 May cause allergy or asthma symptoms or breathing difficulties if inhaled" in page
    assert f"H999 {UNKNOWN}" in page
    assert "UN GHS, Annex 3" in page
    assert "The safety data sheet decides: Binder A" in page
    assert "Signal word: Danger" in page


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("H361d", "Suspected of damaging fertility or the unborn child"),
        ("H412", "Harmful to aquatic life with long lasting effects"),
    ],
)
def test_a_letter_behind_a_code_keeps_its_words(code: str, said: str) -> None:
    # Words of UN GHS Annex 3, from memory.
    assert hazards((code,))[0].words == said


def test_a_liquid_without_hazards_entered_is_not_called_harmless(office: Client, clear: Material, liner: Material) -> None:
    assert "Hazards are not entered The safety data sheet decides" in words(office.get(clear.get_absolute_url()))
    assert "Hazards" not in words(office.get(liner.get_absolute_url()))


def test_it_lists_lots_packs_and_movements(office: Client, can: Pack, shelf: Shelf) -> None:
    shelf.lot(can.material, "10", number="B-7")
    shelf.take(can.material, "1.5")
    page = words(office.get(can.material.get_absolute_url()))
    assert "B-7 fresh 8.5 L" in page
    assert "5 L can North Yard (invented) 5 L $106.00 $21.20 per L usual pack" in page
    assert "−1.5 L" in page
    assert "no usual pack" not in page


def test_it_says_when_no_pack_is_the_usual_one(office: Client, can: Pack) -> None:
    can.is_usual = False
    can.save()
    assert "no usual pack" in words(office.get(can.material.get_absolute_url()))


def test_a_change_is_shown_with_who_made_it_and_what_stood_there_before(office: Client, can: Pack) -> None:
    form = {"name": "Clear coat, satin", "code": "CLEAR", "kind": "coating", "stock_unit": "L", "is_active": "on"}
    kept = {"shelf_life_days": "365", "open_life_days": "30"}
    moved = {"usual_location": Location.objects.create(name="Shelf 9").pk}
    assert office.post(f"{can.material.get_absolute_url()}edit/", {**form, **kept, **moved}).status_code == 302
    price = {"supplier": can.supplier_id, "content": "5", "price": "109.50", "description": "5 L can", "minimum_packs": "1"}
    assert office.post(f"/packs/{can.pk}/edit/", {**price, "is_usual": "on", "is_active": "on"}).status_code == 302
    page = words(office.get(can.material.get_absolute_url()))
    assert "Office Person This material: usual place Shelf 3 Shelf 9" in page
    assert "Office Person This material: name Clear coat Clear coat, satin" in page
    assert "Office Person Pack 5 L can: price $106.00 $109.50" in page
    assert "This material: kind" not in page  # what stayed as it was is not listed
    assert page.count("Office Person This material") == 2


def test_saving_without_a_change_leaves_no_line(office: Client, supplier: Supplier) -> None:
    form = {"name": supplier.name, "lead_time_days": "7", "lead_time_sd_days": "2", "is_active": "on"}
    office.post(f"{supplier.get_absolute_url()}edit/", form)
    changes = office.get(supplier.get_absolute_url()).context["changes"]
    assert supplier.history.count() == 2
    assert [change.event for change in changes] == ["Created"]
