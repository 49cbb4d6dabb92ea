"""Every code on a sheet, drawn to the dots of two printers and read by a decoder that shares nothing with the writer."""

from __future__ import annotations

from decimal import Decimal

import pytest

from inventory.documents.labels import labels_pdf
from inventory.documents.labels_draw import Box, plan_label
from inventory.documents.labels_face import Face
from inventory.documents.labels_sheet import LEAST_HEIGHT, LEAST_WIDTH, PRESETS, Sheet
from tests.inventory.labels.reading import GTIN, Read, decode, face, texts

DPI = (200, 300)
ALL_LENGTHS = [face(lot) for lot in texts(range(1, 21))]


@pytest.mark.parametrize("dpi", DPI)
@pytest.mark.parametrize("name", PRESETS)
def test_a_whole_sheet_reads_back(name: str, dpi: int) -> None:
    """Lot numbers of every length that GS1 allows, around the sheet."""
    sheet = PRESETS[name]
    faces = [ALL_LENGTHS[(number * 3) % len(ALL_LENGTHS)] for number in range(sheet.per_page)]
    read = decode(labels_pdf(faces, sheet), dpi)
    assert read.squares == sorted(one.square for one in faces)
    assert read.bars == sorted(one.bars for one in faces if has_bars(one, sheet))


def has_bars(one: Face, sheet: Sheet) -> bool:
    box = Box(left=20, bottom=100, width=float(sheet.width) * 72 / 25.4, height=float(sheet.height) * 72 / 25.4)
    return plan_label(one, box, page_height=842).bars is not None


@pytest.mark.parametrize("dpi", DPI)
def test_bars_are_there_on_the_usual_sheets(dpi: int) -> None:
    """Ten characters fit beside the square code of a 63.5 mm label and below that of a larger one."""
    for name in ("a4-3x7", "a4-2x7", "a4-2x4", "letter-2x5", "letter-2x7"):
        sheet = PRESETS[name]
        faces = [face(lot) for lot in texts([4, 8, 10])]
        assert decode(labels_pdf(faces, sheet), dpi).bars == sorted(one.bars for one in faces), name


@pytest.mark.parametrize("dpi", DPI)
@pytest.mark.parametrize(
    "lot",
    ["B 7.5 #4", "Ł-5 «grün»", "漆-12", "L" * 40, "0012345678", "a", "12", 'say "9"', "(7)/%&*+,-.:;<=>?_"],
)
def test_lot_numbers_of_any_kind_read_back_from_the_square(lot: str, dpi: int) -> None:
    one = face(lot, square=lot, bars=lot if lot.isascii() else "")
    read = decode(labels_pdf([one], PRESETS["a4-2x7"]), dpi)
    assert read.squares == [lot]
    assert read.bars in ([], [lot])
    assert lot.isascii() or read.bars == []


@pytest.mark.parametrize("dpi", DPI)
@pytest.mark.parametrize("position", range(1, 22))
def test_a_code_reads_wherever_it_stands_on_the_sheet(position: int, dpi: int) -> None:
    """Labels begin between two dots of the printer; their codes do not."""
    read = decode(labels_pdf([face()], PRESETS["a4-3x7"], first=position), dpi)
    assert read == Read(squares=[f"01{GTIN}1727030510LOT7A"], bars=["LOT7A"])


@pytest.mark.parametrize("dpi", DPI)
@pytest.mark.parametrize("nudge", ["0", "0.05", "0.1", "0.127", "0.2", "0.25", "0.3"])
def test_a_code_reads_on_a_sheet_moved_by_parts_of_a_dot(nudge: str, dpi: int) -> None:
    moved = Decimal(7) + Decimal(nudge)
    size = {"across": Decimal(70), "down": Decimal(38), "width": Decimal(62), "height": Decimal(36)}
    sheet = Sheet(paper="letter", columns=2, rows=6, left=moved, top=moved, **size)
    faces = [face(lot) for lot in texts(range(3, 15))]
    assert decode(labels_pdf(faces, sheet), dpi).squares == sorted(one.square for one in faces)


@pytest.mark.parametrize("dpi", DPI)
def test_the_smallest_label_still_reads(dpi: int) -> None:
    size = {"across": LEAST_WIDTH, "down": LEAST_HEIGHT, "width": LEAST_WIDTH, "height": LEAST_HEIGHT}
    sheet = Sheet(paper="A4", columns=4, rows=13, left=Decimal(10), top=Decimal(10), **size)
    faces = [face(lot) for lot in texts([1, 5, 10, 15, 20] * 10)]
    assert decode(labels_pdf(faces, sheet), dpi).squares == sorted(one.square for one in faces)
