"""The words and the code of a label agree with what the program knows of the lot today, and nothing is guessed."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from finishing.show import day
from inventory.core.gs1 import Scan, read_scan
from inventory.documents.labels_face import faces_of, gtins_of_lots, lot_face, shelf_face
from inventory.models import Lot, Material, Pack, Supplier
from tests.inventory.labels.reading import GTIN
from tests.inventory.pages.shop import Shelf

pytestmark = pytest.mark.django_db


def plain(text: str) -> str:
    return text.replace("\u00a0", " ")


def said(square: str, today: date) -> Scan:
    scan = read_scan(square, today=today)
    assert isinstance(scan, Scan)
    return scan


def test_the_expiry_stands_in_words_and_in_the_code(shelf: Shelf, clear: Material, today: date) -> None:
    lot = shelf.lot(clear, number="C-9", expires_in=100)
    face = lot_face(lot, gtin=GTIN, today=today)
    assert plain(face.until) == f"Expires {day(today + timedelta(days=100))}"
    assert said(face.square, today) == Scan(
        form=said(face.square, today).form, gtin=GTIN, lot="C-9", expires_on=today + timedelta(days=100)
    )
    assert (face.alarm, face.write, face.keeps) == ("", True, "Keeps 30 days once opened.")


def test_an_opened_container_is_good_for_its_open_life_only(shelf: Shelf, clear: Material, today: date) -> None:
    lot = shelf.lot(clear, expires_in=100)
    lot.opened_on = today - timedelta(days=3)
    face = lot_face(lot, gtin=GTIN, today=today)
    last = today + timedelta(days=27)
    assert plain(face.until) == f"Opened: use by {day(last)}"
    assert said(face.square, today).expires_on == last


def test_an_expiry_before_the_end_of_open_life_stays_the_last_day(shelf: Shelf, clear: Material, today: date) -> None:
    lot = shelf.lot(clear, expires_in=10)
    lot.opened_on = today
    assert plain(lot_face(lot, gtin="", today=today).until) == f"Expires {day(today + timedelta(days=10))}"


def test_no_expiry_is_said_to_be_none(shelf: Shelf, liner: Material, today: date) -> None:
    face = lot_face(shelf.lot(liner, expires_in=None), gtin=GTIN, today=today)
    assert face.until == "No expiry stated"
    assert said(face.square, today).expires_on is None
    assert (face.write, face.hazard.see_sheet) == (False, False)


@pytest.mark.parametrize(("expires_in", "alarm"), [(-1, "OUT OF DATE"), (0, ""), (1, "")])
def test_out_of_date_is_said_from_the_day_after(shelf: Shelf, clear: Material, today: date, expires_in: int, alarm: str) -> None:
    assert lot_face(shelf.lot(clear, expires_in=expires_in), gtin="", today=today).alarm == alarm


def test_quarantine_is_said(shelf: Shelf, clear: Material, today: date) -> None:
    lot = shelf.lot(clear, expires_in=-1)
    lot.is_quarantined = True
    assert lot_face(lot, gtin="", today=today).alarm == "IN QUARANTINE"


def test_a_hazard_is_its_signal_word_its_codes_and_the_data_sheet(shelf: Shelf, clear: Material, today: date) -> None:
    hazard = lot_face(shelf.lot(clear), gtin="", today=today).hazard
    assert (hazard.signal, hazard.codes, hazard.see_sheet) == ("", (), True)
    clear.signal_word, clear.h_codes = "danger", "H225, H317"
    clear.save()
    hazard = lot_face(shelf.lot(clear), gtin="", today=today).hazard
    assert (hazard.signal, hazard.codes, hazard.see_sheet) == ("DANGER", ("H225", "H317"), True)


def test_bars_are_for_plain_letters_only(shelf: Shelf, clear: Material, today: date) -> None:
    assert lot_face(shelf.lot(clear, number="C 9/b"), gtin="", today=today).bars == "C 9/b"
    strange = lot_face(shelf.lot(clear, number="Ł-9"), gtin=GTIN, today=today)
    assert (strange.bars, strange.square) == ("", "Ł-9")


def test_a_shelf_label_says_what_belongs_there(clear: Material, can: Pack, today: date) -> None:
    face = shelf_face(clear, gtin="")
    assert (face.name, face.number, face.until, face.square, face.bars) == ("Clear coat", "CLEAR", "", "CLEAR", "")
    assert shelf_face(clear, gtin=GTIN[1:]).square == f"01{GTIN}"
    assert shelf_face(clear, gtin="12345").square == "CLEAR"


# ------------------------------------------------------------ whose GTIN


@pytest.fixture
def coded(can: Pack) -> Pack:
    can.gtin = GTIN[1:]
    can.save()
    return can


def other_pack(can: Pack, **changes: object) -> Pack:
    return Pack.objects.create(
        **{
            "material": can.material,
            "supplier": can.supplier,
            "description": "1 L can",
            "content": Decimal(1),
            "price": 25,
            **changes,
        }
    )


def test_the_pack_that_the_delivery_named_gives_the_gtin(shelf: Shelf, coded: Pack, supplier: Supplier) -> None:
    small = other_pack(coded, gtin="036000241457")
    lot = shelf.lot(coded.material, supplier=supplier)
    Lot.objects.filter(pk=lot.pk).update(pack=small)
    lot.refresh_from_db()
    assert gtins_of_lots([lot]) == {lot.pk: "036000241457"}
    Pack.objects.filter(pk=small.pk).update(gtin="")
    assert gtins_of_lots([lot]) == {}


def test_the_only_pack_of_the_lots_supplier_gives_it_where_none_was_named(shelf: Shelf, coded: Pack, supplier: Supplier) -> None:
    lot = shelf.lot(coded.material, supplier=supplier)
    assert lot.pack_id is None
    assert gtins_of_lots([lot]) == {lot.pk: GTIN[1:]}


def test_nothing_is_guessed(shelf: Shelf, coded: Pack, supplier: Supplier) -> None:
    from_nobody = shelf.lot(coded.material)
    from_another = shelf.lot(coded.material, supplier=Supplier.objects.create(name="South Yard (invented)"))
    assert gtins_of_lots([from_nobody, from_another]) == {}
    lot = shelf.lot(coded.material, supplier=supplier)
    other_pack(coded)
    assert gtins_of_lots([lot]) == {}


def test_a_wrong_number_on_a_pack_is_never_printed(shelf: Shelf, coded: Pack, supplier: Supplier) -> None:
    Pack.objects.update(gtin="9506000134353")
    assert gtins_of_lots([shelf.lot(coded.material, supplier=supplier)]) == {}


def test_many_labels_ask_as_often_as_few(
    shelf: Shelf, coded: Pack, supplier: Supplier, today: date, django_assert_num_queries: object
) -> None:
    for number in range(12):
        shelf.lot(coded.material, number=f"L-{number}", supplier=supplier)
    lots = list(Lot.objects.select_related("material", "location"))
    with django_assert_num_queries(3):  # type: ignore[operator]
        faces = faces_of([(lot, 2) for lot in lots] + [(coded.material, 1), (lots[0], 0)], today=today)
    assert len(faces) == 25
    assert faces[0].square.startswith(f"01{GTIN}17")
    assert faces[-1].square == f"01{GTIN}"
