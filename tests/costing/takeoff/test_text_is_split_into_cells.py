"""Pasted text and CSV files become cells, whatever separates them and however they were saved."""

from __future__ import annotations

import pytest

from costing.core.takeoff_text import TextRefusedError, decode, join_text, split_text


@pytest.mark.parametrize("separator", ["\t", ";", ","])
def test_it_finds_the_separator(separator: str) -> None:
    text = f"Piece{separator}Qty\r\nShelf{separator}2\r\n"

    assert split_text(text).grid == (("Piece", "Qty"), ("Shelf", "2"))


def test_inch_marks_are_no_quotation_marks() -> None:
    assert split_text('Piece\tLength\nShelf\t24"\nDoor\t"15 5/8"""').grid[1:] == (("Shelf", '24"'), ("Door", '15 5/8"'))


def test_a_comma_inside_quotation_marks_stays() -> None:
    assert split_text('Piece,Qty\n"Door, upper",2').grid[1] == ("Door, upper", "2")


def test_decimal_commas_are_read_between_semicolons_and_told() -> None:
    sheet = split_text("Piece;Length\nShelf;596,9\nDoor;71,5 cm\nRail;1,234")

    assert [row[1] for row in sheet.grid[1:]] == ["596.9", "71.5 cm", "1,234"]
    assert sheet.notes == ("Commas in numbers were read as decimal points.",)


def test_cells_come_back_the_same_after_they_were_shown_as_text() -> None:
    grid = (("Piece", "", "Length"), (), ("“A”, b", "", '24"'), ('"quoted"', "x", ""))

    again = split_text(join_text(grid)).grid

    assert again == (("Piece", "", "Length"), (), ("“A”, b", "", '24"'), ('"quoted"', "x"))


def test_utf_8_with_and_without_its_mark_and_windows_letters_are_read() -> None:
    assert decode("Tür ½".encode()) == ("Tür ½", ())
    assert decode("Tür".encode("utf-8-sig")) == ("Tür", ())
    text, notes = decode("Tür ½".encode("cp1252"))
    assert text == "Tür ½"
    assert notes == ("The file is not in UTF-8 and was read as Windows-1252: check accents and fractions.",)


@pytest.mark.parametrize("content", ["Piece\tQty".encode("utf-16"), b"Piece\x00Qty", b"Piece \x81\x8d Qty \xff"])
def test_other_encodings_are_refused(content: bytes) -> None:
    with pytest.raises(TextRefusedError, match="CSV UTF-8"):
        decode(content)


def test_text_cut_short_inside_quotation_marks_is_refused_in_a_file_and_kept_when_pasted() -> None:
    text = 'Piece,Qty\n"Door, up'

    with pytest.raises(TextRefusedError, match="cut short or damaged"):
        split_text(text)
    assert split_text(text, strict=False).grid[1] == ('"Door', "up")


def test_control_signs_and_endless_lists_are_refused() -> None:
    with pytest.raises(TextRefusedError, match="signs that no text has"):
        split_text("Piece\x07\tQty")
    with pytest.raises(TextRefusedError, match="more than 20000 lines"):
        split_text("x\n" * 20_001)
