"""What GS1 publishes about check digits, dates, decimals and separators, against the reader of codes."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal

import pytest
from biip.checksums import gs1_standard_check_digit

from inventory.core.gs1 import GS, Scan, ScanProblem, check_digit, full_year, is_gtin, read_date, read_scan
from tests.references.sources import Check, Known, check

IN_2026 = date(2026, 5, 1)
DICTIONARY = "GS1 Barcode Syntax Dictionary with the test vectors of its reference linters, GS1 AISBL, July 2026"
CHECK_DIGITS = "GS1, How to calculate a check digit manually (worked example 629104150021)"
AI_LIST = "GS1, public list of application identifiers: the fourth digit gives the decimals; value computed"
FOURTEEN = f"{DICTIONARY}: AI 01 has 14 digits, shorter GTINs are filled with zeros on the left; computed"
CENTURIES = "GS1 General Specifications, section 7.12, as quoted in the library Biip 5.2; computed again"
DAY_ZERO = f"{DICTIONARY} (day 00 is the last day of the month); GS1 Denmark, page of AI 17"
SEPARATORS = "GS1 General Specifications, release 18, section 7.8.4 (FNC1 after data of no predefined length), and GSCN 16-477"
GTIN = "09506000134352"


def read(text: str) -> Scan:
    scan = read_scan(text, today=IN_2026)
    assert isinstance(scan, Scan), scan.words
    return scan


def day_number(digits: str) -> Callable[[], int]:
    return lambda: int(f"{read_date(digits, today=IN_2026):%Y%m%d}")


def refused(digits: str) -> Callable[[], int]:
    """1 when the date is refused inside a code."""
    return lambda: int(isinstance(read_scan(f"]C101{GTIN}17{digits}", today=IN_2026), ScanProblem))


def valid(digits: str) -> Callable[[], int]:
    return lambda: int(digits[-1] == check_digit(digits[:-1]))


def net(text: str) -> Callable[[], Decimal]:
    return lambda: read(f"]C101{GTIN}{text}").contents[0].value


def ends_by_itself(element: str) -> Callable[[], int]:
    """1 when another element can follow at once."""
    return lambda: int(read(f"]C101{GTIN}{element}240END").additional_id == "END")


def ends_by_separator(element: str) -> Callable[[], int]:
    """1 when what follows is read only behind a separator."""

    def compute() -> int:
        apart, joined = read_scan(f"]C101{GTIN}{element}{GS}17261231", today=IN_2026), f"]C101{GTIN}{element}17261231"
        together = read_scan(joined, today=IN_2026)
        dated = isinstance(apart, Scan) and apart.expires_on == date(2026, 12, 31)
        return int(dated and (isinstance(together, ScanProblem) or together.expires_on is None))

    return compute


CHECKS = [
    check("G01a", "check digit of 629104150021", 3, 0, CHECK_DIGITS, Known.READ, lambda: int(check_digit("629104150021"))),
    check("G01b", "check digit of 730001100001", 7, 0, DICTIONARY, Known.READ, lambda: int(check_digit("730001100001"))),
    check("G01c", "check digit of 890400021003", 7, 0, DICTIONARY, Known.READ, lambda: int(check_digit("890400021003"))),
    check("G01d", "check digit of 03600024145", 7, 0, DICTIONARY, Known.READ, lambda: int(check_digit("03600024145"))),
    *(
        check(f"G02-{digits}", f"{digits} is valid (1)", 1, 0, DICTIONARY, Known.READ, valid(digits))
        for digits in ("02345673", "416000336108", "1234567890128", "12345678901231", "123456789012345675")
    ),
    *(
        check(f"G03-{digits}", f"{digits} is not valid (0)", 0, 0, DICTIONARY, Known.READ, valid(digits))
        for digits in ("12345673", "416000336109", "1234567890129", "12345678901232", "123456789012345670")
    ),
    check(
        "G04a",
        "036000241457 in 14 digits, from its bar code",
        36000241457,
        0,
        FOURTEEN,
        Known.RELATION,
        lambda: int(read("]E00036000241457").gtin),
    ),
    check(
        "G04b",
        "how many digits 9506000134352 has once read",
        14,
        0,
        FOURTEEN,
        Known.RELATION,
        lambda: len(read("]E09506000134352").gtin),
    ),
    *(
        check(f"G05-{digits}", f"{digits} is a date", number, 0, DICTIONARY, Known.READ, day_number(digits))
        for digits, number in (
            ("200131", 20200131),
            ("200229", 20200229),
            ("240229", 20240229),
            ("210228", 20210228),
            ("000229", 20000229),
        )
    ),
    *(
        check(f"G06-{digits}", f"{digits} is refused (1)", 1, 0, DICTIONARY, Known.READ, refused(digits))
        for digits in ("200132", "200230", "210229", "200431", "200010", "201310")
    ),
    *(
        check(f"G07-{digits}", f"{digits} is the last day of its month", number, 0, DAY_ZERO, Known.READ, day_number(digits))
        for digits, number in (("260200", 20260228), ("280200", 20280229), ("200200", 20200229))
    ),
    check(
        "G08",
        "day 00 of goods that are not regulated healthcare items is accepted (0 refused)",
        0,
        0,
        f"{DICTIONARY}; barred from 2025 for healthcare items only, GSCN 21-040",
        Known.READ,
        refused("270600"),
    ),
    *(
        check(f"G09-{two:02d}", f"year {two:02d} scanned in 2026", year, 0, CENTURIES, Known.REPRINT, compute)
        for two, year, compute in (
            (76, 2076, lambda: full_year(76, today=IN_2026)),
            (77, 1977, lambda: full_year(77, today=IN_2026)),
            (99, 1999, lambda: full_year(99, today=IN_2026)),
            (0, 2000, lambda: full_year(0, today=IN_2026)),
        )
    ),
    check("G10a", "3103 001250, kg", Decimal("1.250"), 0, AI_LIST, Known.RELATION, net("3103001250")),
    check("G10b", "3152 000378, L", Decimal("3.78"), 0, AI_LIST, Known.RELATION, net("3152000378")),
    check("G10c", "3612 000100, US gal", Decimal("1.00"), 0, AI_LIST, Known.RELATION, net("3612000100")),
    *(
        check(f"G11-{element[:3]}", f"{element} ends by itself (1)", 1, 0, SEPARATORS, Known.READ, ends_by_itself(element))
        for element in ("11260101", "13260101", "15260101", "17260101", "3103001250", "3152000378", "3612000100", "3570000008")
    ),
    *(
        check(f"G11-{ai}-sep", f"{ai} ends by a separator (1)", 1, 0, SEPARATORS, Known.READ, ends_by_separator(f"{ai}{data}"))
        for ai, data in (("10", "LOT7A"), ("21", "SN1"), ("240", "ADD-1"), ("30", "12"), ("37", "4"))
    ),
]
REFERENCES = [entry.reference for entry in CHECKS]


@pytest.mark.parametrize("entry", CHECKS, ids=[entry.reference.id for entry in CHECKS])
def test_it_agrees_with_what_is_published(entry: Check) -> None:
    entry.run()


def test_a_whole_label_gives_its_five_elements() -> None:
    """G12, composed from the AIs of the GS1 Syntax Dictionary: GTIN, expiry, lot, serial number, additional id; computed."""
    scan = read(f"]C101{GTIN}1726123110LOT7A{GS}21SN1{GS}240ADD-1")
    assert (scan.gtin, scan.expires_on, scan.lot, scan.additional_id) == (GTIN, date(2026, 12, 31), "LOT7A", "ADD-1")
    assert [(other.ai, other.value) for other in scan.others] == [("21", "SN1")]


def test_a_missing_separator_swallows_what_follows() -> None:
    """G13, computed from the rule of GS1 General Specifications 7.8: nothing in the code shows the slip."""
    scan = read(f"]C101{GTIN}10LOT7A17261231")
    assert (scan.lot, scan.expires_on) == ("LOT7A17261231", None)


@pytest.mark.parametrize("digits", ["629104150021", "730001100001", "890400021003", "03600024145", "0950600013435", "0"])
def test_check_digits_agree_with_another_program(digits: str) -> None:
    """Second opinion: the library Biip."""
    assert check_digit(digits) == str(gs1_standard_check_digit(digits))
    assert is_gtin(digits + check_digit(digits)) == (len(digits) in {7, 11, 12, 13})
