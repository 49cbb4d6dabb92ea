"""Opening stock goes through the ledger as receipts, and a lot that is in the books is not booked again."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from finishing.models import User
from finishing.steps import finish
from inventory.choices import ListKind, PostingKind
from inventory.models import Location, Lot, Material, Movement, Pack, Posting, Supplier
from inventory.services import ledger
from inventory.services.bringing_in import ListError, apply_list
from tests.inventory.bringing_in.bringing import bring_in, csv_file, dry_run, faults, rows_of, states

D = Decimal
KIND = ListKind.STOCK
HEAD = ("Material", "Lot", "Quantity", "Cost per unit", "Made on", "Expires on", "Place", "Containers", "Supplier")
CLEAR = ("CLEAR", "A-1", "7.5", "21.20", "2026-02-01", "", "Shelf 3", "2", "North Yard (invented)")
LINER = ("LINER", "", "120", "0.19", "", "", "", "", "")

pytestmark = pytest.mark.database


@pytest.fixture(autouse=True)
def materials(yard: Supplier) -> None:
    Material.objects.create(code="CLEAR", name="Clear coat", kind="coating", shelf_life_days=365)
    place = Location.objects.create(name="Drawer")
    Material.objects.create(code="LINER", name="Cup liner", kind="liner", stock_unit="pcs", usual_location=place)


@pytest.fixture
def today() -> date:
    return timezone.localdate()


def test_it_is_booked_as_receipts_of_its_own_reference(by: User, yard: Supplier, today: date) -> None:
    day = today - timedelta(days=3)

    upload = bring_in(KIND, csv_file(HEAD, CLEAR, LINER), by, on=day)

    assert states(upload) == ["new", "new"]
    assert {"Feb 1, 2026", "Feb 1, 2027"} <= {change.new for change in rows_of(upload)[0].changes}
    postings = list(Posting.objects.order_by("pk"))
    assert {(one.kind, one.on, one.by, one.reference) for one in postings} == {
        (PostingKind.RECEIPT, day, by, "Opening stock, list.csv")
    }
    clear, liner = Lot.objects.get(number="A-1"), Lot.objects.get(number="OPENING")
    assert (clear.on_hand, clear.unit_cost, clear.containers, clear.place) == (D("7.5"), D("21.2"), 2, "Shelf 3")
    assert (clear.supplier, clear.made_on, clear.expires_on) == (yard, date(2026, 2, 1), date(2027, 2, 1))
    assert (liner.on_hand, liner.place, liner.supplier) == (D(120), "Drawer", None)


def test_the_same_file_books_nothing_the_second_time_and_says_so(by: User, today: date) -> None:
    content = csv_file(HEAD, CLEAR, LINER)
    bring_in(KIND, content, by, on=today - timedelta(days=3))

    again = dry_run(KIND, content, by, on=today)

    assert [(row.state.value, row.note) for row in rows_of(again)] == [
        ("same", "In the books already; it is not booked again.")
    ] * 2
    with pytest.raises(ListError, match="nothing to do"):
        finish(apply_list(upload=again, by=by))
    assert Movement.objects.count() == 2


def test_also_after_some_was_used_and_the_lot_was_moved(by: User, today: date) -> None:
    content = csv_file(HEAD, CLEAR)
    bring_in(KIND, content, by)
    lot = Lot.objects.get()
    ledger.transfer(key=uuid.uuid4(), by=by, on=today, lot=lot, quantity=D(3), to_location=Location.objects.create(name="Booth"))
    line = ledger.IssueLine(material=lot.material, quantity=D(1), lot=lot)
    ledger.issue(key=uuid.uuid4(), by=by, on=today, lines=[line], reference="Test")

    assert states(dry_run(KIND, content, by)) == ["same"]


@pytest.mark.parametrize(
    ("column", "text", "words"),
    [
        ("Quantity", "8", "In the books 7.5 L came in and 7.5 L are on hand; the file says 8 L. Mend it by a count"),
        ("Cost per unit", "22", "In the books it cost 21.2. Reverse its receipt first."),
        ("Expires on", "2027-03-01", "In the books it expires on another day. Reverse its receipt first."),
    ],
)
def test_a_file_that_contradicts_the_books_is_refused(by: User, column: str, text: str, words: str) -> None:
    bring_in(KIND, csv_file(HEAD, CLEAR), by)
    row = list(CLEAR)
    row[HEAD.index(column)] = text

    [(number, at, told)] = faults(dry_run(KIND, csv_file(HEAD, row), by))

    assert (number, at) == (2, column)
    assert told.startswith(words)


def test_after_its_receipt_was_reversed_it_can_be_brought_in_again(by: User, today: date) -> None:
    bring_in(KIND, csv_file(HEAD, CLEAR), by)
    ledger.reverse(key=uuid.uuid4(), by=by, on=today, posting=Posting.objects.get(), reason="Wrong amount.")

    bring_in(KIND, csv_file(HEAD, ("CLEAR", "A-1", "8", *CLEAR[3:])), by)

    assert sorted(Lot.objects.values_list("on_hand", flat=True)) == [D(0), D(8)]


def test_one_lot_number_may_stand_in_two_places(by: User) -> None:
    rows = (CLEAR, (*CLEAR[:2], "2", *CLEAR[3:6], "Booth", *CLEAR[7:]))

    bring_in(KIND, csv_file(HEAD, *rows), by)

    assert sorted((lot.place, lot.on_hand) for lot in Lot.objects.all()) == [("Booth", D(2)), ("Shelf 3", D("7.5"))]
    assert states(dry_run(KIND, csv_file(HEAD, *rows), by)) == ["same", "same"]
    assert faults(dry_run(KIND, csv_file(HEAD, rows[0]), by))[0][1] == "Quantity"


def test_a_cost_that_is_left_out_is_that_of_the_usual_pack(by: User, yard: Supplier) -> None:
    row = ("CLEAR", "A-1", "7.5", "")
    assert faults(dry_run(KIND, csv_file(HEAD, row), by)) == [
        (2, "Cost per unit", "Give the cost per L: Clear coat has no usual pack.")
    ]
    clear = Material.objects.get(code="CLEAR")
    Pack.objects.create(material=clear, supplier=yard, description="Can", content=D(5), price=D(106), is_usual=True)

    bring_in(KIND, csv_file(HEAD, row), by)

    assert Lot.objects.get().unit_cost == D("21.2")


def test_what_is_out_of_date_is_booked_as_such_with_its_reason(by: User) -> None:
    upload = bring_in(KIND, csv_file(HEAD, (*CLEAR[:5], "2026-03-01", *CLEAR[6:])), by)

    assert rows_of(upload)[0].note == "It is past its expiry date, and is booked as such."
    assert Movement.objects.get().override_reason == "It was on the shelf when the books began."


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        (("NONE", "A", "1", "1"), "Material", "There is no material with the code “NONE”"),
        (("CLEAR", "A", "0", "1"), "Quantity", "This must be above 0 L."),
        (("CLEAR", "A", "lots", "1"), "Quantity", "“lots” can't be read as a volume."),
        (("CLEAR", "A", "1 kg", "1"), "Quantity", "“kg” is a mass; this needs a volume."),
        (("CLEAR", "A", "1", "1", "04/05/2026"), "Made on", "“04/05/2026” can be read as two different days."),
        (("CLEAR", "A", "1", "1", "2099-01-01"), "Made on", "It can’t have been made on 2099-01-01"),
        (("CLEAR", "A", "1", "1", "2026-02-01", "2026-01-01"), "Expires on", "It can’t expire before it was made"),
        (("CLEAR", "A", "1", "1", "", "46000"), "Expires on", "“46000” is a number and no date."),
        (("CLEAR", "A" * 41, "1", "1"), "Lot", "This has 41 characters; keep it to 40."),
        (CLEAR, "Lot", "Row 2 is this lot in this place already."),
    ],
)
def test_what_is_wrong_is_told_at_its_row_and_column(by: User, row: tuple[str, ...], column: str, words: str) -> None:
    [(number, at, told)] = faults(dry_run(KIND, csv_file(HEAD, CLEAR, row), by))

    assert (number, at) == (3, column)
    assert told.startswith(words)
