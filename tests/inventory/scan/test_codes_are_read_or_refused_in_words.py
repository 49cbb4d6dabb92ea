"""What is taken for an element string, for a GTIN and for a lot number; what is refused, and with which words."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from inventory.core.gs1 import (
    GS,
    NetContent,
    Scan,
    ScanForm,
    ScanProblem,
    Trouble,
    check_digit,
    full_year,
    label_text,
    read_scan,
    same_gtins,
)

TODAY = date(2026, 5, 1)
GTIN = "09506000134352"


def read(text: str, today: date = TODAY) -> Scan:
    scan = read_scan(text, today=today)
    assert isinstance(scan, Scan), scan.words
    return scan


def problem(text: str) -> ScanProblem:
    found = read_scan(text, today=TODAY)
    assert isinstance(found, ScanProblem), found
    return found


@pytest.mark.parametrize("symbol", ["]C1", "]d2", "]Q3", "]e0", ""])
def test_a_code_reads_the_same_from_every_kind_of_symbol(symbol: str) -> None:
    scan = read(f"{symbol}01{GTIN}1726123110LOT7A{GS}240ADD-1")
    assert scan == Scan(form=ScanForm.ELEMENTS, gtin=GTIN, lot="LOT7A", expires_on=date(2026, 12, 31), additional_id="ADD-1")


@pytest.mark.parametrize("stand_in", [GS, "<GS>", "{GS}", "␝", "^]", "|"])
def test_what_readers_type_for_the_separator_is_taken_for_it(stand_in: str) -> None:
    scan = read(f"01{GTIN}10LOT7A{stand_in}17261231")
    assert (scan.lot, scan.expires_on) == ("LOT7A", date(2026, 12, 31))


def test_the_form_printed_below_a_code_is_read_too() -> None:
    scan = read("(01) 09506000134352 (17)261231 (11)260101(10)A(7)-B")
    assert (scan.gtin, scan.expires_on, scan.made_on, scan.lot) == (GTIN, date(2026, 12, 31), date(2026, 1, 1), "A(7)-B")


def test_each_element_stands_in_its_own_field() -> None:
    scan = read(f"]C102{GTIN}1126010113260102152612301726123137{4}{GS}3012{GS}3103001250315200037810L{GS}99X")
    assert scan == Scan(
        form=ScanForm.ELEMENTS,
        gtin=GTIN,
        is_contained=True,
        lot="L",
        made_on=date(2026, 1, 1),
        packed_on=date(2026, 1, 2),
        best_before=date(2026, 12, 30),
        expires_on=date(2026, 12, 31),
        count=4,
        variable_count=12,
        contents=(NetContent(value=Decimal("1.250"), unit="kg"), NetContent(value=Decimal("3.78"), unit="L")),
        others=scan.others,
    )
    assert [(other.ai, other.title, other.value) for other in scan.others] == [("99", "INTERNAL", "X")]


@pytest.mark.parametrize(
    ("element", "value", "unit"),
    [("3201000250", "25.0", "lb"), ("3572001600", "16.00", "oz"), ("3601000015", "1.5", "qt"), ("3612000100", "1.00", "gal")],
)
def test_us_contents_keep_their_unit(element: str, value: str, unit: str) -> None:
    assert read(f"]C101{GTIN}{element}").contents == (NetContent(value=Decimal(value), unit=unit),)


def test_best_before_is_not_expiry() -> None:
    assert read(f"01{GTIN}15261231").expires_on is None
    assert read(f"01{GTIN}15261231").best_before == date(2026, 12, 31)
    assert read(f"01{GTIN}17261231").best_before is None


@pytest.mark.parametrize("lot", ["ABC-12", "2026/17", "B 7.5 #4", "10", "17261231", "Ł-5", "(7)", "0", "12345"])
def test_a_plain_lot_number_is_taken_as_it_is(lot: str) -> None:
    assert read(f"  {lot}\r\n") == Scan(form=ScanForm.LOT, lot=lot)


def test_the_reader_s_word_for_an_ordinary_symbol_is_not_part_of_the_lot() -> None:
    assert read("]C0LOT-7") == Scan(form=ScanForm.LOT, lot="LOT-7")
    assert read("]Q1LOT-7") == Scan(form=ScanForm.LOT, lot="LOT-7")


def test_a_code_without_a_reader_s_word_is_one_when_it_holds_a_gtin() -> None:
    assert read(f"1726123101{GTIN}10A").form is ScanForm.ELEMENTS
    assert read("1726123110A").form is ScanForm.LOT


def test_digits_that_can_be_a_gtin_are_both() -> None:
    assert read("9506000134352") == Scan(form=ScanForm.UNCLEAR, gtin=GTIN, lot="9506000134352")
    assert read("9506000134353") == Scan(form=ScanForm.LOT, lot="9506000134353")
    assert read("]E09506000134352") == Scan(form=ScanForm.GTIN, gtin=GTIN)


def test_a_month_without_a_day_says_so() -> None:
    scan = read(f"01{GTIN}17270200")
    assert (scan.expires_on, scan.month_only) == (date(2027, 2, 28), frozenset({"expires_on"}))
    assert read(f"01{GTIN}17270228").month_only == frozenset()


def test_the_century_follows_the_day_that_is_given_and_no_clock() -> None:
    text = f"01{GTIN}17760630"
    assert read(text, date(2026, 1, 1)).expires_on == date(2076, 6, 30)
    assert read(text, date(2025, 1, 1)).expires_on == date(1976, 6, 30)
    assert read(f"01{GTIN}17010630", date(2060, 1, 1)).expires_on == date(2101, 6, 30)


@pytest.mark.parametrize(
    ("text", "trouble", "found", "words"),
    [
        ("", Trouble.EMPTY, "", "There is nothing to read."),
        (f"]C1{GS}", Trouble.EMPTY, f"]C1{GS}", "There is nothing to read."),
        ("0109506000134353", Trouble.CHECK_DIGIT, "09506000134353", "The check digit of 09506000134353 is wrong"),
        ("]E09506000134353", Trouble.CHECK_DIGIT, "9506000134353", "a digit was misread or mistyped"),
        ("]E012345", Trouble.VALUE, "12345", "that has 8, 12, 13 or 14 digits"),
        (f"01{GTIN}17260010", Trouble.DATE, "260010", "there is no month 00"),
        (f"01{GTIN}17261310", Trouble.DATE, "261310", "there is no month 13"),
        (f"01{GTIN}17260230", Trouble.DATE, "260230", "February 2026 has 28 days"),
        (f"01{GTIN}1726A231", Trouble.DATE, "26A231", "is no date of six digits"),
        (f"]C101{GTIN}55X", Trouble.UNKNOWN, "55X", "“55X” begins no element that GS1 knows"),
        (f"(01){GTIN}(555)X", Trouble.UNKNOWN, "555X", "begins no element"),
        (f"(01){GTIN}(310)3001250", Trouble.UNKNOWN, "310", "begins no element"),
        (f"(01){GTIN}(17)2612311", Trouble.VALUE, "2612311", "“2612311” is no USE BY or EXPIRY (17)"),
        (f"]C101{GTIN}10{'A' * 21}", Trouble.VALUE, "A" * 21, "comes more than belongs there: “A”"),
        (f"]C101{GTIN}30{GS}10A", Trouble.VALUE, "30", "no number after VAR. COUNT (30)"),
        (f"]C101{GTIN}10A{GS}10B", Trouble.CONTRADICTION, "B", "BATCH/LOT twice and not the same: A and B"),
        (f"]C101{GTIN}02{GTIN}374", Trouble.CONTRADICTION, GTIN, "an article and the content of a carton at once"),
        (f"]C101{GTIN}10Ł", Trouble.CHARACTERS, "Ł", "“Ł” can’t stand in a GS1 code"),
        ("A\x07B", Trouble.CHARACTERS, "'A\\x07B'", "characters that can’t be printed"),
        ("https://example.org/01/09506000134352", Trouble.WEB_ADDRESS, "https://example.org/01/09506000134352", "a web address"),
        ("x" * 41, Trouble.TOO_LONG, "x" * 20, "a lot number has at most 40 characters"),
        ("x" * 401, Trouble.TOO_LONG, "x" * 20, "longer than the 400 characters"),
    ],
)
def test_it_refuses_in_words(text: str, trouble: Trouble, found: str, words: str) -> None:
    refusal = problem(text)
    assert (refusal.trouble, refusal.found) == (trouble, found)
    assert words in refusal.words


def test_the_same_element_twice_with_the_same_value_is_no_contradiction() -> None:
    assert read(f"]C101{GTIN}10A{GS}10A").lot == "A"


def test_a_gtin_is_found_however_many_digits_were_stored() -> None:
    assert same_gtins("00036000241457") == ("00036000241457", "0036000241457", "036000241457")
    assert same_gtins("19506000134359") == ("19506000134359",)
    assert same_gtins("02345673") == ("00000002345673", "0000002345673", "000002345673", "02345673")


# ------------------------------------------------------------ any text at all

PIECES = st.sampled_from(
    [
        "01",
        GTIN,
        "02",
        "10",
        "17",
        "260200",
        "261231",
        "15",
        "37",
        "30",
        "3103",
        "240",
        GS,
        "|",
        "(",
        ")",
        "]C1",
        "]d2",
        "00",
        "٣",
    ]
)
ANY_TEXT = st.one_of(
    st.text(max_size=200),
    st.text(alphabet="0123456789()]" + GS, max_size=200),
    st.lists(PIECES, max_size=14).map("".join),
    st.lists(PIECES, max_size=12).map(lambda pieces: "]C1" + "".join(pieces)),
    st.lists(PIECES, max_size=12).map(lambda pieces: f"01{GTIN}" + "".join(pieces)),
)


@settings(max_examples=1500, deadline=None)
@given(text=ANY_TEXT, today=st.dates(date(1960, 1, 1), date(2090, 12, 31)))
@example(text="]C1٠١09506000134352", today=TODAY)
@example(text="]C13900", today=TODAY)
@example(text="]C17003260001", today=TODAY)
def test_any_text_reads_or_is_refused_in_words(text: str, today: date) -> None:
    scan = read_scan(text, today=today)
    if isinstance(scan, ScanProblem):
        assert len(scan.words) > 20
        assert scan.words.endswith(".")
        return
    assert scan.gtin == "" or (len(scan.gtin) == 14 and scan.gtin[-1] == check_digit(scan.gtin[:-1]))
    assert scan.lot.isprintable()
    assert len(scan.lot) <= 40
    for found in (scan.made_on, scan.packed_on, scan.best_before, scan.expires_on):
        assert found is None or -49 <= found.year - today.year <= 50
    assert scan.form is not ScanForm.LOT or (scan.lot and not scan.gtin)


@settings(max_examples=300, deadline=None)
@given(
    payload=st.text("0123456789", min_size=13, max_size=13),
    lot=st.text("".join(chr(code) for code in range(33, 127) if chr(code) not in "#$@[]\\^`{|}~"), min_size=1, max_size=20),
    until=st.dates(date(1977, 1, 1), date(2076, 12, 31)),
)
def test_what_a_label_says_reads_back(payload: str, lot: str, until: date) -> None:
    gtin = payload + check_digit(payload)
    said = label_text(lot=lot, gtin=gtin, use_until=until, today=TODAY)
    assert read(said) == Scan(form=ScanForm.ELEMENTS, gtin=gtin, lot=lot, expires_on=until)


@pytest.mark.parametrize(
    ("lot", "gtin"),
    [("LOT7A", ""), ("LOT7A", "9506000134353"), ("L" * 21, GTIN), ("Ł-5", GTIN), ("A B", GTIN)],
    ids=["no gtin", "wrong check digit", "long lot", "letter outside GS1's set", "blank"],
)
def test_a_label_says_the_bare_lot_where_gs1_allows_no_element_string(lot: str, gtin: str) -> None:
    assert label_text(lot=lot, gtin=gtin, use_until=date(2027, 1, 1), today=TODAY) == lot
    assert read(lot).lot == lot


def test_a_label_leaves_out_a_day_of_another_century() -> None:
    assert label_text(lot="A", gtin=GTIN, use_until=date(2077, 1, 1), today=TODAY) == f"01{GTIN}10A"
    assert full_year(77, today=TODAY) == 1977
