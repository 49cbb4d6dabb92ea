"""A list of packs knows them again by GTIN or supplier's code, keeps the history of prices, and moves the usual pack."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.utils import timezone

from finishing.models import User
from finishing.steps import finish
from inventory.choices import ListKind
from inventory.models import Material, Pack, PackPrice, Supplier
from inventory.services.bringing_in import ListError, apply_list
from tests.inventory.bringing_in.bringing import bring_in, csv_file, dry_run, faults, rows_of, states

D = Decimal
KIND = ListKind.PACKS
HEAD = ("Material", "Supplier", "Supplier’s code", "GTIN", "Description", "Content", "Price", "Usual pack")
GTIN = "09506000134352"  # the example of the GS1 General Specifications, from memory
CAN = ("CLEAR", "North Yard", "NY-5", GTIN[1:], "5 L can", "5", "106.00", "yes")
PAIL = ("clear", "north yard", "NY-20", "", "", "20 L pail", "1,380.50", "no")
BOX = ("LINER", "Hill Supplies", "", "", "box of 50", "box of 50", "9.5", "yes")

pytestmark = pytest.mark.database


@pytest.fixture(autouse=True)
def materials(db: None) -> None:
    Material.objects.create(code="CLEAR", name="Clear coat", kind="coating")
    Material.objects.create(code="LINER", name="Cup liner", kind="liner", stock_unit="pcs")


def test_packs_suppliers_and_prices_are_entered_at_once(by: User) -> None:
    upload = bring_in(KIND, csv_file(HEAD, CAN, PAIL, BOX), by)

    assert states(upload) == ["new", "new", "new"]
    assert "New suppliers, entered with the usual terms: North Yard, Hill Supplies." in upload.report["notes"]
    packs = {pack.description: pack for pack in Pack.objects.select_related("supplier")}
    assert set(packs) == {"5 L can", "20 L", "box of 50"}
    assert {pack.supplier.name for pack in packs.values()} == {"North Yard", "Hill Supplies"}
    assert (packs["20 L"].content, packs["20 L"].price, packs["box of 50"].content) == (D(20), D("1380.5"), D(50))
    assert {name: pack.is_usual for name, pack in packs.items()} == {"5 L can": True, "20 L": False, "box of 50": True}
    assert sorted(PackPrice.objects.values_list("price", flat=True)) == [D("9.5"), D(106), D("1380.5")]
    assert all(row.by == by and row.note == "From list.csv" for row in PackPrice.objects.all())


def test_the_same_file_changes_nothing_the_second_time(by: User) -> None:
    bring_in(KIND, csv_file(HEAD, CAN, PAIL, BOX), by)

    again = dry_run(KIND, csv_file(HEAD, CAN, PAIL, BOX), by)

    assert states(again) == ["same", "same", "same"]
    with pytest.raises(ListError, match="nothing to do"):
        finish(apply_list(upload=again, by=by))
    assert (Pack.objects.count(), Supplier.objects.count(), PackPrice.objects.count()) == (3, 2, 3)


def test_a_pack_is_known_by_its_gtin_however_many_zeros_stand_before_it(by: User) -> None:
    bring_in(KIND, csv_file(HEAD, CAN), by)
    renamed = (*CAN[:2], "NEW-CODE", GTIN, "Can of 5 L", "5", "106", "yes")

    upload = bring_in(KIND, csv_file(HEAD, renamed), by)

    assert [one.column for one in rows_of(upload)[0].changes] == ["Supplier’s code", "Description"]
    assert Pack.objects.get().supplier_code == "NEW-CODE"


def test_a_new_price_is_kept_beside_the_old_one(by: User) -> None:
    bring_in(KIND, csv_file(HEAD, CAN), by)

    upload = bring_in(KIND, csv_file(HEAD, (*CAN[:6], "110", "yes")), by)

    assert [(one.old, one.new) for one in rows_of(upload)[0].changes] == [("106", "110")]
    pack = Pack.objects.get()
    assert pack.price == D(110)
    assert [row.price for row in pack.prices.order_by("pk")] == [D(106), D(110)]
    assert pack.prices.order_by("pk")[1].valid_from == timezone.localdate()


def test_the_usual_pack_moves_and_the_former_one_is_told(by: User) -> None:
    bring_in(KIND, csv_file(HEAD, CAN, PAIL), by)

    upload = bring_in(KIND, csv_file(HEAD, (*PAIL[:7], "yes")), by)

    assert rows_of(upload)[0].note == "“5 L can” stops being the usual pack."
    assert {pack.description: pack.is_usual for pack in Pack.objects.all()} == {"5 L can": False, "20 L": True}


def test_the_usual_pack_moves_also_when_both_rows_say_so(by: User) -> None:
    bring_in(KIND, csv_file(HEAD, CAN, PAIL), by)

    bring_in(KIND, csv_file(HEAD, (*PAIL[:7], "yes"), (*CAN[:7], "no")), by)

    assert {pack.description: pack.is_usual for pack in Pack.objects.all()} == {"5 L can": False, "20 L": True}


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        (("NONE", *CAN[1:]), "Material", "There is no material with the code “NONE”. Bring the materials in first."),
        (("LINER", *CAN[1:]), "GTIN", "This is a pack of CLEAR in the books. A pack can’t go to another material."),
        (("CLEAR", "Elsewhere", *CAN[2:]), "GTIN", "This GTIN belongs to a pack of North Yard in the books."),
        ((*CAN[:3], "9506000134353", *CAN[4:]), "GTIN", "“9506000134353” is no GTIN: it has 8, 12, 13 or 14 digits"),
        ((*CAN[:3], "9.506E+12", *CAN[4:]), "GTIN", "“9.506E+12” is no GTIN"),
        ((*CAN[:5], "0", *CAN[6:]), "Content", "This must be above 0 L."),
        ((*CAN[:6], "12,50", "yes"), "Price", "The comma in “12,50” is unclear: write the cents after a point."),
        ((*CAN[:6], "", "yes"), "Price", "Write the price, for example 43.50."),
        ((*CAN[:7], "maybe"), "Usual pack", "“maybe” is neither yes nor no."),
    ],
)
def test_what_is_wrong_is_told_at_its_row_and_column(by: User, row: tuple[str, ...], column: str, words: str) -> None:
    bring_in(KIND, csv_file(HEAD, CAN), by)

    upload = dry_run(KIND, csv_file(HEAD, PAIL, row), by)

    [(number, at, told)] = faults(upload)
    assert (number, at) == (3, column)
    assert told.startswith(words)


def test_an_unknown_material_does_not_hide_what_else_is_wrong_in_its_row(by: User) -> None:
    upload = dry_run(KIND, csv_file(HEAD, ("NONE", *CAN[1:6], "12,50", "yes")), by)

    assert [(number, at) for number, at, _ in faults(upload)] == [(2, "Material"), (2, "Price")]


def test_two_rows_for_one_pack_and_two_usual_packs_are_refused(by: User) -> None:
    upload = dry_run(KIND, csv_file(HEAD, CAN, CAN, (*PAIL[:7], "yes")), by)

    assert faults(upload) == [
        (3, "GTIN", "Row 2 is this pack already. Keep one of them."),
        (4, "Usual pack", "Row 2 is the usual pack of Clear coat already. There is one only."),
    ]
