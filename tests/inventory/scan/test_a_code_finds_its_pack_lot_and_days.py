"""What a code means in the shop: the pack by its GTIN, the days, the amount; and what is said about each reading taken."""

from __future__ import annotations

from datetime import date

import pytest
from django.core.exceptions import ValidationError

from inventory.core.gs1 import GS, Scan, ScanForm, ScanProblem, read_scan
from inventory.models import Material, Pack
from inventory.services.scanning import Understood, enter_gtin, find_pack, understand
from tests.inventory.scan.conftest import GTIN

pytestmark = pytest.mark.django_db
TODAY = date(2026, 5, 1)
BOX = "00036000241457"


def read(text: str) -> Understood:
    found = understand(text, today=TODAY)
    assert isinstance(found, Understood), found.words
    return found


def gtin_scan(gtin: str) -> Scan:
    return Scan(form=ScanForm.GTIN, gtin=gtin)


@pytest.mark.parametrize("stored", [GTIN, GTIN[1:]])
def test_a_pack_is_found_in_whatever_digits_its_gtin_was_stored(can: Pack, stored: str) -> None:
    Pack.objects.filter(pk=can.pk).update(gtin=stored)
    assert find_pack(gtin_scan(GTIN)) == can
    assert find_pack(gtin_scan(BOX)) is None
    assert find_pack(Scan(form=ScanForm.LOT, lot="A")) is None


def test_a_pack_on_sale_comes_before_one_that_is_not(box: Pack, can: Pack) -> None:
    Pack.objects.filter(pk=box.pk).update(is_active=False)
    Pack.objects.filter(pk=can.pk).update(gtin=BOX)
    assert find_pack(gtin_scan(BOX)) == can


def test_a_whole_code_gives_a_whole_row(coded: Pack) -> None:
    found = read(f"]C101{GTIN}112601101726123110LOT7A")
    assert (found.item, found.amount, found.lot_number) == (f"pack:{coded.pk}", "1", "LOT7A")
    assert (found.made_on, found.expires_on) == (date(2026, 1, 10), date(2026, 12, 31))
    assert found.material == coded.material
    assert found.notes == ()


def test_an_unknown_gtin_is_told(coded: Pack) -> None:
    found = read(f"01{BOX}10LOT7A")
    assert found.is_unknown_article
    assert (found.pack, found.item, found.lot_number) == (None, "", "LOT7A")
    assert found.notes[0].startswith(f"No pack has the GTIN {BOX}.")


def test_digits_are_a_gtin_when_a_pack_has_it_and_a_lot_number_otherwise(coded: Pack) -> None:
    known = read(GTIN[1:])
    assert (known.pack, known.lot_number, known.notes) == (coded, "", ())
    other = read("036000241457")
    assert (other.pack, other.lot_number, other.gtin) == (None, "036000241457", "")
    assert not other.is_unknown_article
    assert other.notes == ("036000241457 is taken as a lot number: no pack has it as its GTIN.",)


def test_a_code_without_an_article_says_so() -> None:
    found = read("]C110LOT7A")
    assert found.lot_number == "LOT7A"
    assert found.notes == ("The code names no article. Choose what came.",)


def test_best_before_is_filled_in_as_expiry_and_told_to_be_about_quality(coded: Pack) -> None:
    found = read(f"01{GTIN}1526123110L")
    assert found.expires_on == date(2026, 12, 31)
    assert found.scan.expires_on is None
    assert found.notes[0].startswith("Best before Dec 31, 2026 is about quality, not a limit of use.")


def test_expiry_goes_before_best_before(coded: Pack) -> None:
    found = read(f"01{GTIN}152611301726123110L")
    assert found.expires_on == date(2026, 12, 31)
    assert found.notes == ("Best before Nov 30, 2026 is about quality; the limit of use is the expiry, Dec 31, 2026.",)


def test_days_that_have_passed_are_told(coded: Pack) -> None:
    assert "It is out of date: it expired on Apr 30, 2026." in read(f"01{GTIN}1726043010L").notes
    assert "That day has passed: test the material before it is used." in read(f"01{GTIN}1526043010L").notes
    assert read(f"01{GTIN}1726050110L").notes == ()


def test_a_month_without_a_day_is_told(coded: Pack) -> None:
    assert read(f"01{GTIN}1727020010L").notes == ("The code gives a month without a day: its last day is meant, Feb 28, 2027.",)


def test_the_day_of_packing_stands_in_for_the_day_of_making(coded: Pack) -> None:
    packed = read(f"01{GTIN}1326011010L")
    assert packed.made_on == date(2026, 1, 10)
    assert packed.notes == ("Packed on Jan 10, 2026: taken as the day it was made.",)
    assert read(f"01{GTIN}112601091326011010L").made_on == date(2026, 1, 9)


def test_a_carton_counts_the_packs_inside(coded: Pack) -> None:
    found = read(f"02{GTIN}374{GS}10L")
    assert (found.item, found.amount) == (f"pack:{coded.pk}", "4")
    assert found.notes == ("This is the code of a carton: 4 × 5 L can inside.",)


def test_a_count_without_its_carton_is_not_used(coded: Pack) -> None:
    found = read(f"01{GTIN}374{GS}10L")
    assert found.amount == "1"
    assert found.notes[0].startswith("The code gives a count but not of what is in a carton")


def test_a_varying_count_is_pieces_or_packs(coded: Pack, box: Pack) -> None:
    assert (read(f"01{BOX}3048").item, read(f"01{BOX}3048").amount) == (f"material:{box.material_id}", "48 pcs")
    assert (read(f"01{BOX}3050").item, read(f"01{BOX}3050").amount) == (f"pack:{box.pk}", "1")
    cans = read(f"01{GTIN}303{GS}10L")
    assert (cans.item, cans.amount) == (f"pack:{coded.pk}", "3")
    assert cans.notes == ("The code counts 3: taken as so many packs. Correct it if it means something else.",)


@pytest.mark.parametrize(
    ("element", "amount"),
    [("3152000378", "3.78 L"), ("3610000001", "1 gal"), ("3601000015", "1.5 qt"), ("3570000008", "8 fl oz")],
)
def test_an_amount_on_the_label_goes_before_the_packs_own(coded: Pack, element: str, amount: str) -> None:
    found = read(f"01{GTIN}{element}10L")
    assert (found.item, found.amount) == (f"material:{coded.material_id}", amount)
    assert found.notes[-1] == "The amount is the one on the label; the pack “5 L can” holds 5 L."


def test_the_packs_own_content_is_one_pack(coded: Pack) -> None:
    assert read(f"01{GTIN}315200050010L").amount == "1"
    assert read(f"01{GTIN}315200050010L").item == f"pack:{coded.pk}"


def test_ounces_of_a_liquid_are_told_to_be_fluid(coded: Pack) -> None:
    assert "Ounces of a liquid are taken as US fluid ounces." in read(f"01{GTIN}357000000810L").notes


def test_a_weight_of_what_is_kept_in_litres_is_told_and_not_used(coded: Pack) -> None:
    found = read(f"01{GTIN}310300125010L")
    assert (found.item, found.amount) == (f"pack:{coded.pk}", "1")
    assert found.notes == ("The code says 1.25 kg, but the material is kept in litres. Compare the amount.",)


def test_what_is_not_on_sale_or_not_in_use_is_told(coded: Pack) -> None:
    Pack.objects.update(is_active=False)
    found = read(f"01{GTIN}10L")
    assert (found.item, found.amount) == (f"material:{coded.material_id}", "")
    assert "is not on sale any more" in found.notes[0]
    Material.objects.update(is_active=False)
    assert read(f"01{GTIN}10L").item == ""
    assert "Clear coat is not in use any more" in read(f"01{GTIN}10L").notes[0]


def test_what_has_no_field_is_told(coded: Pack) -> None:
    found = read(f"01{GTIN}10L{GS}21SN1{GS}240ADD-1")
    assert found.notes == ("The maker’s own number on it: ADD-1.", "Not used here: SERIAL SN1.")


def test_what_cannot_be_read_is_refused_in_words() -> None:
    assert isinstance(understand(f"01{GTIN[:-1]}3", today=TODAY), ScanProblem)


def test_a_gtin_is_entered_once_and_only_when_it_is_one(can: Pack, box: Pack) -> None:
    with pytest.raises(ValidationError, match="is no GTIN"):
        enter_gtin(pack=can, gtin="09506000134353")
    with pytest.raises(ValidationError, match="“box of 50” of Cup liner has this GTIN"):
        enter_gtin(pack=can, gtin=BOX)
    enter_gtin(pack=can, gtin=GTIN)
    can.refresh_from_db()
    assert can.gtin == GTIN
    assert can.history.count() == 2
    scan = read_scan(GTIN[1:], today=TODAY)
    assert isinstance(scan, Scan)
    assert find_pack(scan) == can
