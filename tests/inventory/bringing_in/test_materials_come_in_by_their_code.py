"""A list of materials shows row by row what would be new, changed or unchanged, and changes nothing the second time."""

from __future__ import annotations

from decimal import Decimal

import pytest

from finishing.models import User
from finishing.steps import finish
from inventory.choices import ListKind
from inventory.models import Location, Material, Pack, Supplier
from inventory.services.bringing_in import ListError, apply_list
from tests.inventory.bringing_in.bringing import bring_in, csv_file, dry_run, faults, rows_of, states, xlsx_file

D = Decimal
KIND = ListKind.MATERIALS
HEAD = ("Code", "Name", "Kind", "Kept in", "Density (kg/L)", "Water by volume (%)", "Usual place", "Expected use per week")
CLEAR = ("CLEAR", "Clear coat", "Coating", "L", "1.04", "58", "Shelf 3", "1 gal")
LINER = ("LINER", "Cup liner", "cup liner", "pcs", "", "", "", "40")

pytestmark = pytest.mark.database


def test_new_materials_are_shown_first_and_written_only_when_applied(by: User) -> None:
    upload = dry_run(KIND, csv_file(HEAD, CLEAR, LINER), by)

    assert states(upload) == ["new", "new"]
    assert not Material.objects.exists()
    assert upload.report["notes"] == ["New places, entered as shelves: Shelf 3. Set their kind and limits under Places."]
    finish(apply_list(upload=upload, by=by))
    clear = Material.objects.get(code="CLEAR")
    assert (clear.name, clear.kind, clear.stock_unit) == ("Clear coat", "coating", "L")
    assert (clear.density, clear.water_fraction, clear.place) == (D("1.04"), D("0.58"), "Shelf 3")
    assert clear.weekly_use == D("3.785412")
    first = clear.history.get()
    assert (first.history_user, first.history_change_reason) == (by, "From list.csv")


def test_the_same_file_changes_nothing_the_second_time(by: User) -> None:
    content = csv_file(HEAD, CLEAR, LINER)
    bring_in(KIND, content, by)

    again = dry_run(KIND, content, by)

    assert states(again) == ["same", "same"]
    with pytest.raises(ListError, match="nothing to do"):
        finish(apply_list(upload=again, by=by))
    assert Material.objects.count() == 2
    assert Material.history.count() == 2


def test_a_change_is_shown_with_the_old_and_the_new_value(by: User) -> None:
    bring_in(KIND, csv_file(HEAD, CLEAR, LINER), by)
    changed = ("clear", "Clear coat", "Coating", "L", "1.05", "60", "Shelf 4", "1 gal")

    upload = dry_run(KIND, csv_file(HEAD, changed, LINER), by)

    assert states(upload) == ["changed", "same"]
    assert [(one.column, one.old, one.new) for one in rows_of(upload)[0].changes] == [
        ("Density (kg/L)", "1.04", "1.05"),
        ("Water by volume (%)", "58", "60"),
        ("Usual place", "Shelf 3", "Shelf 4"),
    ]
    finish(apply_list(upload=upload, by=by))
    clear = Material.objects.get(code="CLEAR")
    assert (clear.density, clear.water_fraction, clear.place) == (D("1.05"), D("0.6"), "Shelf 4")
    assert clear.history.count() == 2


def test_a_column_that_is_left_out_stays_and_an_empty_cell_empties(by: User) -> None:
    bring_in(KIND, csv_file(HEAD, CLEAR), by)

    bring_in(KIND, csv_file(HEAD[:5], (*CLEAR[:4], "")), by)

    clear = Material.objects.get()
    assert clear.density is None
    assert (clear.water_fraction, clear.place) == (D("0.58"), "Shelf 3")


def test_one_wrong_row_keeps_all_of_it_out(by: User) -> None:
    wrong = ("BAD CODE", "", "Paint", "drums", "heavy", "120", "", "many")

    upload = dry_run(KIND, csv_file(HEAD, CLEAR, wrong), by)

    assert [(row, column) for row, column, _ in faults(upload)] == [(3, heading) for heading in HEAD if heading != "Usual place"]
    with pytest.raises(ListError, match="Some rows are wrong"):
        finish(apply_list(upload=upload, by=by))
    assert not Material.objects.exists()
    assert not Location.objects.exists()


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        (("CLEAR", "Other", "Coating", "L"), "Code", "Row 2 has this code already. Keep one of them."),
        (("X", "=A1", "Coating", "L"), "Name", "“=A1” is a formula. Put its value in its place."),
        (
            ("X", "#REF!", "Coating", "L"),
            "Name",
            "“#REF!” is an error of the spreadsheet. Mend it there, then upload the file again.",
        ),
        (("X", "Name", "Coating", "L", "9"), "Density (kg/L)", "This must be 5 kg/L or less."),
        (("X", "N" * 121, "Coating", "L"), "Name", "This has 121 characters; keep it to 120."),
    ],
)
def test_what_is_wrong_is_told_at_its_row_and_column(by: User, row: tuple[str, ...], column: str, words: str) -> None:
    upload = dry_run(KIND, csv_file(HEAD, CLEAR, row), by)

    assert faults(upload) == [(3, column, words)]


def test_a_unit_in_the_heading_counts_for_the_numbers_below(by: User) -> None:
    head = ("Code", "Name", "Kind", "Kept in", "Density (lb/gal)")

    bring_in(KIND, xlsx_file(head, ("CLEAR", "Clear coat", "Coating", "L", 8.8)), by)

    assert Material.objects.get().density == D("1.0545")


def test_the_unit_of_a_material_with_packs_stays(by: User, yard: Supplier) -> None:
    bring_in(KIND, csv_file(HEAD, CLEAR), by)
    Pack.objects.create(material=Material.objects.get(), supplier=yard, description="Can", content=D(5), price=D(1))

    upload = dry_run(KIND, csv_file(HEAD[:4], ("CLEAR", "Clear coat", "Coating", "kg")), by)

    assert faults(upload) == [
        (2, "Kept in", "Clear coat is kept in L, and there are lots, packs or bookings in this unit. Leave it at L.")
    ]


def test_a_list_is_not_applied_to_books_that_changed_since_it_was_shown(by: User) -> None:
    upload = dry_run(KIND, csv_file(HEAD, CLEAR), by)
    Material.objects.create(code="CLEAR", name="Entered by hand", kind="coating")

    with pytest.raises(ListError, match="The books have changed since"):
        finish(apply_list(upload=upload, by=by))

    assert Material.objects.get().name == "Entered by hand"
    upload.refresh_from_db()
    assert states(upload) == ["changed"]
    finish(apply_list(upload=upload, by=by))
    assert Material.objects.get().name == "Clear coat"


def test_work_that_breaks_off_half_way_leaves_nothing(by: User) -> None:
    rows = [(f"M-{number}", f"Material {number}", "Coating", "L") for number in range(600)]
    work = apply_list(upload=dry_run(KIND, csv_file(HEAD, *rows), by), by=by)

    words = [next(work).words for _ in range(5)]
    assert words[-1] == "Writing materials"
    assert Material.objects.count() == 500
    work.close()

    assert not Material.objects.exists()
